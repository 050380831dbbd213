"""A harvest: its lot, its ledger entry and its facts (who picked, into what, who holds it), in one step or not at all."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry import choices
from registry.calc.lots.stratification import default_use_by
from registry.calc.shared.screen import day_words
from registry.models import Harvest, LedgerEntry
from registry.selectors.lots.handbook import handbook_row
from registry.selectors.lots.harvests import harvests_without_facts
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.lots.ledger import ledger_enter
from registry.services.lots.ledger_rules import harvest_check
from registry.services.pedigree.parents import lot_save

__all__ = ["harvest_enter", "harvest_facts_enter"]


@write
def harvest_enter(*, actor, lot, on, count, mass_g=None, **facts):
    """Enter a picking of a mother tree.

    `lot` is a new lot (unsaved, with mother and year) or one of an earlier picking of the same mother and year;
    `facts` are the other fields of `Harvest`. A new lot without a generation gets the one its parents give, and is good until the day in
    its handbook row, or 30 June after the harvest, unless a day is given: seed dies on drying unless the handbook says that it is
    orthodox.
    """
    if lot.origin != choices.LotOrigin.HARVEST or lot.kind != choices.LotKind.SEED:
        raise ValidationError(f"Lot {lot.code} is not a seed lot from a harvest. A picking goes into a seed lot of one mother tree.")
    if not lot.pk:
        harvest_check(lot=lot, on=on)  # of a lot on file the ledger checks it
        lot.use_by = lot.use_by or _use_by(lot.taxon, on)
        lot_save(actor=actor, lot=lot)
    entry = ledger_enter(actor=actor, lot=lot, kind=choices.LedgerKind.HARVESTED, quantity=count, on=on, mass_g=mass_g)
    return _enter_facts(actor, entry, facts)


@write
def harvest_facts_enter(*, actor, entry, **facts):
    """Add the facts to a harvest that is in the ledger already, as when the sheet of the ledger was loaded first.

    Raises ValidationError when the entry is not a harvest, is reversed, or has its facts already.
    """
    entry = LedgerEntry.objects.select_related("lot").select_for_update(of=("self",)).get(pk=entry.pk)
    if not harvests_without_facts().filter(pk=entry.pk).exists():
        raise ValidationError(
            f"Entry {entry.reference} of {entry.lot.code}, {day_words(entry.on)}, is not a harvest that lacks its facts: "
            "it is of another kind, reversed, or has them already. Give the entry number of the picking."
        )
    return _enter_facts(actor, entry, facts)


def _enter_facts(actor, entry, facts):
    harvest = Harvest(entry=entry, entered_by=actor, entered_at=timezone.now(), **facts)
    harvest.full_clean()
    append_row(harvest)
    audit_record(actor=actor, verb="harvest.added", obj=harvest)
    return harvest


def _use_by(taxon, on):
    row = handbook_row(taxon.name)
    if row and row.use_by_month:
        return default_use_by(on, row.use_by_month, row.use_by_day)
    # where nobody knows whether the seed can be dried, the shorter life is assumed: common practice, no source
    return None if row and row.storage_class == choices.StorageClass.ORTHODOX else default_use_by(on)
