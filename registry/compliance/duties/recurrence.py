"""When something falls due, again and again."""

import calendar
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import MAXYEAR, date, timedelta

ONCE, MONTHS, YEARS, YEARLY_ON, BEFORE_SEASON = "once", "months", "years", "yearly_on", "before_season"
KINDS = {
    ONCE: "once",
    MONTHS: "every … months",
    YEARS: "every … years",
    YEARLY_ON: "every year on one day",
    BEFORE_SEASON: "every year, … days before a day of the season",
}


@dataclass(frozen=True, slots=True)
class Recurrence:
    """When a duty falls due.

    Parameters
    ----------
    kind : str
        once, months, years, yearly_on or before_season.
    first_due : date
        The first due date; with yearly_on and before_season the earliest day on which one can fall.
    every : int
        Months or years from one due date to the next, 1 or more.
    month, day : int or None
        With yearly_on the day itself; with before_season the day of the season (first flower, say).
    days_before : int
        With before_season, 1 or more: what must be done before a day is due on the day before it at the latest.
    until : date or None
        Last day on which one falls due; None: it goes on until the duty is closed.

    Raises
    ------
    ValueError
        When these do not fit together.

    Notes
    -----
    A day the month does not have becomes the last day of the month: the 31st is 30 April, 29 February is
    28 February in other years. Each date is counted from the first one, so that the 31st comes back after a short month.
    """

    kind: str
    first_due: date
    every: int = 1
    month: int | None = None
    day: int | None = None
    days_before: int = 1
    until: date | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"“{self.kind}” is not a recurrence. Use one of {', '.join(KINDS)}.")
        if self.kind in (MONTHS, YEARS) and self.every < 1:
            raise ValueError(f"Every {self.every} {self.kind} is not a recurrence. Give 1 or more.")
        if self.kind in (YEARLY_ON, BEFORE_SEASON):
            if self.month is None or self.day is None or not _is_day(self.month, self.day):
                raise ValueError(f"Month {self.month}, day {self.day} is not a day of a year. Give a month and a day that it has.")
            if self.kind == BEFORE_SEASON and self.days_before < 1:
                raise ValueError(f"{self.days_before} days before is not before. Give 1 or more.")


def _is_day(month: int, day: int) -> bool:
    return 1 <= month <= 12 and 1 <= day <= calendar.monthrange(2000, month)[1]


def _clipped(year: int, month: int, day: int) -> date:
    return date(year, month, min(day, calendar.monthrange(year, month)[1]))


def add_months(day: date, months: int) -> date:
    """The same day some months later, or the last day of that month when it is shorter.

    Parameters
    ----------
    day : date
    months : int
        May be negative.

    Raises
    ------
    ValueError
        When the year lies outside 1 to 9999.

    Source
    ------
    Common practice, no source. RFC 5545 would leave out a day the month does not have; a duty must not be left out.

    Examples
    --------
    >>> add_months(date(2026, 8, 31), 6), add_months(date(2024, 2, 29), 12)
    (datetime.date(2027, 2, 28), datetime.date(2025, 2, 28))
    """
    place = day.year * 12 + day.month - 1 + months
    return _clipped(place // 12, place % 12 + 1, day.day)


def occurrences(recurrence: Recurrence, start: date, end: date) -> list[date]:
    """Due dates from `start` to `end`, both included, in order.

    Source
    ------
    As `add_months`.

    Examples
    --------
    >>> occurrences(Recurrence("months", date(2026, 8, 31), every=6), date(2026, 1, 1), date(2027, 12, 31))
    [datetime.date(2026, 8, 31), datetime.date(2027, 2, 28), datetime.date(2027, 8, 31)]
    """
    end = end if recurrence.until is None else min(end, recurrence.until)
    start = max(start, recurrence.first_due)
    if end < start:
        return []
    return [due for due in _candidates(recurrence, start, end) if start <= due <= end]


def _candidates(recurrence: Recurrence, start: date, end: date) -> Iterator[date]:
    first = recurrence.first_due
    if recurrence.kind == ONCE:
        yield first
    elif recurrence.kind in (MONTHS, YEARS):
        step = recurrence.every * (12 if recurrence.kind == YEARS else 1)
        months_of = [(day.year - first.year) * 12 + day.month - first.month for day in (start, end)]
        for count in range(months_of[0] // step, months_of[1] // step + 1):
            yield add_months(first, count * step)
    else:
        before = timedelta(days=recurrence.days_before if recurrence.kind == BEFORE_SEASON else 0)
        for year in range(start.year, min(end.year + 1 + before.days // 365, MAXYEAR) + 1):
            yield _clipped(year, recurrence.month or 1, recurrence.day or 1) - before
