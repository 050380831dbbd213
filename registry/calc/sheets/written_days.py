"""Days as people write them, by patterns that the sheet declares. No pattern is guessed, and no day of two readings."""

import datetime
import re
import unicodedata
from collections.abc import Sequence
from functools import cache

ISO_STYLE = "YYYY-MM-DD"
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
    """The regular expression of a style; None where it names no day."""
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
    needed = seen - {"time"}
    return re.compile("".join(built)) if needed in ({"year", "month", "day"}, {"year", "name", "day"}) else None


def is_day_style(style: str) -> bool:
    """Whether a text says how days are written: YYYY, YY (20YY), MM, M, Mon, DD, D, time and the signs between, or days since 1900 or 1904.

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
    """The day a text says in one style, or None."""
    if style in SPREADSHEET_DAYS:
        number = re.fullmatch(r"([0-9]{2,6})(\.[0-9]+)?", text)
        if not number or (style == "days since 1900" and int(number[1]) < _FIRST_NUMBER):
            return None
        return SPREADSHEET_DAYS[style] + datetime.timedelta(int(number[1]))
    found = _pattern(style).fullmatch(text)
    if not found:
        return None
    said = found.groupdict()
    month = _month(said["name"]) if "name" in said else int(said["month"])
    year = int(said["year"]) + (2000 if len(said["year"]) == 2 else 0)
    try:
        return datetime.date(year, month, int(said["day"])) if month else None
    except ValueError:
        return None


def read_day(text: str, styles: Sequence[str]) -> datetime.date:
    """The day a text says.

    Parameters
    ----------
    text : str
    styles : sequence of str
        How the sheet writes days; each is one that `is_day_style` knows.

    Returns
    -------
    datetime.date

    Raises
    ------
    ValueError
        No style fits, or two styles give two days; the message is the end of a sentence about the text.

    Source
    ------
    A year of two digits is of this century. No source: a definition of this programme. The spreadsheets' day 1 is 1 January 1900 or
    2 January 1904 (day 0 is the first), from memory; their 29 February 1900 never was, so earlier days by that count are refused.
    """
    days = {style: day for style in styles if (day := _read(text, style))}
    if len(set(days.values())) == 1:
        return next(iter(days.values()))
    if days:
        readings = " or ".join(f"{day} ({style})" for style, day in days.items())
        raise ValueError(f"can be {readings}; write it so that there is one reading, or declare one of these for the sheet")
    written = " or ".join(styles)
    alone = _ALONE.fullmatch(text)
    if alone:
        what = "a year without month and day" if alone[1] else "a month without a day"
        raise ValueError(f"is {what}, and this column holds days; write the day (as {written}), or leave it blank and write it in a note")
    marks = _MARKS.match(text)
    if (marks["before"] or marks["after"]) and any(_read(marks["day"].strip(), style) for style in styles):
        mark = (marks["before"] or marks["after"]).strip()
        raise ValueError(f"has “{mark}” beside the day; write the day alone, and what the mark says in a note")
    raise ValueError(f"is not a date written {written}; write it so, or declare how this file writes dates")


def write_day(day: datetime.date, style: str) -> str:
    """A day as a style writes it, so that `read_day` reads it again; one before the count of a spreadsheet begins as in ISO 8601.

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
    if style in SPREADSHEET_DAYS:
        number = (datetime.date(day.year, day.month, day.day) - SPREADSHEET_DAYS[style]).days
        return str(number) if number >= _FIRST_NUMBER else datetime.date(day.year, day.month, day.day).isoformat()
    words = {
        "YYYY": f"{day.year:04}", "YY": f"{day.year % 100:02}", "MM": f"{day.month:02}", "M": str(day.month), "DD": f"{day.day:02}",
        "D": str(day.day), "Mon": _MONTHS[day.month - 1][0][:3].capitalize(), "time": "",
    }  # fmt: skip
    return "".join(words.get(token, token) for token in _TOKEN.findall(style)).strip()
