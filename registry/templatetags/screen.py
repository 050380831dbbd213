"""Days, times and counts in templates, written as `calc.shared.screen` writes them everywhere, with months in the reader's language."""

from django import template
from django.utils import timezone

from registry.calc.shared import iso, links, screen
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount, local_unit
from registry.selectors.shared.local_words import local_day, local_moment, local_month, local_weekday

register = template.Library()


def _local(value):
    return timezone.localtime(value) if hasattr(value, "tzinfo") and timezone.is_aware(value) else value


@register.filter
def day(value):
    """'12 Oct 2026'; the day of a moment is that of the programme's clock."""
    return local_day(_local(value)) if value else ""


@register.filter
def moment(value):
    """'12 Oct 2026, 09:05'."""
    return local_moment(_local(value))


@register.filter
def month(value):
    """'October 2026'."""
    return f"{local_month(value.month)} {value.year}"


@register.filter
def month_weekday(value):
    """'October, Monday': said beside the number of the day."""
    return f"{local_month(value.month)}, {local_weekday(value)}"


@register.filter
def iso_day(value):
    return iso.iso_day(_local(value))


@register.filter
def iso_month(value):
    return iso.iso_month(value)


@register.filter
def iso_moment(value):
    return _local(value).isoformat(timespec="seconds")


@register.filter
def tel(number):
    """The address that dials a number; "" when it has no digits."""
    return links.tel_address(number)


@register.filter
def sentence(text):
    """A typed text with a full stop at its end."""
    return screen.sentence(text)


@register.filter
def amount(count, unit):
    """'1 tree', '1,204 trees'."""
    return local_amount(count, unit)


@register.filter
def local(text):
    """A text of the pure packages in the language of the reader."""
    return local_text(text)


@register.filter
def unit(count, name):
    """The unit alone, as it is written behind the count."""
    return local_unit(count, name)
