"""The day something happened, as every record that can never be changed must have it."""

import datetime

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from registry.calc.shared.part_dates import PartDate, first_day
from registry.calc.shared.screen import day_words
from registry.selectors.shared.local_words import local_day

__all__ = ["FIRST_DAY", "day_check", "day_fault", "known_day", "not_yet_words"]

FIRST_DAY = datetime.date(1900, 1, 1)  # an earlier day is a typing error: common practice, no source


def day_fault(day):
    """Why nothing can have happened on this day, in a sentence; "" for a day that can be.

    A month or a year can be from its first day on.
    """
    if day < FIRST_DAY and first_day(day) < FIRST_DAY:
        return _("%(day)s is before %(year)s. Check the year.") % {"day": day.isoformat(), "year": FIRST_DAY.year}
    # the first question needs no time zone; it is called 100,000 times for one sheet
    if day >= datetime.date.today() and day > timezone.localdate():
        return not_yet_words(timezone.localdate())
    return ""


def not_yet_words(today):
    """What is said of a day to come. It names today, since the clock of the server may be what is wrong."""
    return _("This date has not come yet: today is %(today)s. Enter the day it happened.") % {"today": local_day(today)}


def day_check(**days):
    """Raise `ValidationError`, at its field, for a day on which nothing can have happened."""
    faults = {name: fault for name, day in days.items() if (fault := day_fault(day))}
    if faults:
        raise ValidationError(faults)


def known_day(some, why, field=None):
    """A date that something counts from. Of a month or a year raise `ValidationError`: no day is made up for it.

    `why` says in a sentence what needs a day; `field` is where it is shown.
    """
    if isinstance(some, PartDate):
        message = f"{day_words(some)} says no day. {why}"
        raise ValidationError({field: message} if field else message)
    return some
