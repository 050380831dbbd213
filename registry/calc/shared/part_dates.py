"""Dates of which only the year, or the year and the month, is known: how one is read, written, compared and counted from.

A date whose day is known is a `datetime.date`, and `SomeDate` is either. A `PartDate` is not a `date`: it has no day, cannot be added to or
subtracted, and a column that needs a day refuses it. What needs a time between two dates asks `days_between`, which answers
with the shortest and the longest; what asks whether one thing came before another asks `surely_before`.
"""

import calendar
import re
from datetime import date
from functools import total_ordering

__all__ = ["PartDate", "SomeDate", "days_apart", "days_between", "first_day", "last_day", "read_some_date", "surely_before"]

_PARTS = re.compile(r"([0-9]{4})(?:-([0-9]{2})(?:-([0-9]{2}))?)?")


@total_ordering
class PartDate:
    """A year, or a month of a year.

    Sorted among dates it comes at its first day, before a date that says more: 2019, 2019-01, 2019-01-01. Its text sorts the same way, so
    databases sort as Python does.

    Parameters
    ----------
    year : int, 1 to 9999
    month : int, 1 to 12, or None where the month is not known

    Raises
    ------
    ValueError
        For a year or month that no calendar has.

    Source
    ------
    ISO 8601-1:2019, calendar dates of reduced precision (from memory).

    Examples
    --------
    >>> str(PartDate(2019)), str(PartDate(2019, 5)), PartDate(2019).last.isoformat()
    ('2019', '2019-05', '2019-12-31')
    >>> PartDate(2019) < PartDate(2019, 1) < date(2019, 1, 1) < date(2019, 6, 1) < PartDate(2020)
    True
    """

    __slots__ = ("month", "year")

    def __init__(self, year: int, month: int | None = None):
        date(year, month or 1, 1)
        if month == 0:
            raise ValueError("month must be in 1..12")
        object.__setattr__(self, "year", year)
        object.__setattr__(self, "month", month)

    def __setattr__(self, name, value):
        raise AttributeError(f"{type(self).__name__} does not change")

    def __reduce__(self):
        return PartDate, (self.year, self.month)

    @property
    def first(self) -> date:
        """The first day it can be."""
        return date(self.year, self.month or 1, 1)

    @property
    def last(self) -> date:
        """The last day it can be."""
        month = self.month or 12
        return date(self.year, month, calendar.monthrange(self.year, month)[1])

    def isoformat(self) -> str:
        return f"{self.year:04d}-{self.month:02d}" if self.month else f"{self.year:04d}"

    __str__ = isoformat

    def __repr__(self):
        return f"PartDate({self.year}, {self.month})" if self.month else f"PartDate({self.year})"

    def __hash__(self):
        return hash((PartDate, self.year, self.month))

    def __eq__(self, other):
        return (self.year, self.month) == (other.year, other.month) if isinstance(other, PartDate) else NotImplemented

    def __lt__(self, other):
        return _place(self) < _place(other) if isinstance(other, (PartDate, date)) else NotImplemented


SomeDate = date | PartDate


def _place(some):
    """Where a date is sorted: by its first day, then by how much it says."""
    return (some.first, bool(some.month)) if isinstance(some, PartDate) else (some, 2)


def read_some_date(text: str) -> SomeDate:
    """The date that a text says as ISO 8601 writes it: 2019, 2019-05 or 2019-05-12.

    Raises
    ------
    ValueError
        For any other text.

    Source
    ------
    ISO 8601-1:2019, calendar dates, complete and of reduced precision (from memory).

    Examples
    --------
    >>> read_some_date("2019-05"), read_some_date("2019-05-12")
    (PartDate(2019, 5), datetime.date(2019, 5, 12))
    """
    found = _PARTS.fullmatch(text)
    if not found:
        raise ValueError(f"{text!r} is not a year, a month or a day")
    year, month, day = (int(part) if part else None for part in found.groups())
    if month == 0:
        raise ValueError(f"{text!r} has no month")
    return PartDate(year, month) if day is None else date(year, month, day)


def first_day(some: SomeDate) -> date:
    """The first day a date can be.

    Source
    ------
    Definition of this programme; the length of a month is that of the Gregorian calendar (ISO 8601-1:2019, from memory).

    Examples
    --------
    >>> first_day(PartDate(2019, 5)), first_day(date(2019, 5, 12))
    (datetime.date(2019, 5, 1), datetime.date(2019, 5, 12))
    """
    return some.first if isinstance(some, PartDate) else some


def last_day(some: SomeDate) -> date:
    """The last day a date can be.

    Source
    ------
    Definition of this programme; the length of a month is that of the Gregorian calendar (ISO 8601-1:2019, from memory).

    Examples
    --------
    >>> last_day(PartDate(2020, 2)), last_day(date(2019, 5, 12))
    (datetime.date(2020, 2, 29), datetime.date(2019, 5, 12))
    """
    return some.last if isinstance(some, PartDate) else some


def surely_before(earlier: SomeDate, later: SomeDate) -> bool:
    """Whether one date is before another whichever days they were. Two dates of which neither is surely first contradict nothing.

    Source
    ------
    Order of intervals: Allen 1983, Commun. ACM 26:832-843 (from memory).

    Examples
    --------
    >>> surely_before(PartDate(2019), date(2020, 1, 1)), surely_before(PartDate(2019), date(2019, 12, 31))
    (True, False)
    """
    return last_day(earlier) < first_day(later)


def days_between(earlier: SomeDate, later: SomeDate) -> tuple[int, int]:
    """The shortest and the longest time from one date to another.

    Returns
    -------
    tuple of int
        Days, the same twice where both days are known; below 0 where the other came first.

    Source
    ------
    Interval arithmetic, subtraction: Moore 1966 (from memory).

    Examples
    --------
    >>> days_between(PartDate(2019), date(2020, 1, 1)), days_between(date(2019, 5, 1), date(2019, 5, 31))
    ((1, 365), (30, 30))
    """
    if not isinstance(earlier, PartDate) and not isinstance(later, PartDate):  # asked three times of each row of a sheet
        days = (later - earlier).days
        return days, days
    return (first_day(later) - last_day(earlier)).days, (last_day(later) - first_day(earlier)).days


def days_apart(one: SomeDate, other: SomeDate) -> int:
    """The most days that two dates can be apart, whichever came first.

    Returns
    -------
    int
        Days, 0 or more.

    Source
    ------
    As `days_between`.

    Examples
    --------
    >>> days_apart(date(2019, 5, 2), date(2019, 5, 1)), days_apart(PartDate(2019, 5), date(2019, 5, 31))
    (1, 30)
    """
    return max(map(abs, days_between(one, other)))
