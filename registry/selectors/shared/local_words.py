"""Days, months and numbers in the language of the reader, for what goes through translation: `calc.shared.screen` with the months and
the decimal sign of that language."""

import re

from django.utils.dates import MONTHS, MONTHS_3, WEEKDAYS
from django.utils.translation import get_language, gettext

from registry.calc.shared.part_dates import PartDate, SomeDate
from registry.calc.shared.screen import days_words, list_words, time_words

__all__ = [
    "has_decimal_comma",
    "local_count",
    "local_day",
    "local_days",
    "local_list",
    "local_moment",
    "local_month",
    "local_number",
    "local_value",
    "local_weekday",
]

_NUMBER = re.compile(r"[-+−]?\d{1,3}(,\d{3})+(\.\d+)?|[-+−]?\d+(\.\d+)?")
_FRENCH_SIGNS = str.maketrans({",": "\N{NO-BREAK SPACE}", ".": ","})


def has_decimal_comma():
    """Whether the reader writes 12,5: whether the page is in French."""
    return (get_language() or "").startswith("fr")


def local_day(day):
    """'12 Oct 2026', in French '12 octobre 2026' and '1er octobre 2026'; a month or a year where no more is known; blank for none."""
    if not day:
        return ""
    if isinstance(day, PartDate):
        return _local_part(day)
    if has_decimal_comma():
        return f"{'1er' if day.day == 1 else day.day} {MONTHS[day.month]} {day.year}"
    return f"{day.day} {str(MONTHS_3[day.month]).title()} {day.year}"


def _local_part(day):
    if not day.month:
        return str(day)
    return f"{MONTHS[day.month] if has_decimal_comma() else str(MONTHS_3[day.month]).title()} {day.year}"


def local_days(first, last):
    """The days from the first to the last, as `days_words` in English; in French each in full."""
    if first == last:
        return local_day(first)
    start = local_day(first) if has_decimal_comma() else days_words(first, last).split(" to ", maxsplit=1)[0]
    return gettext("%(first)s to %(last)s") % {"first": start, "last": local_day(last)}


def local_moment(moment):
    """'12 Oct 2026, 09:05', in the zone the moment carries."""
    return f"{local_day(moment)}, {time_words(moment)}"


def local_month(month):
    """The name of a month by its number, from 1."""
    return str(MONTHS[month])


def local_weekday(day):
    return str(WEEKDAYS[day.weekday()])


def local_number(words):
    """A number that is written as in English, '1,204.5', as the reader writes it: in French '1 204,5' with a no-break space."""
    return words.translate(_FRENCH_SIGNS) if has_decimal_comma() else words


def local_count(count):
    """A whole number with its thousands apart."""
    return local_number(f"{count:,}")


def local_list(words, last):
    """Words joined as one says them; `last` is the word before the last of them, in the language of the reader."""
    return list_words(map(str, words), str(last))


def local_value(value):
    """A value as it goes into a sentence: a day or a number as the reader writes it, any other text as it is."""
    if isinstance(value, SomeDate):
        return local_day(value)
    text = str(value)
    return local_number(text) if _NUMBER.fullmatch(text) else value
