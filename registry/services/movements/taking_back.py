"""A dispatch, a receipt or a leftover that was entered by mistake is taken back. Nothing is deleted: who, when and why stays on file."""

from django.core.exceptions import ValidationError
from django.db.models import Sum
from django.utils import timezone

from registry.calc.shared.screen import amount_words, day_words
from registry.choices import DISPATCH_TAKEN_BACK, DrawKind, LedgerKind, LeftoverOutcome, ShipmentState
from registry.models import Authorization, AuthorizationDraw, Leftover, Lot, Receipt, Shipment, ShipmentLine
from registry.selectors.movements.leftovers import held_of, leftover_reports, line_unsettled
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.gate.draws import draw
from registry.services.lots.ledger import ledger_reverse_moved

__all__ = ["dispatch_take_back", "leftover_take_back", "receipt_take_back"]


@write
def dispatch_take_back(*, actor, shipment, reason):
    """The shipment did not leave: it is a draft again, the lots have their seeds or plants back and the papers what was drawn on them.

    Raises ValidationError while a receipt says that it arrived. The answer of the gate that let it go stays stored.
    """
    _check_reason(reason)
    shipment = Shipment.objects.select_for_update().get(pk=shipment.pk)
    if shipment.state != ShipmentState.DISPATCHED:
        words = f"Shipment {shipment.code} is {shipment.get_state_display()}; only a dispatched one can be taken back."
        raise ValidationError(words)
    receipt = shipment.receipts.in_effect().first()
    if receipt:
        words = f"Shipment {shipment.code} has a receipt of {day_words(receipt.received_on)}, so it was sent."
        raise ValidationError(f"{words} If the receipt is wrong too, take it back first.")
    left_on = shipment.dispatched_on
    for line in shipment.lines.select_related("lot").order_by("lot_id"):
        ledger_reverse_moved(actor=actor, line=line, kind=LedgerKind.SHIPPED, reason=_ledger_reason(shipment, reason))
    _give_back(actor, shipment, left_on, reason)
    shipment.state, shipment.dispatched_on = ShipmentState.DRAFT, None
    shipment.save(update_fields=["state", "dispatched_on"])
    changes = {"dispatched_on": [left_on.isoformat(), None]}
    audit_record(actor=actor, verb="shipment.taken_back", obj=shipment, changes=changes, reason=reason)
    return shipment


def _ledger_reason(shipment, reason):
    return f"dispatch of {shipment.code} taken back: {reason}"[:200]


def _give_back(actor, shipment, on, reason):
    drawn = AuthorizationDraw.objects.filter(subject=shipment.code, lot__isnull=False).exclude(kind=DrawKind.PLANTED)
    sums = drawn.order_by().values_list("authorization", "lot").annotate(n=Sum("quantity")).filter(n__gt=0)
    sums = sorted(sums)
    papers, lots = (model.objects.in_bulk({row[place] for row in sums}) for place, model in enumerate((Authorization, Lot)))
    for paper, lot, quantity in sums:
        draw(
            actor=actor, paper=papers[paper], kind=DrawKind.RETURNED, lot=lots[lot], quantity=-quantity, on=on, subject=shipment.code,
            reason=f"{DISPATCH_TAKEN_BACK}{reason}"[:200],
        )  # fmt: skip


@write
def receipt_take_back(*, actor, receipt, reason):
    """What a receipt says did not arrive, or not like that: it counts nowhere any longer and stays on file with the reason.

    Raises ValidationError when more was planted, or recorded as leftover, than the other receipts say arrived.
    """
    _check_reason(reason)
    Shipment.objects.select_for_update().get(pk=receipt.shipment_id)  # a second receipt waits
    receipt = Receipt.objects.select_for_update().get(pk=receipt.pk)
    if receipt.taken_back_at:
        raise ValidationError(f"This receipt is already taken back: {receipt.taken_back_reason}")
    lines = ShipmentLine.objects.select_for_update(of=("self",)).select_related("lot")
    for line in lines.filter(shipment=receipt.shipment_id).order_by("pk"):
        _check_unused(receipt, line)
    _take_back(actor, receipt, reason)
    audit_record(actor=actor, verb="receipt.taken_back", obj=receipt, reason=reason)
    return receipt


@write
def leftover_take_back(*, actor, leftover, reason):
    """What a leftover says did not happen, or not like that: it counts nowhere any longer and stays on file with the reason.

    What was returned leaves the ledger of its lot again. Raises ValidationError where the lot has used it since, or is closed.
    """
    _check_reason(reason)
    line = ShipmentLine.objects.select_for_update(of=("self",)).select_related("lot", "shipment").get(pk=leftover.line_id)
    leftover = Leftover.objects.select_for_update().get(pk=leftover.pk)
    if leftover.taken_back_at:
        raise ValidationError(f"This leftover is already taken back: {leftover.taken_back_reason}")
    if line.lot.closed_on:
        words = f"Lot {line.lot.code} was closed on {day_words(line.lot.closed_on)}, when its leftovers were settled"
        raise ValidationError(f"{words}. Open it again, with a reason, before you take one back.")
    if leftover.outcome == LeftoverOutcome.RETURNED:
        words = f"leftover of {line.shipment.code} taken back: {reason}"[:200]
        ledger_reverse_moved(actor=actor, line=line, kind=LedgerKind.RECEIVED_BACK, on=leftover.on, reason=words)
    _take_back(actor, leftover, reason)
    audit_record(actor=actor, verb="leftover.taken_back", obj=leftover, reason=reason)
    return leftover


def _take_back(actor, record, reason):
    record.taken_back_by, record.taken_back_at, record.taken_back_reason = actor, timezone.now(), reason.strip()
    record.full_clean()
    record.save(update_fields=["taken_back_by", "taken_back_at", "taken_back_reason"])


def _check_unused(receipt, line):
    parts = list(line.receipt_lines.in_effect())
    usable = sum(part.usable for part in parts)
    remaining = sum(part.usable for part in parts if part.receipt_id != receipt.pk)
    unsettled = line_unsettled(line)
    held = held_of(leftover_reports(line.leftovers)[line.pk], unsettled)
    used = held + (0 if unsettled is None else usable - unsettled)
    if used > remaining:
        words = f"{amount_words(used, line.lot.unit)} of lot {line.lot.code} from this shipment are planted or recorded as leftovers"
        raise ValidationError(f"{words}, and without this receipt only {remaining:,} arrived. Enter the right receipt as another one.")


def _check_reason(reason):
    if not reason.strip():
        raise ValidationError({"reason": "Give the reason for taking it back."})
