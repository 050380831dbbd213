"""The local calendar day of a moment."""

from datetime import date, datetime, tzinfo
from zoneinfo import ZoneInfo


def local_day(moment: datetime, zone: tzinfo | str) -> date:
    """The calendar day at a place when something happened. Permits start and end on local days.

    Parameters
    ----------
    moment : datetime with a time zone
    zone : tzinfo, or name of a zone such as “America/New_York”

    Raises
    ------
    ValueError
        When the moment has no time zone: its day cannot be known.
    zoneinfo.ZoneInfoNotFoundError
        When no zone has the name.

    Source
    ------
    Definition of this programme: local days count. Zones by the IANA time zone database of the machine.

    Examples
    --------
    >>> from datetime import UTC
    >>> local_day(datetime(2027, 1, 1, 3, 0, tzinfo=UTC), "America/New_York")
    datetime.date(2026, 12, 31)
    """
    if moment.utcoffset() is None:
        raise ValueError(f"{moment.isoformat(sep=' ')} has no time zone, so its local day is not known. Give the moment with its zone.")
    return moment.astimezone(ZoneInfo(zone) if isinstance(zone, str) else zone).date()
