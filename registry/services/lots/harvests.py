"""A picking: the lot, its ledger entry and the facts of the harvest, in one step or not at all."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry import choices
from registry.calc.lots.stratification import default_use_by
from registry.models import Harvest
from registry.selectors.lots.handbook import handbook_row
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.lots.ledger import ledger_enter
from registry.services.lots.ledger_rules import harvest_check

__all__ = ["harvest_enter"]


@write
def harvest_enter(*, actor, lot, on, count, mass_g=None, **facts):
    """Enter a picking of a mother tree.

    `lot` is a new lot (unsaved, with mother and year) or one of an earlier picking of the same mother and year;
    `facts` are the other fields of `Harvest`. A new lot is held good until the day its handbook has, or 30 June after the
    harvest, unless a day is given: seed dies on drying unless the handbook says that it is orthodox.
    """
    if lot.origin != choices.LotOrigin.HARVEST or lot.kind != choices.LotKind.SEED:
        raise ValidationError(f"Lot {lot.code} is no seed lot of a harvest. A picking goes into a seed lot of one mother tree.")
    harvest_check(lot=lot, on=on)
    if not lot.pk:
        lot.use_by = lot.use_by or _use_by(lot.taxon, on)
        lot.full_clean()
        lot.save()
        audit_record(actor=actor, verb="lot.added", obj=lot)
    entry = ledger_enter(actor=actor, lot=lot, kind=choices.LedgerKind.HARVESTED, quantity=count, on=on, mass_g=mass_g)
    harvest = Harvest(entry=entry, entered_by=actor, entered_at=timezone.now(), **facts)
    harvest.full_clean()
    append_row(harvest)
    audit_record(actor=actor, verb="harvest.added", obj=harvest)
    return harvest


def _use_by(taxon, on):
    row = handbook_row(taxon.name)
    if row and row.use_by_month:
        return default_use_by(on, row.use_by_month, row.use_by_day)
    # the shorter life is assumed where nobody knows: common practice, no source
    return None if row and row.storage_class == choices.StorageClass.ORTHODOX else default_use_by(on)
