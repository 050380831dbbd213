"""Reads about one lot: where it came from, its ledger, what is due or odd."""

from dataclasses import dataclass

from registry import choices
from registry.calc.lots.stock import LedgerLine, running
from registry.calc.shared.screen import amount_words
from registry.models import LedgerEntry, Lot
from registry.selectors.duties.duty_line import Duty
from registry.selectors.loads.staying import withdrawn_load_of
from registry.selectors.movements.shipments import other_drafts, promised_words

__all__ = ["USE_BY_NOTICE_DAYS", "LedgerRow", "lot_ancestors", "lot_duties", "lot_ledger"]

USE_BY_NOTICE_DAYS = 30  # common practice, no source
_ANCESTORS_MAX = 12


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """A ledger entry with the balance at the close of its day (None when later entries of that day follow)."""

    entry: LedgerEntry
    balance: int | None
    reversal: LedgerEntry | None
    can_reverse: bool


def lot_ledger(lot):
    """The ledger of a lot in time order. Entries of one day have no order, so the balance is given at the end of the day."""
    related = ("counterpart", "shipment_line__shipment", "entered_by", "reverses", "reversed_by")
    entries = list(lot.ledger.select_related(*related).order_by("on", "id"))
    closing = dict(running(LedgerLine(entry.on, entry.quantity) for entry in entries))
    last_of_day = {entry.on: entry.pk for entry in entries}
    rows = []
    for entry in entries:
        reversal = getattr(entry, "reversed_by", None)
        free = reversal is None and entry.reverses_id is None and entry.kind in choices.LEDGER_BY_HAND
        balance = closing[entry.on] if last_of_day[entry.on] == entry.pk else None
        rows.append(LedgerRow(entry, balance, reversal, free))
    return rows


def lot_ancestors(lot):
    """The lots a lot was raised from, the oldest first; a loop ends where it began."""
    line, seen = [], {lot.pk}
    while lot.parent_id and lot.parent_id not in seen and len(line) < _ANCESTORS_MAX:
        lot = Lot.objects.select_related("mother", "father", "pollen_pool").get(pk=lot.parent_id)
        seen.add(lot.pk)
        line.append(lot)
    return line[::-1]


def _one_draft_words(lot, drafts):
    """What a single draft takes beyond what the lot holds, which had more when it was entered."""
    if len(drafts) != 1 or drafts[0][1] <= lot.balance:
        return ""
    return f"Draft {drafts[0][0]} promises {amount_words(drafts[0][1], lot.unit)} of lot {lot.code}; it holds {lot.balance:,}."


def lot_duties(lot, today, *, has_ledger, has_components):
    """What is due or odd about a lot on a day. One query, of a lot with nothing on hand two."""
    drafts = other_drafts([lot.pk]).get(lot.pk, [])
    promised = promised_words(lot, drafts) or _one_draft_words(lot, drafts)
    duties = [Duty("odd", promised)] if promised else []
    if lot.use_by and lot.balance:
        days_left = (lot.use_by - today).days
        if days_left < 0:
            duties.append(Duty("late", f"The use-by day has passed. Still on hand: {amount_words(lot.balance, lot.unit)}.", lot.use_by))
        elif days_left <= USE_BY_NOTICE_DAYS:
            when = "today" if days_left == 0 else f"within {amount_words(days_left, 'days')}"
            duties.append(Duty("soon", f"Use {amount_words(lot.balance, lot.unit)} {when}.", lot.use_by))
    number = None if lot.balance else withdrawn_load_of(lot)
    if number:
        words = "What was entered about it is never deleted, so the lot stays, with nothing on hand."
        duties.append(Duty("info", f"Load {number}, which brought this lot, was withdrawn. {words}"))
    elif lot.origin == choices.LotOrigin.BULK and not has_components:
        duties.append(Duty("odd", "This bulk lot has no components yet. Enter what was mixed."))
    elif not has_ledger:
        first = {"harvest": "what was harvested", "sown": "what was raised", "outside": "what was received"}
        duties.append(Duty("odd", f"The ledger is empty. Enter {first.get(lot.origin, 'the first entry')}."))
    return duties
