"""What the demo command needs to know: whether there are records already, and whose the demo accounts are."""

from django.apps import apps

from registry.access import roles
from registry.models import AuditEntry, AuditHead, Person

__all__ = ["DEMO_LOADED", "records_found", "demo_accounts"]

# records a new installation makes by itself
_MADE_AT_START = {AuditEntry, AuditHead}
DEMO_LOADED = "person.demo_loaded"  # the audit entry that tells the demo from real records


def records_found():
    """{name of a record type: how many}, for those that have any record; empty where there is none."""
    models = [model for app in ("registry", "plantings") for model in apps.get_app_config(app).get_models() if model not in _MADE_AT_START]
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
