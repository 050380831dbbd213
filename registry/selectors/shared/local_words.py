"""Days and months in the language of the reader, for what goes through translation: `calc.shared.screen` with Django's names of months."""

from django.utils.dates import MONTHS, MONTHS_3, WEEKDAYS

from registry.calc.shared.screen import time_words

__all__ = ["local_day", "local_moment", "local_month", "local_weekday"]


def local_day(day):
    """'12 Oct 2026'; blank for none."""
    return f"{day.day} {str(MONTHS_3[day.month]).title()} {day.year}" if day else ""


def local_moment(moment):
    """'12 Oct 2026, 09:05', in the zone the moment carries."""
    return f"{local_day(moment)}, {time_words(moment)}"


def local_month(month):
    """The name of a month by its number, from 1."""
    return str(MONTHS[month])


def local_weekday(day):
    return str(WEEKDAYS[day.weekday()])
