"""What is left of a lot, day by day, from the lines of its ledger."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class LedgerLine:
    """One line of a lot's ledger: its day, and seeds or plants in (positive) or out (negative)."""

    on: date
    quantity: int


def running(lines: Iterable[LedgerLine]) -> list[tuple[date, int]]:
    """The balance of a lot at the close of each day that has a line.

    Parameters
    ----------
    lines : iterable of LedgerLine
        Of one lot, in any order.

    Returns
    -------
    list of (date, balance), in time order; empty without lines.

    Notes
    -----
    Lines of one day are taken together, since a paper ledger does not order them within the day.

    Source
    ------
    Common practice of stock keeping, no source.

    Examples
    --------
    >>> running([LedgerLine(date(2026, 5, 4), -80), LedgerLine(date(2025, 10, 2), 500)])
    [(datetime.date(2025, 10, 2), 500), (datetime.date(2026, 5, 4), 420)]
    """
    net_by_day: defaultdict[date, int] = defaultdict(int)
    for line in lines:
        net_by_day[line.on] += line.quantity
    balances = []
    balance = 0
    for day in sorted(net_by_day):
        balance += net_by_day[day]
        balances.append((day, balance))
    return balances


def first_overdraw(lines: Iterable[LedgerLine]) -> tuple[date, int] | None:
    """The first day on which more has left a lot than had come in.

    Parameters
    ----------
    lines : iterable of LedgerLine
        Of one lot, in any order.

    Returns
    -------
    (date, balance) with the balance below zero, or None when there is no such day.

    Notes
    -----
    A later delivery does not heal an earlier overdraw: what was not there could not be sown.

    Source
    ------
    Common practice of stock keeping, no source.

    Examples
    --------
    >>> first_overdraw([LedgerLine(date(2025, 10, 2), 50), LedgerLine(date(2026, 5, 4), -80)])
    (datetime.date(2026, 5, 4), -30)
    """
    return next(((day, balance) for day, balance in running(lines) if balance < 0), None)


def balance_on(lines: Iterable[LedgerLine], on: date) -> int:
    """The balance of a lot at the close of a day.

    Parameters
    ----------
    lines : iterable of LedgerLine
        Of one lot, in any order; later lines are left out.
    on : date

    Returns
    -------
    int, in the unit of the lines; 0 before the first line.

    Source
    ------
    Common practice of stock keeping, no source.

    Examples
    --------
    >>> balance_on([LedgerLine(date(2025, 10, 2), 50)], date(2025, 12, 31))
    50
    """
    return sum(line.quantity for line in lines if line.on <= on)
