"""The ledger of a lot: every seed accounted for, no negative balance at any date."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from registry import choices
from registry.calc.stock import LedgerLine, first_overdraw
from registry.models import LedgerEntry, Lot, LotComponent
from registry.services.audit import audit_record

__all__ = ["ledger_enter", "ledger_reverse", "lot_bulk", "signed_quantity"]


def signed_quantity(kind, quantity):
    """The ledger's sign for a quantity a person writes without one; a stock-take difference keeps its own."""
    if kind == choices.LedgerKind.COUNTED:
        return quantity
    if quantity < 0:
        raise ValidationError({"quantity": f"Write the quantity without a minus sign: '{kind}' already says which way it goes."})
    return -quantity if kind in choices.LEDGER_LOSSES else quantity


@transaction.atomic
def ledger_enter(*, actor, lot, kind, quantity, on, **details):
    """Enter one line in the ledger of a lot.

    `quantity` is in seeds or plants, unsigned but for a stock-take difference; `details` are the other
    fields of `LedgerEntry`. Raises `ValidationError` when a balance at any date would fall below zero.
    """
    return _append(actor, lot, kind, signed_quantity(kind, quantity), on, details)


@transaction.atomic
def ledger_reverse(*, actor, entry, reason, on=None):
    """Correct an entry by its opposite. The entry itself stays as it was written."""
    if not reason.strip():
        raise ValidationError({"reason": "Say why the entry is reversed."})
    if entry.reverses_id or LedgerEntry.objects.filter(reverses=entry).exists():
        raise ValidationError("This entry is already settled by a reversal. Enter the right figure as a new entry.")
    if entry.kind not in choices.LEDGER_BY_HAND:
        raise ValidationError("This entry belongs to a movement. Correct the movement, not its ledger line.")
    details = {"reverses": entry, "reason": reason, "counterpart": entry.counterpart}
    return _append(actor, entry.lot, entry.kind, -entry.quantity, on or entry.on, details)


@transaction.atomic
def lot_bulk(*, actor, bulk, component, count, on, reason=""):
    """Move `count` seeds or plants of `component` into the bulk lot; from then on their mother is "bulk"."""
    if bulk.origin != choices.LotOrigin.BULK:
        raise ValidationError({"bulk": f"{bulk} is not a bulk lot. Only a lot with origin 'bulk' takes components."})
    if bulk.kind != component.kind:
        raise ValidationError({"component": f"{component} is counted in {component.unit}, {bulk} in {bulk.unit}."})
    part = LotComponent(bulk=bulk, component=component, count=count, bulked_on=on, reason=reason)
    part.full_clean()
    part.save()
    _append(actor, component, choices.LedgerKind.BULKED_OUT, -count, on, {"counterpart": bulk, "reason": reason})
    _append(actor, bulk, choices.LedgerKind.BULKED_IN, count, on, {"counterpart": component, "reason": reason})
    audit_record(
        actor=actor, verb="lot.bulked", obj=bulk, changes={"component": [None, component.code], "count": [None, count]}, reason=reason
    )
    return part


def _append(actor, lot, kind, quantity, on, details):
    # the row lock keeps two writers on PostgreSQL from both passing the balance check
    lot = Lot.objects.select_for_update().get(pk=lot.pk)
    entry = LedgerEntry(lot=lot, kind=kind, quantity=quantity, on=on, entered_by=actor, entered_at=timezone.now(), **details)
    entry.full_clean()
    lines = [LedgerLine(*row) for row in lot.ledger.values_list("on", "quantity")]
    overdraw = first_overdraw([*lines, LedgerLine(on, quantity)])
    if overdraw:
        day, balance = overdraw
        raise ValidationError(
            {
                "quantity": f"Lot {lot.code} holds {balance - quantity} {lot.unit} on {day:%-d %b %Y}; "
                f"this entry of {abs(quantity)} would leave {balance}. Check the quantity and the date, or enter what is missing first."
            }
        )
    entry.save()
    lot.balance = lot.ledger.aggregate(total=Sum("quantity"))["total"]
    lot.save(update_fields=["balance"])
    return entry
