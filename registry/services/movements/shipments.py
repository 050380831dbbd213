"""Shipments and their receipts. What leaves goes into the ledger; what arrives is the receiver's own record."""

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from registry import choices
from registry.calc.shared.screen import amount_words, list_words
from registry.models import Lot, Receipt, ReceiptLine, Shipment, ShipmentLine
from registry.selectors.gate.questions import shipment_question
from registry.selectors.movements.shipments import other_drafts
from registry.selectors.shared.local_words import local_day
from registry.services.audit.trail import audit_record, state_note
from registry.services.audit.write import write
from registry.services.gate.determinations import count_recorded, gate_pass, is_past_recording, stores_refusal
from registry.services.lots.ledger import ledger_enter
from registry.services.shared.past_day import day_check

__all__ = ["receipt_enter", "shipment_cancel", "shipment_dispatch", "shipment_line_remove", "shipment_line_set"]


def _draft(shipment):
    shipment = Shipment.objects.select_for_update().get(pk=shipment.pk)
    if shipment.state != choices.ShipmentState.DRAFT:
        raise ValidationError(f"Shipment {shipment.code} is {shipment.get_state_display()}; only a draft can be changed.")
    return shipment


@write
def shipment_line_set(*, actor, shipment, lot, form, quantity, draw_on=None):
    """Add a lot to a draft shipment, or change its quantity and the codes of the capped papers it goes under (None: as they are)."""
    shipment = _draft(shipment)
    line = shipment.lines.filter(lot=lot, form=form).first() or ShipmentLine(shipment=shipment, lot=lot, form=form)
    before, under = (line.quantity if line.pk else None), list(line.draw_on)
    line.quantity = quantity
    line.draw_on = under if draw_on is None else list(draw_on)
    line.full_clean()
    if (form in choices.SEED_FORMS) != (lot.kind == choices.LotKind.SEED):
        raise ValidationError({"form": f"Lot {lot.code} is counted in {lot.unit}; the form “{line.get_form_display()}” does not fit it."})
    _refuse_above_balance(lot, quantity, before)
    changes = {lot.code: [before, quantity]} if before != quantity else {}
    if under != line.draw_on:
        changes[f"{lot.code} goes under"] = [under, line.draw_on]
    if changes:
        line.save()
        audit_record(actor=actor, verb="shipment.line", obj=shipment, changes=changes)
    return line


def _refuse_above_balance(lot, quantity, before):
    """A draft takes no more than the lot holds now; a line on file stays as it is."""
    holds = Lot.objects.values_list("balance", flat=True).get(pk=lot.pk)
    if quantity > holds and quantity != before:
        others = other_drafts([lot.pk]).get(lot.pk, [])
        promised = f" Drafts already take {list_words([f'{count:,} ({code})' for code, count in others], 'and')}." if others else ""
        words = f"Lot {lot.code} holds {amount_words(holds, lot.unit)}, so a shipment cannot take {quantity:,}.{promised}"
        step = f"Enter {holds:,} or less, or correct" if holds else "Correct"
        raise ValidationError({"quantity": f"{words} {step} the ledger of the lot first{'' if holds else ', or choose another lot'}."})


@write
def shipment_line_remove(*, actor, line):
    shipment = _draft(line.shipment)
    if line.ledger.exists():
        words = f"Lot {line.lot.code} left in {shipment.code} once and was taken back, so its ledger names this line."
        raise ValidationError(f"{words} Change how many, or cancel the shipment and start a new one.")
    audit_record(actor=actor, verb="shipment.line", obj=shipment, changes={line.lot.code: [line.quantity, None]})
    state_note(ShipmentLine, line)
    line.delete()


@write
def shipment_cancel(*, actor, shipment, reason):
    shipment = _draft(shipment)
    shipment.state = choices.ShipmentState.CANCELLED
    shipment.save(update_fields=["state"])
    audit_record(actor=actor, verb="shipment.cancelled", obj=shipment, reason=reason)
    return shipment


@stores_refusal
def shipment_dispatch(*, actor, shipment, on, override_reason="", recorded=False):
    """Dispatch a draft shipment: the gate answers, papers and lot ledgers are drawn down. All of it happens, or nothing.

    Parameters
    ----------
    actor, shipment
    on : date
    override_reason : str
        Why the lead overrides a stop of the gate; stored for good.
    recorded : bool
        It left long ago and is only recorded now. The gate gives no answer, since it can no longer stop anything, and the
        shipment counts against the papers attached to it. A day within the last `RECORDING_DAYS` goes through the gate all the same.
    """
    shipment = _draft(shipment)
    lines = list(shipment.lines.select_related("lot").order_by("lot_id"))  # one lock order for all dispatches
    if not lines:
        raise ValidationError(f"Shipment {shipment.code} has no lots yet. Add them first.")
    for line in lines:
        ledger_enter(actor=actor, lot=line.lot, kind=choices.LedgerKind.SHIPPED, quantity=line.quantity, on=on, shipment_line=line)
    draws = {
        "actor": actor, "question": shipment_question(shipment, on), "subject": shipment.code,
        "lots": {line.lot.code: line.lot for line in lines}, "kind": choices.DrawKind.SHIPPED,
    }  # fmt: skip
    if recorded and is_past_recording(on, timezone.localdate()):
        count_recorded(papers=shipment.authorizations.all(), **draws)
    else:
        gate_pass(shipment=shipment, override_reason=override_reason, **draws)
    shipment.state = choices.ShipmentState.DISPATCHED
    shipment.dispatched_on = on
    shipment.full_clean()
    shipment.save()
    audit_record(actor=actor, verb="shipment.dispatched", obj=shipment, changes={"dispatched_on": [None, on.isoformat()]})
    return shipment


@write
def receipt_enter(*, actor, shipment, received_on, received_by, box_condition, counts, temperature_c=None, note="", reason=""):
    """Record what arrived.

    `counts` is {shipment line: (sound, sprouted, spoiled)}. What is short is calculated: what was
    shipped and is in no receipt.
    """
    shipment = Shipment.objects.select_for_update().get(pk=shipment.pk)
    if shipment.state != choices.ShipmentState.DISPATCHED:
        raise ValidationError(_("A receipt can be entered only for a shipment that was dispatched."))
    day_check(received_on=received_on)
    if received_on < shipment.dispatched_on:
        left = _("It was dispatched on %(day)s; it cannot arrive before that.") % {"day": local_day(shipment.dispatched_on)}
        raise ValidationError({"received_on": left})
    receipt = Receipt(
        shipment=shipment, received_on=received_on, received_by=received_by, box_condition=box_condition,
        temperature_c=temperature_c, note=note, entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    receipt.full_clean()
    receipt.save()
    for line, (sound, sprouted, spoiled) in counts.items():
        _receive(receipt, line, sound, sprouted, spoiled)
    audit_record(actor=actor, verb="receipt.added", obj=receipt, reason=reason)
    return receipt


def _receive(receipt, line, sound, sprouted, spoiled):
    before = sum(part.received for part in line.receipt_lines.in_effect())
    part = ReceiptLine(receipt=receipt, line=line, sound=sound, sprouted=sprouted, spoiled=spoiled)
    if line.shipment_id != receipt.shipment_id:
        raise ValidationError(f"Lot {line.lot.code} is not in shipment {receipt.shipment.code}.")
    if before + part.received > line.quantity:
        text = _(
            "Lot %(lot)s: %(received)s received in all, but %(shipped)s were shipped. Count again. If more really came, settle the number "
            "shipped with the sender."
        )
        raise ValidationError({"counts": text % {"lot": line.lot.code, "received": before + part.received, "shipped": line.quantity}})
    part.full_clean()
    part.save()
