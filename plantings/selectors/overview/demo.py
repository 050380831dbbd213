"""What the demo command needs to know: whether there are records already, and whose the demo accounts are."""

from django.apps import apps

from registry.access import roles
from registry.models import AuditEntry, AuditHead, Person

__all__ = ["DEMO_LOADED", "book_filled", "demo_accounts"]

# records a new site makes by itself
_OF_THE_BOOK = {AuditEntry, AuditHead}
DEMO_LOADED = "person.demo_loaded"  # the audit entry that tells a demo book from a real one


def book_filled():
    """{name of a record type: how many}, for those that have any record; empty for an empty book."""
    models = [model for app in ("registry", "plantings") for model in apps.get_app_config(app).get_models() if model not in _OF_THE_BOOK]
    counts = {str(model._meta.verbose_name_plural): model._base_manager.count() for model in models}
    return {name: count for name, count in counts.items() if count}


def demo_accounts():
    """One account of each role, the first that was made; none when this is not the demo."""
    if not AuditEntry.objects.filter(verb=DEMO_LOADED).exists():
        return []
    first = {}
    for person in Person.objects.order_by("pk"):
        first.setdefault(person.role, person)
    return [first[role] for role in roles.ROLES if role in first]
