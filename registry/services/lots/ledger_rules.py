"""What a ledger entry must agree with besides the balance of its lot: the origin of the lot, its year and mother, the seeds sown."""

from django.core.exceptions import ValidationError

from registry.calc.lots.stock import LedgerLine, balance_on, first_overdraw
from registry.calc.shared.screen import amount_words, day_words
from registry.choices import LedgerKind, LotKind, LotOrigin
from registry.models import LedgerEntry, Lot
from registry.selectors.lots.harvest_doubts import harvest_day_fault, mother_fault
from registry.selectors.lots.ledger_kinds import kind_fault

__all__ = ["entry_check", "harvest_check", "reversal_check"]


def entry_check(*, lot, kind, quantity, on, counterpart=None):
    """Raise ValidationError, at its field, for an entry that contradicts the records. `quantity` is unsigned."""
    if fault := kind_fault(lot, kind):
        raise ValidationError({"kind": fault})
    if kind == LedgerKind.HARVESTED:
        harvest_check(lot=lot, on=on)
    elif kind == LedgerKind.SOWN and counterpart:
        _check_sowing(lot, counterpart)
    elif kind == LedgerKind.RAISED:
        _check_raising(lot, quantity, on, counterpart)


def harvest_check(*, lot, on):
    """Raise ValidationError when a picking of this day cannot belong to the lot, or its mother was gone by then."""
    faults = {"on": harvest_day_fault(lot, on), "mother": lot.mother and mother_fault(lot.mother, lot.year)}
    if faults := {name: fault for name, fault in faults.items() if fault}:
        raise ValidationError(faults)


def reversal_check(*, entry, on):
    """Raise ValidationError when a sowing is reversed although its plants are entered."""
    if entry.kind != LedgerKind.SOWN or entry.counterpart is None:
        return
    stock = Lot.objects.select_for_update().get(pk=entry.counterpart_id)
    sown, raised = _sown(stock), _raised(stock)
    if raised and first_overdraw([*sown, LedgerLine(on, entry.quantity), *raised]):
        plants = amount_words(-sum(line.quantity for line in raised), "plants")
        raise ValidationError(
            f"{plants} raised in {stock.code} are entered, which is more than the seeds that would be left as sown. "
            "Reverse the plants first, or enter the right sowing before you reverse this one."
        )


def _check_sowing(lot, stock):
    if stock.parent_id != lot.pk or stock.kind != LotKind.STOCK or stock.origin != LotOrigin.SOWN:
        words = f"{stock} was not raised from {lot}. With two seed lots in one stock lot, the mothers can no longer be told apart."
        raise ValidationError({"counterpart": words})
    if stock.closed_on:
        words = f"{stock} was closed on {day_words(stock.closed_on)}. Sow into a new stock lot, or open it again."
        raise ValidationError({"counterpart": words})


def _check_raising(stock, quantity, on, parent):
    if parent and parent.pk != stock.parent_id:
        raise ValidationError({"counterpart": f"{stock} was not raised from {parent}. Give the lot it was raised from, or leave it blank."})
    stock = Lot.objects.select_for_update().get(pk=stock.pk)
    sown, raised = _sown(stock), _raised(stock)
    # without a sowing on record the seeds were sown before the records began
    if not sown or not first_overdraw([*sown, *raised, LedgerLine(on, -quantity)]):
        return
    seeds_sown = balance_on(sown, on)
    if not sum(line.quantity for line in sown):
        raise ValidationError(f"The sowing into {stock.code} was reversed, so no plant can come from it. Enter the right sowing first.")
    if not seeds_sown:
        first = min(line.on for line in sown)
        raise ValidationError(
            {"on": f"{stock.code} was sown on {day_words(first)}; no plant can have come up before. Check the day, or correct the sowing."}
        )
    entered = -sum(line.quantity for line in raised)
    raise ValidationError(
        {
            "quantity": f"{amount_words(seeds_sown, 'seeds')} were sown into {stock.code} by {day_words(on)} and "
            f"{amount_words(entered, 'plants')} are already entered; {quantity:,} more would be more plants than seeds. "
            "Count again, or correct the sowing first."
        }
    )


def _sown(stock):
    """Seeds sown into a stock lot, by day, as gains; a reversed sowing is a loss."""
    entries = LedgerEntry.objects.filter(counterpart=stock, kind=LedgerKind.SOWN)
    return [LedgerLine(on, -quantity) for on, quantity in entries.values_list("on", "quantity")]


def _raised(stock):
    """Plants raised from them, by day, as losses."""
    return [LedgerLine(on, -quantity) for on, quantity in stock.ledger.filter(kind=LedgerKind.RAISED).values_list("on", "quantity")]
