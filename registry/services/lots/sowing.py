"""From seed to plants: sowing, raising, culling. Seeds leave one ledger and plants enter another; both name each other."""

from django.core.exceptions import ValidationError

from registry import choices
from registry.selectors.lots.lot_steps import CULLED
from registry.services.audit.write import write
from registry.services.lots.ledger import ledger_enter
from registry.services.shared.records import record_save

__all__ = ["lot_cull", "lot_raise", "lot_sow"]


@write
def lot_sow(*, actor, lot, stock, count, on, reason=""):
    """Sow seeds of a lot into a stock lot: a new one (unsaved) or one that was sown from this lot before."""
    if lot.kind != choices.LotKind.SEED:
        raise ValidationError(f"Lot {lot.code} is counted in {lot.unit}. Only a seed lot can be sown.")
    if not stock.pk:
        stock.kind, stock.origin, stock.parent, stock.taxon = choices.LotKind.STOCK, choices.LotOrigin.SOWN, lot, lot.taxon
        record_save(actor=actor, obj=stock)
    return ledger_enter(actor=actor, lot=lot, kind=choices.LedgerKind.SOWN, quantity=count, on=on, counterpart=stock, reason=reason)


@write
def lot_raise(*, actor, lot, count, on, reason=""):
    """Enter the plants that came up: never before the sowing, never more than the seeds that were sown into the lot."""
    if lot.kind != choices.LotKind.STOCK or lot.origin != choices.LotOrigin.SOWN:
        raise ValidationError(f"Lot {lot.code} is not a stock lot raised from another lot.")
    return ledger_enter(
        actor=actor, lot=lot, kind=choices.LedgerKind.RAISED, quantity=count, on=on, counterpart=lot.parent, reason=reason
    )  # fmt: skip


@write
def lot_cull(*, actor, lot, count, on, why, note=""):
    """Take plants out of a stock lot, with the reason by which culls are compared between families."""
    if lot.kind != choices.LotKind.STOCK:
        raise ValidationError(f"Lot {lot.code} is counted in {lot.unit}. Culling is of plants; seed is discarded.")
    label = choices.CullReason(why).label
    reason = f"{CULLED}{label}{f'; {note.strip()}' if note.strip() else ''}"
    return ledger_enter(actor=actor, lot=lot, kind=choices.LedgerKind.DISCARDED, quantity=count, on=on, reason=reason[:200])
