"""Dates as people write them, by patterns that the sheet declares. No pattern is guessed, and no date of two readings."""

import datetime
import re
import unicodedata
from collections.abc import Sequence
from functools import cache

from registry.calc.shared.part_dates import PartDate, SomeDate

ISO_STYLE = "YYYY-MM-DD"
_ISO_PARTS = ("YYYY-MM", "YYYY")  # the reduced precision of ISO 8601-1, which goes with its days
SPREADSHEET_DAYS = {"days since 1900": datetime.date(1899, 12, 30), "days since 1904": datetime.date(1904, 1, 1)}
_FIRST_NUMBER = 61  # the spreadsheets that count from 1900 know a 29 February 1900, which was day 60
# English and French, without accents; "sept." and "juil." are beginnings of them
_MONTHS = (
    ("january", "janvier"), ("february", "fevrier"), ("march", "mars"), ("april", "avril"), ("may", "mai"), ("june", "juin"),
    ("july", "juillet"), ("august", "aout"), ("september", "septembre"), ("october", "octobre"), ("november", "novembre"),
    ("december", "decembre"),
)  # fmt: skip
_TOKEN = re.compile("YYYY|YY|Mon|MM|M|DD|D|time|[^A-Za-z]+|.", re.DOTALL)
_TIME = r"(?:[ T]+[0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?(?: ?[AaPp]\.?[Mm]\.?)?)?"
_ALONE = re.compile(r"([0-9]{4})|([0-9]{4}[-/.][0-9]{1,2}|[0-9]{1,2}[-/.][0-9]{4}|[^\W\d_]{3,}\.?[ -]?[0-9]{4})")
_MARKS = re.compile(r"^(?P<before>(?:ca\.?|c\.|about|vers|env\.?|[^0-9A-Za-z])\s*)?(?P<day>.*?)(?P<after>[^0-9A-Za-z.]+)?$", re.DOTALL)


@cache
def _pattern(style):
    """The regular expression of a style; None where it names no day, month or year."""
    tokens = _TOKEN.findall(style)
    strict = style.startswith("YYYY")
    built, seen = [], set()
    for number, token in enumerate(tokens):
        beside = tokens[number - 1 : number] + tokens[number + 1 : number + 2]
        glued = any(other[0].isalpha() and other != "time" for other in beside)
        two = "[0-9]{2}" if strict or glued else "[0-9]{1,2}"
        part, pattern = {
            "YYYY": ("year", "[0-9]{4}"), "YY": ("year", "[0-9]{2}"), "MM": ("month", two), "M": ("month", "[0-9]{1,2}"),
            "DD": ("day", two), "D": ("day", "[0-9]{1,2}"), "Mon": ("name", r"[^\W\d_]{3,}\.?"), "time": ("time", _TIME),
        }.get(token, ("", re.escape(token)))  # fmt: skip
        if part in seen or (not part and any(sign.isalnum() for sign in token)):
            return None
        if part:
            seen.add(part)
        built.append(f"(?P<{part}>{pattern})" if part and part != "time" else pattern)
    said = {"month" if part == "name" else part for part in seen}
    if {"month", "name"} <= seen or said == {"year"} and "YY" in tokens:
        return None
    return re.compile("".join(built)) if said - {"time"} == {"year", "month", "day"} or said in ({"year", "month"}, {"year"}) else None


def has_day(style: str) -> bool:
    """Whether a style that `is_day_style` knows writes the day, and not only the month or the year.

    Parameters
    ----------
    style : str

    Returns
    -------
    bool

    Source
    ------
    No source: a definition of this programme.
    """
    return style in SPREADSHEET_DAYS or "D" in _TOKEN.findall(style.replace("DD", "D"))


def is_day_style(style: str) -> bool:
    """Whether a text says how dates are written: YYYY, YY (20YY), MM, M, Mon, DD, D, time and the signs between; without the day, or
    without day and month, if they are not known; or days since 1900 or 1904.

    Parameters
    ----------
    style : str

    Returns
    -------
    bool

    Source
    ------
    No source: a definition of this programme.
    """
    return style in SPREADSHEET_DAYS or (len(style) <= 40 and _pattern(style) is not None)


def _month(name):
    """Number of a month by the beginning of its name; None where it fits no month, or several."""
    plain = unicodedata.normalize("NFKD", name.rstrip(".").casefold())
    plain = "".join(sign for sign in plain if not unicodedata.combining(sign))
    found = {number for number, names in enumerate(_MONTHS, start=1) if any(month.startswith(plain) for month in names)}
    return found.pop() if len(found) == 1 else None


def _read(text, style):
    """The date a text says in one style, or None."""
    if style in SPREADSHEET_DAYS:
        number = re.fullmatch(r"([0-9]{2,6})(\.[0-9]+)?", text)
        if not number or (style == "days since 1900" and int(number[1]) < _FIRST_NUMBER):
            return None
        return SPREADSHEET_DAYS[style] + datetime.timedelta(int(number[1]))
    found = _pattern(style).fullmatch(text)
    if not found:
        return None
    said = found.groupdict()
    year = int(said["year"]) + (2000 if len(said["year"]) == 2 else 0)
    try:
        if not said.keys() & {"name", "month"}:
            return PartDate(year)
        month = _month(said["name"]) if "name" in said else int(said["month"])
        if not month:
            return None
        return datetime.date(year, month, int(said["day"])) if "day" in said else PartDate(year, month)
    except ValueError:
        return None


def read_day(text: str, styles: Sequence[str]) -> datetime.date:
    """The day a text says. A year or a month is refused, even where the sheet declares them: they are not days.

    Parameters
    ----------
    text : str
    styles : sequence of str
        How the sheet writes dates; each is one that `is_day_style` knows.

    Returns
    -------
    datetime.date

    Raises
    ------
    ValueError
        No style fits, or two styles give two dates; the message is the end of a sentence about the text.

    Source
    ------
    As `read_date`.
    """
    found = _only_reading(text, styles)
    if isinstance(found, datetime.date):
        return found
    alone = _ALONE.fullmatch(text)
    if found or alone:
        what = "a year without month and day" if alone and alone[1] else "a month without a day"
        written = " or ".join(filter(has_day, styles)) or ISO_STYLE
        raise ValueError(f"is {what}, and this column holds days; write the day (as {written}), or leave it blank and write it in a note")
    return _refuse(text, styles)


def read_date(text: str, styles: Sequence[str]) -> SomeDate:
    """The day a text says, or the month or the year where it says no more.

    Parameters
    ----------
    text : str
    styles : sequence of str
        How the sheet writes dates; each is one that `is_day_style` knows. With YYYY-MM-DD, YYYY-MM and YYYY are declared too.

    Returns
    -------
    datetime.date or PartDate

    Raises
    ------
    ValueError
        No style fits, or two styles give two dates; the message is the end of a sentence about the text.

    Source
    ------
    A year of two digits is of this century. No source: a definition of this programme. The spreadsheets' day 1 is 1 January 1900 or
    2 January 1904 (day 0 is the first), from memory; their 29 February 1900 never was, so earlier days by that count are refused.
    """
    declared = (*styles, *_ISO_PARTS) if ISO_STYLE in styles else styles
    found = _only_reading(text, declared)
    if found is not None:
        return found
    alone = _ALONE.fullmatch(text)
    if alone and all(map(has_day, declared)):
        what, how = ("a year", "YYYY") if alone[1] else ("a month without a day", "YYYY-MM or Mon YYYY")
        raise ValueError(f"is {what}, and the sheet does not declare how it writes one; declare {how} beside {' or '.join(styles)}")
    return _refuse(text, declared)


def _only_reading(text, styles):
    """The date a text says in the styles that fit; None where none does. Raises ValueError where two styles read two dates."""
    found = {style: day for style in styles if (day := _read(text, style))}
    if len(set(found.values())) > 1:
        readings = " or ".join(f"{day} ({style})" for style, day in found.items())
        raise ValueError(f"can be {readings}; write it so that there is one reading, or declare one of these for the sheet")
    return next(iter(found.values()), None)


def _refuse(text, styles):
    """Say why no style reads a text. Raises ValueError."""
    written = " or ".join(styles)
    marks = _MARKS.match(text)
    if (marks["before"] or marks["after"]) and any(_read(marks["day"].strip(), style) for style in styles):
        mark = (marks["before"] or marks["after"]).strip()
        raise ValueError(f"has “{mark}” beside the date; write the date alone, and what the mark says in a note")
    raise ValueError(f"is not a date written {written}; write it so, or declare how this file writes dates")


def write_day(day: datetime.date, style: str) -> str:
    """A day as a style writes it, so that `read_day` reads it again; as in ISO 8601 where the style cannot write it: one without the
    day, or a spreadsheet's count that begins later.

    Parameters
    ----------
    day : datetime.date
    style : str

    Returns
    -------
    str

    Source
    ------
    No source: the patterns are a definition of this programme.
    """
    if not has_day(style):
        return datetime.date(day.year, day.month, day.day).isoformat()
    if style in SPREADSHEET_DAYS:
        number = (datetime.date(day.year, day.month, day.day) - SPREADSHEET_DAYS[style]).days
        return str(number) if number >= _FIRST_NUMBER else datetime.date(day.year, day.month, day.day).isoformat()
    words = {
        "YYYY": f"{day.year:04}", "YY": f"{day.year % 100:02}", "MM": f"{day.month:02}", "M": str(day.month), "DD": f"{day.day:02}",
        "D": str(day.day), "Mon": _MONTHS[day.month - 1][0][:3].capitalize(), "time": "",
    }  # fmt: skip
    return "".join(words.get(token, token) for token in _TOKEN.findall(style)).strip()
