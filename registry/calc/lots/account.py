"""The account of a lot: what came in, what went out by kind, what is on hand, and whether it closes to zero."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AccountLine:
    """All entries of one kind together: net quantity (in positive, out negative) and how many entries make it."""

    kind: str
    quantity: int
    entries: int


@dataclass(frozen=True, slots=True)
class LotAccount:
    """Lines in the order their kinds first occur; `came_in` and `went_out` are both counted without a sign."""

    lines: tuple[AccountLine, ...]
    came_in: int
    went_out: int
    on_hand: int
    closes: bool


def lot_account(entries: Iterable[tuple[str, int]]) -> LotAccount:
    """Account of a lot from its ledger.

    Parameters
    ----------
    entries : iterable of (kind, quantity)
        In seeds or plants, signed; a reversing entry has the kind of the entry it reverses, so the two cancel within their line.

    Returns
    -------
    LotAccount
        `closes` is True when nothing is on hand. A lot without entries closes: nothing was ever there.

    Raises
    ------
    ValueError
        When more went out than came in: such a ledger cannot be.

    Source
    ------
    Common practice of stock keeping, no source.

    Examples
    --------
    >>> account = lot_account([("harvested", 500), ("sown", -480), ("discarded", -25), ("discarded", 5)])
    >>> [(line.kind, line.quantity) for line in account.lines], account.on_hand, account.closes
    ([('harvested', 500), ('sown', -480), ('discarded', -20)], 0, True)
    """
    totals: dict[str, list[int]] = {}
    for kind, quantity in entries:
        total = totals.setdefault(kind, [0, 0])
        total[0] += quantity
        total[1] += 1
    lines = tuple(AccountLine(kind, quantity, count) for kind, (quantity, count) in totals.items())
    came_in = sum(line.quantity for line in lines if line.quantity > 0)
    went_out = -sum(line.quantity for line in lines if line.quantity < 0)
    if went_out > came_in:
        raise ValueError(f"{went_out:,} went out but only {came_in:,} came in. Enter what is missing first.")
    return LotAccount(lines, came_in, went_out, came_in - went_out, came_in == went_out)
