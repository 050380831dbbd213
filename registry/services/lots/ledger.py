"""The ledger of a lot: every seed accounted for, no negative balance at any date, nothing entered once it is closed."""

from django.core.exceptions import ValidationError
from django.db.models import Sum
from django.utils import timezone

from registry import choices
from registry.calc.lots.stock import LedgerLine, first_overdraw
from registry.calc.shared.screen import amount_words, day_words
from registry.models import LedgerEntry, Lot, LotComponent
from registry.selectors.lots.bulks import bulk_left
from registry.selectors.lots.lot_steps import leftovers_held, lot_leftovers
from registry.services.audit.trail import append_row, audit_record, state_note
from registry.services.audit.write import write
from registry.services.lots.ledger_rules import entry_check, reversal_check
from registry.services.pedigree.parents import lot_refuse_loop
from registry.services.shared.past_day import day_check
from registry.services.shared.records import record_save

__all__ = [
    "ledger_enter",
    "ledger_reverse",
    "ledger_reverse_loaded",
    "ledger_reverse_moved",
    "lot_bulk",
    "lot_close",
    "lot_put_back",
    "lot_reopen",
    "lot_split",
    "lot_unbulk",
    "signed_quantity",
]

_MIXING = "a mixing. Take the component out on the page of the bulk lot, as long as nothing has left the bulk."
_SPLIT = "a split. Put it back on the page of the part."
# where an entry that was not made by hand is corrected
_CORRECTED_BY = {
    choices.LedgerKind.BULKED_IN: _MIXING,
    choices.LedgerKind.BULKED_OUT: _MIXING,
    choices.LedgerKind.SPLIT_IN: _SPLIT,
    choices.LedgerKind.SPLIT_OUT: _SPLIT,
}


def signed_quantity(kind, quantity):
    """The ledger's sign for a quantity a person writes without one; a stock-take difference keeps its own."""
    if kind == choices.LedgerKind.COUNTED:
        return quantity
    if quantity < 0:
        raise ValidationError({"quantity": f"Write the quantity without a minus sign: '{kind}' already says which way it goes."})
    return -quantity if kind in choices.LEDGER_LOSSES else quantity


@write
def ledger_enter(*, actor, lot, kind, quantity, on, **details):
    """Enter one line in the ledger of a lot.

    `quantity` is in seeds or plants, unsigned but for a stock-take difference; `details` are the other
    fields of `LedgerEntry`. Raises `ValidationError` for a day to come, when a balance at any date would fall
    below zero, when the lot is closed, or when the entry contradicts the origin of the lot, its year and mother, or the
    seeds sown.
    """
    entry_check(lot=lot, kind=kind, quantity=quantity, on=on, counterpart=details.get("counterpart"))
    return _append(actor, lot, kind, signed_quantity(kind, quantity), on, details)


@write
def ledger_reverse(*, actor, entry, reason, on=None):
    """Correct an entry by its opposite. The entry itself does not change."""
    if not reason.strip():
        raise ValidationError({"reason": "Say why the entry is reversed."})
    if not LedgerEntry.objects.in_effect().filter(pk=entry.pk).exists():
        raise ValidationError("This entry is already reversed. Enter the right figure as a new entry.")
    if entry.kind not in choices.LEDGER_BY_HAND:
        words = _CORRECTED_BY.get(entry.kind, "a movement. Correct the movement, not its ledger line.")
        raise ValidationError(f"This entry belongs to {words}")
    reversal_check(entry=entry, on=on or entry.on)
    return _take_back(actor, entry, reason, on or entry.on)


@write
def ledger_reverse_loaded(*, actor, entry, reason):
    """An entry that a load had written gets its opposite, on its own day, when that load is withdrawn."""
    reversal_check(entry=entry, on=entry.on)
    return _take_back(actor, entry, reason, entry.on)


@write
def ledger_reverse_moved(*, actor, line, kind, reason, on=None):
    """The plants or seeds of a shipment line did not leave, or did not come back on a day: every entry of the kind that says so gets its
    opposite, on its own day."""
    moved = line.ledger.in_effect().filter(kind=kind)
    for entry in moved.filter(on=on) if on else moved:
        _take_back(actor, entry, reason, entry.on)


@write
def lot_bulk(*, actor, bulk, component, count, on, reason=""):
    """Move `count` seeds or plants of `component` into the bulk lot; from then on their mother is "bulk".

    More of a component, or another one, may follow while nothing has left the bulk: what left has the mixture of that day.
    The bulk gets the earliest use-by day of its components.
    """
    if bulk.origin != choices.LotOrigin.BULK:
        raise ValidationError({"bulk": f"{bulk} is not a bulk lot. Only a lot with origin 'bulk' takes components."})
    if bulk.kind != component.kind:
        raise ValidationError({"component": f"{component} is counted in {component.unit}, {bulk} in {bulk.unit}."})
    bulk, component = _locked(bulk, component)
    lot_refuse_loop(bulk, component)
    _check_mixing(bulk, component)
    part = LotComponent.objects.filter(bulk=bulk, component=component).first()
    if part is None:
        part = LotComponent(bulk=bulk, component=component, count=count, bulked_on=on, reason=reason)
    elif count > 0:
        part.count, part.bulked_on, part.reason = part.count + count, max(part.bulked_on, on), reason or part.reason
    else:
        raise ValidationError({"count": "Enter 1 or more. To remove a wrong component, take it out on the page of the bulk lot."})
    part.full_clean()
    part.save()
    _append(actor, component, choices.LedgerKind.BULKED_OUT, -count, on, {"counterpart": bulk, "reason": reason})
    _append(actor, bulk, choices.LedgerKind.BULKED_IN, count, on, {"counterpart": component, "reason": reason})
    audit_record(
        actor=actor, verb="lot.bulked", obj=bulk, changes={"component": [None, component.code], "count": [None, count]}, reason=reason
    )
    if component.use_by and (bulk.use_by is None or component.use_by < bulk.use_by):
        _set_use_by(actor, bulk, component.use_by, f"the earliest of its components, {component.code}")
    return part


@write
def lot_unbulk(*, actor, part, reason):
    """Take a component out of a bulk again, where it was entered by mistake: both ledgers get the opposite of every line.

    `part` is a `LotComponent`; all of it is taken out. Raises ValidationError once anything has left the bulk.
    """
    if not reason.strip():
        raise ValidationError({"reason": "Say why it is taken out."})
    bulk, component = _locked(part.bulk, part.component)
    part = LotComponent.objects.filter(pk=part.pk).first()
    if part is None:
        raise ValidationError(f"{component} was taken out of {bulk} a moment ago.")
    if left := bulk_left(bulk):
        raise ValidationError(
            f"{left} of {bulk} already, with {component} in the mixture. Reverse or put back what was entered by mistake first. "
            "If it really left, raise a question of identity on the bulk instead."
        )
    moves = (choices.LedgerKind.BULKED_IN, bulk, component), (choices.LedgerKind.BULKED_OUT, component, bulk)
    for kind, lot, other in moves:
        for entry in lot.ledger.in_effect().filter(kind=kind, counterpart=other):
            _take_back(actor, entry, reason, entry.on)
    changes = {"component": [component.code, None], "count": [part.count, None]}
    state_note(LotComponent, part)
    part.delete()
    audit_record(actor=actor, verb="lot.unbulked", obj=bulk, changes=changes, reason=reason)
    if bulk.use_by and bulk.use_by == component.use_by:
        days = [day for day in bulk.components.values_list("component__use_by", flat=True) if day]
        _set_use_by(actor, bulk, min(days, default=None), f"{component.code} was taken out")
    return component


@write
def lot_split(*, actor, lot, part, count, on, reason=""):
    """Move `count` seeds or plants of a lot into a part of it: a new lot (unsaved, origin "split") or one split from it before.

    The part has the lineage of the lot it came from, through its parent.
    """
    if part.pk and (part.origin != choices.LotOrigin.SPLIT or part.parent_id != lot.pk):
        raise ValidationError({"part": f"{part} is not a part of {lot}. Only a lot that was split from it takes more of it."})
    if not part.pk:
        part.origin, part.parent, part.kind, part.taxon = choices.LotOrigin.SPLIT, lot, lot.kind, lot.taxon
        part.use_by = part.use_by or lot.use_by
        record_save(actor=actor, obj=part, reason=reason)
    elif lot.use_by and part.use_by is None:
        _set_use_by(actor, part, lot.use_by, f"as the lot it is a part of, {lot.code}")
    _move(actor, lot, part, count, on, reason)
    audit_record(actor=actor, verb="lot.split", obj=lot, changes={"part": [None, part.code], "count": [None, count]}, reason=reason)
    return part


@write
def lot_put_back(*, actor, part, count, on, reason):
    """Move seeds or plants of a part back into the lot it was split from."""
    if part.origin != choices.LotOrigin.SPLIT:
        raise ValidationError(f"{part} is not a part of another lot: there is nothing to put it back into.")
    if not reason.strip():
        raise ValidationError({"reason": "Give the reason for putting it back."})
    _move(actor, part, part.parent, count, on, reason)
    audit_record(
        actor=actor, verb="lot.put_back", obj=part, changes={"into": [None, part.parent.code], "count": [None, count]}, reason=reason
    )
    return part.parent


@write
def lot_close(*, actor, lot, on, reason=""):
    """Close an empty lot; its ledger takes no more entries until the lot is opened again."""
    day_check(on=on)
    lot = Lot.objects.select_for_update().get(pk=lot.pk)
    if lot.closed_on:
        raise ValidationError(f"Lot {lot.code} is already closed, since {day_words(lot.closed_on)}.")
    if lot.balance:
        raise ValidationError(
            f"Lot {lot.code} cannot be closed: {amount_words(lot.balance, lot.unit)} still on hand in its ledger. "
            "Enter where they went: sown, discarded, destroyed, or a stock-take difference with its reason."
        )
    held = leftovers_held(lot_leftovers(lot))
    if held:
        raise ValidationError(
            f"Lot {lot.code} cannot be closed: {amount_words(held, lot.unit)} are reported as leftovers still held by a receiver. "
            "Ask what became of them and record it on the shipment: returned, destroyed, or planted."
        )
    last = lot.ledger.order_by("-on").values_list("on", flat=True).first()
    if last is None:
        raise ValidationError(f"Lot {lot.code} has no entry in its ledger. Enter what was there before you close it.")
    if on < last:
        raise ValidationError({"on": f"The last ledger entry is of {day_words(last)}. Close the lot on that day or later."})
    lot.closed_on = on
    lot.save(update_fields=["closed_on"])
    audit_record(actor=actor, verb="lot.closed", obj=lot, changes={"closed_on": [None, on.isoformat()]}, reason=reason)
    return lot


@write
def lot_reopen(*, actor, lot, reason):
    """Open a closed lot again, so that a mistake in its ledger can be corrected."""
    lot = Lot.objects.select_for_update().get(pk=lot.pk)
    if not lot.closed_on:
        raise ValidationError(f"Lot {lot.code} is open.")
    if not reason.strip():
        raise ValidationError({"reason": "Say why it is opened again."})
    before = lot.closed_on
    lot.closed_on = None
    lot.save(update_fields=["closed_on"])
    audit_record(actor=actor, verb="lot.reopened", obj=lot, changes={"closed_on": [before.isoformat(), None]}, reason=reason)
    return lot


def _locked(*lots):
    """The lots read again under row locks, in one order for all: two people moving seed in opposite directions must not deadlock."""
    found = {lot.pk: lot for lot in Lot.objects.select_for_update().filter(pk__in=[lot.pk for lot in lots]).order_by("pk")}
    return [found[lot.pk] for lot in lots]


def _check_mixing(bulk, component):
    if left := bulk_left(bulk):
        raise ValidationError(
            f"{left} of {bulk} already. What left has the mixture as it was; adding to the bulk now would change where that came from. "
            f"Start a new bulk lot: mix what is left of {bulk} into it, then {component}."
        )
    if not bulk.may_hold(component.taxon):
        words = f"{component} is {component.taxon}, {bulk} is {bulk.taxon}; its label would name the wrong taxon."
        raise ValidationError({"component": f"{words} Mix lots of one taxon, or name the genus as the taxon of the bulk first."})


def _set_use_by(actor, lot, day, reason):
    stored = Lot.objects.get(pk=lot.pk)
    stored.use_by = day
    record_save(actor=actor, obj=stored, reason=f"use-by day: {reason}"[:200])


def _take_back(actor, entry, reason, on):
    details = {"reverses": entry, "reason": reason, "counterpart": entry.counterpart}
    return _append(actor, entry.lot, entry.kind, -entry.quantity, on, details)


def _move(actor, giver, taker, count, on, reason):
    _locked(giver, taker)
    _append(actor, giver, choices.LedgerKind.SPLIT_OUT, -count, on, {"counterpart": taker, "reason": reason})
    _append(actor, taker, choices.LedgerKind.SPLIT_IN, count, on, {"counterpart": giver, "reason": reason})


def _append(actor, lot, kind, quantity, on, details):
    wrong = details.get("reverses")
    if wrong is None or wrong.on != on:  # an entry of a wrong day is taken back on that day
        day_check(on=on)
    # the row lock keeps two writers on PostgreSQL from both passing the balance check
    lot = Lot.objects.select_for_update().get(pk=lot.pk)
    if lot.closed_on:
        raise ValidationError(
            f"Lot {lot.code} was closed on {day_words(lot.closed_on)}. Open it again, with a reason, before you enter anything."
        )
    entry = LedgerEntry(lot=lot, kind=kind, quantity=quantity, on=on, entered_by=actor, entered_at=timezone.now(), **details)
    entry.full_clean()
    lines = [LedgerLine(*row) for row in lot.ledger.values_list("on", "quantity")]
    overdraw = first_overdraw([*lines, LedgerLine(on, quantity)])
    if overdraw:
        day, balance = overdraw
        raise ValidationError(
            {
                "quantity": f"Lot {lot.code} holds {amount_words(balance - quantity, lot.unit)} on {day_words(day)}; "
                f"this entry of {abs(quantity)} would leave {balance}. Check the quantity and the date, or enter what is missing first."
            }
        )
    append_row(entry)
    lot.balance = lot.ledger.aggregate(total=Sum("quantity"))["total"]
    lot.save(update_fields=["balance"])
    return entry
