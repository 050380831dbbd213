"""A day as it is typed on a command line."""

import datetime

from django.core.management.base import CommandError
from django.utils import timezone

FIRST_YEAR, LAST_YEAR = 1900, 2200  # as the calendar has them


def read_day(text):
    """The day a person wrote, or today. Days far off are refused: no record has them."""
    try:
        day = datetime.date.fromisoformat(text) if text else timezone.localdate()
    except ValueError:
        raise CommandError(f"'{text}' is not a day. Write it as 2026-10-12.") from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise CommandError(f"The year {day.year} is not accepted. Give a year from {FIRST_YEAR} to {LAST_YEAR}. Check '{text}'.")
    return day
