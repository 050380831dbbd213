"""A day as it is typed on a command line."""

import datetime

from django.core.management.base import CommandError
from django.utils import timezone


def read_day(text):
    """The day a person wrote, or today."""
    try:
        return datetime.date.fromisoformat(text) if text else timezone.localdate()
    except ValueError:
        raise CommandError(f"'{text}' is no day. Write it as 2026-10-12.") from None
