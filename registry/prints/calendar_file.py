"""Calendar files (iCalendar, RFC 5545): whole days and moments as events, each occurrence an event of its own.

Single events, because a rule such as RRULE:FREQ=YEARLY on 29 February skips the years without that day (RFC 5545, 3.3.10);
here it falls on 28 February. No Django, no clock: what changed when comes with the events.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

CONTENT_TYPE = "text/calendar; charset=utf-8"
PRODID = "-//Mastbook//Record book//EN"
_REFRESH = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class DayEvent:
    """Whole days of a calendar, or a moment.

    Parameters
    ----------
    uid : str
        The same in every export of the same event, and no other event's.
    title, description, url : str
    first, last : date
        Both inclusive.
    sequence : int
        Grows with every change of what the event was made from.
    changed_at : datetime with a time zone
        When it last changed.
    is_cancelled : bool
    at : datetime with a time zone, or None
        The moment, where it is one; `first` and `last` are then its day.
    alarms : tuple of timedelta
        When to remind, counted from the moment or from the midnight at which `first` begins.
    """

    uid: str
    title: str
    first: date
    last: date
    changed_at: datetime
    sequence: int = 0
    description: str = ""
    url: str = ""
    is_cancelled: bool = False
    at: datetime | None = None
    alarms: tuple[timedelta, ...] = ()


def calendar_file(name: str, events: Iterable[DayEvent]) -> bytes:
    """The events as a calendar file.

    Returns
    -------
    bytes
        UTF-8, lines that end in CRLF and are folded at 75 octets, in the order of the events.

    Notes
    -----
    The end of whole days is exclusive (RFC 5545, 3.6.1): one on 30 September ends on 1 October. DTSTAMP is the last change,
    since the file names no METHOD (3.8.7.2). The events leave the day free (TRANSP): they remind, they do not occupy. A
    cancelled event has no alarms. An alarm shows the title (3.6.6).
    """
    from icalendar import Alarm, Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", _text(name))
    calendar.add("refresh-interval", _REFRESH, parameters={"VALUE": "DURATION"})
    for day in events:
        changed = day.changed_at.astimezone(UTC).replace(microsecond=0)
        event = Event()
        event.add("uid", day.uid)
        event.add("dtstamp", changed)
        event.add("last-modified", changed)
        event.add("sequence", day.sequence)
        if day.at:
            event.add("dtstart", day.at.astimezone(UTC).replace(microsecond=0))
        else:
            event.add("dtstart", day.first)
            event.add("dtend", day.last + timedelta(days=1))
        event.add("summary", _text(day.title))
        if day.description:
            event.add("description", _text(day.description))
        if day.url:
            event.add("url", day.url)
        event.add("status", "CANCELLED" if day.is_cancelled else "CONFIRMED")
        event.add("transp", "TRANSPARENT")
        for before in () if day.is_cancelled else day.alarms:
            alarm = Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", _text(day.title))
            alarm.add("trigger", before)
            event.add_component(alarm)
        calendar.add_component(event)
    return calendar.to_ical()


def _text(text: str) -> str:
    """Without the control characters a TEXT value may not hold (RFC 5545, 3.3.11); a line break stays one."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(letter for letter in lines if letter == "\n" or letter == "\t" or (ord(letter) >= 32 and ord(letter) != 127))
