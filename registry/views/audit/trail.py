"""The audit trail: who changed what, when and why."""

from functools import cache

from django.urls import get_resolver, reverse
from django.utils import timezone

from registry.access.scoping import ALL
from registry.calc.shared.screen import time_words
from registry.forms.shared.filters import AuditFilters, record_type_names
from registry.models import AuditEntry
from registry.models.audit import model_name
from registry.views.audit.changes import changes_words, verb_words
from registry.views.people.people import PEOPLE_LISTS
from registry.views.shared.lists import RecordListView
from registry.views.shared.tables import Column


@cache
def record_pages():
    """{name of a model: (name of its route, its page)} of the record pages; a route may have another name than its model."""
    pages, folders = {}, [get_resolver()]
    while folders:
        for pattern in folders.pop().url_patterns:
            if hasattr(pattern, "url_patterns"):
                folders.append(pattern)
            elif (pattern.name or "").endswith("_detail"):
                page = pattern.callback.view_class
                pages[page.model._meta.model_name] = pattern.name, page
    return pages


def entry_url(user, entry):
    """The page of the record, where its type has one and this person may open it."""
    route, page = record_pages().get(model_name(entry.record_type), ("", None))
    if page is None or not user.may(page.action):
        return None
    sees_all = getattr(page.model, "SCOPE", {}).get(user.role) == ALL  # long work is seen by its owner alone, who is the actor
    return reverse(route, args=[entry.record_id]) if sees_all or entry.actor_id == user.pk else None


class AuditListView(RecordListView):
    model = AuditEntry
    action = "audit.view"
    title = "Changes"
    question = "Who changed what, when, and why?"
    unit = "changes"
    filter_form = AuditFilters
    others = PEOPLE_LISTS
    empty = ("No change yet", "Every record that is added or changed leaves a line here. Lines are never changed or deleted.", None)
    related = ("actor",)

    @property
    def columns(self):
        return (
            Column("On", "at", kind="date"),
            Column("At", lambda entry: f"{time_words(timezone.localtime(entry.at))}"),
            Column("Who", lambda entry: str(entry.actor)),
            Column("What was done", verb_words),
            Column("Record", "record_label", url=lambda entry: entry_url(self.user, entry)),
            Column("Sort of record", lambda entry: record_type_names().get(entry.record_type, entry.record_type)),
            Column("From → to", changes_words, wide=True),
            Column("Why", "reason"),
        )
