"""How days, times, counts and numbers are written for people: on screens, in mails and on prints. The only module that does.

Where a text is translated, `selectors/shared/local_words` takes the names of months from Django.

What a program reads (sheets, addresses, file names) is written by `iso`.

Source
------
Definition of this programme for all functions here: how days, counts and numbers are written for people.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from math import floor, log10

from registry.calc.shared.part_dates import PartDate, SomeDate

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MOST_PLACES = 12

# plural -> singular of everything Mastbook counts; a test looks each unit in the source up here
SINGULARS = {
    "answers": "answer", "blocks": "block", "cautions": "caution", "censuses": "census", "changes": "change",
    "characters": "character", "checks": "check", "classes": "class", "clean records": "clean record",
    "clocks": "clock", "codes": "code", "columns": "column", "components": "component", "containers": "container", "corners": "corner",
    "counts": "count",
    "crosses": "cross",
    "dates": "date", "days": "day", "decisions": "decision", "differences": "difference",
    "documents": "document", "draws": "draw", "duties": "duty", "entries": "entry",
    "families": "family", "fathers": "father", "files": "file", "founders": "founder", "growing seasons": "growing season",
    "hours": "hour", "incidents": "incident", "items": "item", "jobs": "job", "kinds": "kind",
    "kinds of entry": "kind of entry", "kinds of fault": "kind of fault", "kinds of record": "kind of record",
    "layers": "layer",
    "leftovers": "leftover", "lineages": "lineage", "lines": "line", "links": "link", "loci": "locus", "lots": "lot", "members": "member",
    "loads": "load", "messages": "message",
    "minutes": "minute", "months": "month", "mothers": "mother", "notices": "notice", "other shapes": "other shape",
    "outlines": "outline", "papers": "paper", "parents": "parent", "parts": "part", "reports": "report",
    "partners": "partner", "people": "person",
    "photos": "photo", "pickings": "picking",
    "places": "place", "plantings": "planting", "plants": "plant", "plots": "plot", "protocols": "protocol",
    "blank rows": "blank row", "pages": "page", "points": "point", "pollen pools": "pollen pool", "pools": "pool",
    "prints": "print", "questions": "question", "questions of identity": "question of identity",
    "tallies": "tally", "origins": "origin", "shipment lines": "shipment line",
    "ratings": "rating", "reviews": "review", "receipts": "receipt", "records": "record",
    "replicates": "replicate", "rounds": "round", "rows": "row", "rules": "rule", "scales": "scale", "seeds or plants": "seed or plant",
    "seedlings": "seedling",
    "seeds": "seed", "settings": "setting", "shares": "share", "sheets": "sheet", "shipments": "shipment", "signatures": "signature",
    "sites": "site", "states": "state", "steps": "step", "storage checks": "storage check", "stock lots": "stock lot", "tables": "table",
    "tags": "tag", "taxa": "taxon", "tests": "test",
    "things": "thing", "tokens": "token", "treatments": "treatment", "trees": "tree", "verifications": "verification",
    "versions": "version", "visits": "visit", "translations": "translation", "types": "type",
    "measurements": "measurement", "warnings": "warning",
    "weeks": "week", "working days": "working day", "wordings": "wording", "years": "year",
}  # fmt: skip


def day_words(day: SomeDate | None) -> str:
    """A day as it is written on screens, the same in every locale; the month or the year where no more is known; blank for none.

    Examples
    --------
    >>> from datetime import date
    >>> day_words(date(2026, 10, 12)), day_words(PartDate(2026, 10)), day_words(PartDate(2026)), day_words(None)
    ('12 Oct 2026', 'Oct 2026', '2026', '')
    """
    if isinstance(day, PartDate):
        return month_year_words(day) if day.month else str(day)
    return f"{day.day} {MONTHS[day.month - 1][:3]} {day.year}" if day else ""


def days_words(first: SomeDate, last: SomeDate) -> str:
    """The days from the first to the last; what both share is written once.

    Examples
    --------
    >>> from datetime import date
    >>> days_words(date(2026, 9, 20), date(2026, 9, 22)), days_words(date(2026, 9, 30), date(2026, 10, 2))
    ('20 to 22 Sep 2026', '30 Sep to 2 Oct 2026')
    >>> days_words(date(2025, 10, 20), date(2026, 4, 28)), days_words(date(2026, 9, 20), date(2026, 9, 20))
    ('20 Oct 2025 to 28 Apr 2026', '20 Sep 2026')
    """
    if first == last:
        return day_words(first)
    if first.year != last.year or isinstance(first, PartDate) or isinstance(last, PartDate):
        return f"{day_words(first)} to {day_words(last)}"
    start = str(first.day) if first.month == last.month else day_words(first).rsplit(" ", 1)[0]
    return f"{start} to {day_words(last)}"


def sentence(text: str) -> str:
    """A typed text that ends as a sentence does, so that another can follow it; blank for none.

    Examples
    --------
    >>> sentence("Wear gloves "), sentence("Is it dry?"), sentence("")
    ('Wear gloves.', 'Is it dry?', '')
    """
    text = text.rstrip()
    return text if not text or text.endswith((".", "!", "?", "…")) else f"{text}."


def month_words(month: int) -> str:
    """The name of a month by its number.

    Parameters
    ----------
    month : int, 1 to 12

    Examples
    --------
    >>> month_words(3)
    'March'
    """
    return MONTHS[month - 1]


def month_year_words(day: SomeDate) -> str:
    """The month of a day, such as a use-by or a calendar page.

    Examples
    --------
    >>> from datetime import date
    >>> month_year_words(date(2026, 10, 12))
    'Oct 2026'
    """
    return f"{MONTHS[day.month - 1][:3]} {day.year}"


def time_words(moment: datetime) -> str:
    """The time of day of a moment, in the zone it carries.

    Examples
    --------
    >>> time_words(datetime(2026, 10, 12, 9, 5))
    '09:05'
    """
    return f"{moment.hour:02d}:{moment.minute:02d}"


def moment_words(moment: datetime, zone: bool = False) -> str:
    """A day with its time, in the zone the moment carries; with the short name of that zone when `zone` is true.

    Examples
    --------
    >>> from datetime import UTC
    >>> moment_words(datetime(2026, 10, 12, 9, 5)), moment_words(datetime(2026, 10, 12, 9, 5, tzinfo=UTC), zone=True)
    ('12 Oct 2026, 09:05', '12 Oct 2026, 09:05 UTC')
    """
    words = f"{day_words(moment)}, {time_words(moment)}"
    return f"{words} {moment.tzname()}" if zone else words


def span_words(span: timedelta) -> str:
    """A length of time, rounded down to the minute; minutes are left out from one day on.

    Examples
    --------
    >>> span_words(timedelta(days=2, hours=1, minutes=5)), span_words(timedelta(minutes=1)), span_words(timedelta())
    ('2 days 1 hour', '1 minute', '0 minutes')
    """
    minutes = int(span.total_seconds()) // 60
    days, hours, minutes = minutes // 1440, minutes % 1440 // 60, minutes % 60
    parts = [(days, "days"), (hours, "hours"), (0 if days else minutes, "minutes")]
    return " ".join(amount_words(count, unit) for count, unit in parts if count) or "0 minutes"


def amount_words(count: int, unit: str) -> str:
    """A count with its unit.

    Parameters
    ----------
    count : int
        In the unit.
    unit : str
        The plural, such as "seeds" or "plants".

    Examples
    --------
    >>> amount_words(1, "plants"), amount_words(1204, "seeds")
    ('1 plant', '1,204 seeds')
    """
    return f"{count:,} {unit_words(count, unit)}"


def unit_words(count: int, unit: str) -> str:
    """The unit as it is written behind a count: its singular behind one.

    Parameters
    ----------
    count : int
        In the unit; only 1 and -1 are singular.
    unit : str
        The plural. One without a singular in `SINGULARS` stays as it is.

    Examples
    --------
    >>> unit_words(1, "lots"), unit_words(1, "duties"), unit_words(0, "lots"), unit_words(1, "kg")
    ('lot', 'duty', 'lots', 'kg')
    """
    return SINGULARS.get(unit, unit) if abs(count) == 1 else unit


def list_words(words: Iterable[str], last: str = "or") -> str:
    """Words joined as one says them.

    Examples
    --------
    >>> list_words(["permit", "licence", "consent"])
    'permit, licence or consent'
    """
    words = list(words)
    return f" {last} ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def number_words(value: float, digits: int = 4) -> str:
    """A measured number without an exponent, its thousands apart: a whole number from the first of `digits` significant figures up.

    Parameters
    ----------
    value : float
        Finite.
    digits : int
        Significant figures shown at least; what is before the decimal point is never rounded away.
        Beyond twelve places nothing is shown.

    Examples
    --------
    >>> number_words(16384), number_words(50000.4), number_words(289.855), number_words(0.29), number_words(0.00001)
    ('16,384', '50,000', '289.9', '0.29', '0.00001')
    """
    if not value:
        return "0"
    places = min(max(0, digits - 1 - floor(log10(abs(value)))), _MOST_PLACES)
    words = f"{value:,.{places}f}"
    return words.rstrip("0").rstrip(".") if places else words
