"""What a person may enter by hand in the ledger of a lot: a lot is filled in the one way its origin says."""

from registry.choices import LEDGER_BY_HAND, LEDGER_GAINS, LedgerKind, LotKind, LotOrigin

__all__ = ["kind_fault", "kinds_by_hand"]

_GAINS = {
    (LotOrigin.HARVEST, LotKind.SEED): (LedgerKind.HARVESTED,),
    # nuts sown as they were cleaned, first counted as plants; or plants of a known mother that came from elsewhere
    (LotOrigin.HARVEST, LotKind.STOCK): (LedgerKind.RAISED, LedgerKind.ACQUIRED),
    (LotOrigin.SOWN, LotKind.STOCK): (LedgerKind.RAISED,),
    (LotOrigin.OUTSIDE, LotKind.SEED): (LedgerKind.ACQUIRED,),
    (LotOrigin.OUTSIDE, LotKind.STOCK): (LedgerKind.ACQUIRED,),
}
_INSTEAD = {
    LotOrigin.HARVEST: "Enter the picking of its mother tree; what came from another tree or from outside is a lot of its own.",
    LotOrigin.SOWN: "Enter the plants that were raised; what came from elsewhere is a lot of its own.",
    LotOrigin.OUTSIDE: "Enter what was received from outside; what was harvested or raised here is a lot of its own.",
    LotOrigin.BULK: "It is filled by its components only: enter the seeds or plants in a lot of their own and mix that in.",
    LotOrigin.SPLIT: "It is filled from the lot it is a part of only: enter the gain there, then split more of it.",
}


def kinds_by_hand(lot):
    """The kinds of entry that fit a lot, in the order of `LEDGER_BY_HAND`."""
    gains = _GAINS.get((lot.origin, lot.kind), ())
    losses = [kind for kind in LEDGER_BY_HAND if kind not in LEDGER_GAINS and (kind != LedgerKind.SOWN or lot.kind == LotKind.SEED)]
    return [kind for kind in LEDGER_BY_HAND if kind in gains or kind in losses]


def kind_fault(lot, kind):
    """Why an entry of this kind cannot stand in the ledger of a lot, with what to do; "" where it can."""
    if kind not in LEDGER_BY_HAND or kind in kinds_by_hand(lot):
        return ""
    if kind == LedgerKind.SOWN:
        return f"Lot {lot.code} is counted in {lot.unit}. Only a seed lot can be sown."
    word = LedgerKind(kind).label
    return f"“{word.capitalize()}” does not fit lot {lot.code}: its origin is “{lot.get_origin_display()}”. {_INSTEAD[lot.origin]}"
