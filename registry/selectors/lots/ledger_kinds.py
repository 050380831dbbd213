"""What a person may enter by hand in the ledger of a lot: its origin decides what adds to it."""

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
    LotOrigin.HARVEST: "Enter the picking of its mother tree. Make a new lot for seed from another tree or from outside.",
    LotOrigin.SOWN: "Enter the plants that were raised. Make a new lot for plants from elsewhere.",
    LotOrigin.OUTSIDE: "Enter what was received from outside. Make a new lot for what was harvested or raised here.",
    LotOrigin.BULK: "Only components add to it: enter the seeds or plants in another lot and mix that in.",
    LotOrigin.SPLIT: "It can only be filled from the lot it is a part of: enter the gain there, then split more of it.",
}


def kinds_by_hand(lot):
    """The kinds of entry that fit a lot, in the order of `LEDGER_BY_HAND`."""
    gains = _GAINS.get((lot.origin, lot.kind), ())
    losses = [kind for kind in LEDGER_BY_HAND if kind not in LEDGER_GAINS and (kind != LedgerKind.SOWN or lot.kind == LotKind.SEED)]
    return [kind for kind in LEDGER_BY_HAND if kind in gains or kind in losses]


def kind_fault(lot, kind):
    """Why an entry of this kind does not fit the ledger of a lot, with what to do instead; "" where it fits."""
    if kind not in LEDGER_BY_HAND or kind in kinds_by_hand(lot):
        return ""
    if kind == LedgerKind.SOWN:
        return f"Lot {lot.code} is counted in {lot.unit}. Only a seed lot can be sown."
    word = LedgerKind(kind).label
    return f"“{word.capitalize()}” does not fit lot {lot.code}: its origin is “{lot.get_origin_display()}”. {_INSTEAD[lot.origin]}"
