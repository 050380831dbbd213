"""Days, times and counts in templates, written as `calc.shared.screen` writes them everywhere."""

from django import template
from django.utils import timezone

from registry.calc.shared import iso, screen

register = template.Library()


def _local(value):
    return timezone.localtime(value) if hasattr(value, "tzinfo") and timezone.is_aware(value) else value


@register.filter
def day(value):
    """'12 Oct 2026'; the day of a moment is that of the programme's clock."""
    return screen.day_words(_local(value)) if value else ""


@register.filter
def moment(value):
    """'12 Oct 2026, 09:05'."""
    return screen.moment_words(_local(value))


@register.filter
def month(value):
    """'October 2026'."""
    return f"{screen.month_words(value.month)} {value.year}"


@register.filter
def month_weekday(value):
    """'October, Monday': said beside the number of the day."""
    return f"{screen.month_words(value.month)}, {screen.WEEKDAYS[value.weekday()]}"


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
def amount(count, unit):
    """'1 tree', '1,204 trees'."""
    return screen.amount_words(count, unit)


@register.filter
def unit(count, name):
    """The unit alone, as it is written behind the count."""
    return screen.unit_words(count, name)
