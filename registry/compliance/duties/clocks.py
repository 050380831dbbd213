"""How long there is to tell the authority of an incident. The clock starts when it is discovered, not when it happened."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from registry.compliance.duties.local_day import local_day
from registry.compliance.duties.recurrence import add_months

HOURS, DAYS, WORKING_DAYS, CALENDAR_MONTHS = "hours", "days", "working_days", "months"
UNITS = {HOURS: "hours", DAYS: "days", WORKING_DAYS: "working days", CALENDAR_MONTHS: "months"}
_SATURDAY = 5


@dataclass(frozen=True, slots=True)
class Clock:
    """The time from discovery within which to report, in hours, days, working days or months; 0 = immediately."""

    unit: str
    amount: int

    def __post_init__(self) -> None:
        if self.unit not in UNITS or self.amount < 0:
            raise ValueError(f"{self.amount} “{self.unit}” is not a time limit. Give 0 or more of {', '.join(UNITS)}.")


@dataclass(frozen=True, slots=True)
class Deadline:
    """When the time is up.

    `at` is the moment, and it still counts, when the limit is in hours. Otherwise `is_whole_days`, `on` is the last
    day, and `at` the local midnight at which that day is over.
    """

    at: datetime
    on: date
    is_whole_days: bool = False


def deadline(clock: Clock, discovered_at: datetime, zone: tzinfo | str, holidays: Iterable[date] = ()) -> Deadline:
    """The end of a time limit.

    Parameters
    ----------
    clock : Clock
    discovered_at : datetime with a time zone
    zone : tzinfo or name of a zone
        Of the place; its calendar counts.
    holidays : iterable of date
        Days from Monday to Friday that are not working days.

    Raises
    ------
    ValueError
        When the moment has no time zone.

    Notes
    -----
    Hours run through nights, weekends and changes of the clock. In days, working days and months the day of discovery
    is not counted and the last day counts to its end. Working days are Monday to Friday without the holidays. A last
    day that falls on a weekend is not put off, since an earlier report does no harm.

    Source
    ------
    Not counting the day of the event: common practice, no source. Ask the authority whether it counts in this way.

    Examples
    --------
    >>> friday = datetime(2026, 10, 9, 17, 0, tzinfo=ZoneInfo("America/New_York"))
    >>> deadline(Clock("working_days", 5), friday, "America/New_York", holidays=[date(2026, 10, 12)]).on
    datetime.date(2026, 10, 19)
    """
    zone = ZoneInfo(zone) if isinstance(zone, str) else zone
    day = local_day(discovered_at, zone)
    if clock.unit == HOURS:
        at = (discovered_at.astimezone(UTC) + timedelta(hours=clock.amount)).astimezone(zone)
        return Deadline(at, at.date())
    if clock.unit == DAYS:
        on = day + timedelta(days=clock.amount)
    elif clock.unit == CALENDAR_MONTHS:
        on = add_months(day, clock.amount)
    else:
        on = _working_days_later(day, clock.amount, frozenset(holidays))
    after = on + timedelta(days=1)
    return Deadline(datetime(after.year, after.month, after.day, tzinfo=zone), on, is_whole_days=True)


def is_in_time(limit: Deadline, done_at: datetime) -> bool:
    """Whether something was done in time.

    Source
    ------
    Definition of this programme: a limit in hours includes its moment, a limit in days its last day to the end.

    Examples
    --------
    >>> limit = Deadline(datetime(2026, 10, 10, 9, 0, tzinfo=UTC), date(2026, 10, 10))
    >>> is_in_time(limit, datetime(2026, 10, 10, 9, 0, tzinfo=UTC)), is_in_time(limit, datetime(2026, 10, 10, 9, 1, tzinfo=UTC))
    (True, False)
    """
    done, end = done_at.astimezone(UTC), limit.at.astimezone(UTC)  # two times of one zone would be compared by the clock on the wall
    return done < end or (done == end and not limit.is_whole_days)


def _working_days_later(day: date, amount: int, holidays: frozenset[date]) -> date:
    while amount:
        day += timedelta(days=1)
        amount -= day.weekday() < _SATURDAY and day not in holidays
    return day
