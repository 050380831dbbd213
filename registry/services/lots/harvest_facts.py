"""The facts of a picking whose ledger entry stands in the book already, as when the ledger was loaded first."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry import choices
from registry.calc.shared.screen import day_words
from registry.models import Harvest, LedgerEntry
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["harvest_facts_enter"]


@write
def harvest_facts_enter(*, actor, entry, **facts):
    """Add picker, containers, labels and holder to a harvest of the ledger. `facts` are the other fields of `Harvest`.

    Raises ValidationError when the entry is no harvest, is reversed, or has its facts already.
    """
    entry = LedgerEntry.objects.select_related("lot").select_for_update(of=("self",)).get(pk=entry.pk)
    if entry.kind != choices.LedgerKind.HARVESTED or entry.reverses_id or LedgerEntry.objects.filter(reverses=entry).exists():
        raise ValidationError(f"Entry {entry.reference} of {entry.lot.code} is no standing harvest. Name the entry of the picking.")
    if Harvest.objects.filter(entry=entry).exists():
        raise ValidationError(f"The picking of {entry.lot.code} on {day_words(entry.on)} has its facts already.")
    harvest = Harvest(entry=entry, entered_by=actor, entered_at=timezone.now(), **facts)
    harvest.full_clean()
    append_row(harvest)
    audit_record(actor=actor, verb="harvest.added", obj=harvest)
    return harvest
