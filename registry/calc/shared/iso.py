"""How days and times are written for programs: in sheets, addresses and file names, as ISO 8601. `screen` writes for people."""

from datetime import date

from registry.calc.shared.part_dates import PartDate, SomeDate

DAY_PATTERN = "%Y-%m-%d"
MONTH_PATTERN = "%Y-%m"
MINUTE_PATTERN = "%Y-%m-%dT%H:%M"


def iso_day(day: SomeDate) -> str:
    """The calendar day, of a day or of a moment in the zone it carries; the month or the year where no more is known.

    Source
    ------
    ISO 8601-1:2019, calendar dates, extended format, complete and of reduced precision (from memory).

    Examples
    --------
    >>> from datetime import datetime
    >>> iso_day(date(2026, 10, 12)), iso_day(datetime(2026, 10, 12, 23, 59))
    ('2026-10-12', '2026-10-12')
    >>> iso_day(PartDate(2026, 10))
    '2026-10'
    """
    if isinstance(day, PartDate):
        return str(day)
    return f"{day.year:04d}-{day.month:02d}-{day.day:02d}"


def iso_month(day: date) -> str:
    """The month of a day.

    Source
    ------
    ISO 8601-1:2019, calendar dates of reduced precision (from memory).

    Examples
    --------
    >>> iso_month(date(2026, 10, 12))
    '2026-10'
    """
    return f"{day.year:04d}-{day.month:02d}"


def compact_day(day: date) -> str:
    """The basic form of ISO 8601, as calendar files and PDF write it.

    Source
    ------
    ISO 8601-1:2019, calendar dates, basic format (from memory); RFC 5545 section 3.3.4 asks for it in calendars.

    Examples
    --------
    >>> compact_day(date(2026, 10, 12))
    '20261012'
    """
    return f"{day.year:04d}{day.month:02d}{day.day:02d}"
