"""A box for a moment in the programme's time zone."""

from datetime import UTC, timedelta

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.shared.iso import MINUTE_PATTERN
from registry.calc.shared.screen import day_words, time_words

_MINUTE = timedelta(minutes=1)


class ZonedTimeBox(forms.DateTimeInput):
    """The browser's own box of day and time; it needs ISO to show what is stored."""

    def __init__(self):
        super().__init__(format=MINUTE_PATTERN, attrs={"type": "datetime-local"})


class ZonedTimeField(forms.Field):
    """A moment on the wall clock of the programme's zone, which is written beside the box.

    An hour that came twice because clocks were changed is taken as the first, which makes every deadline the earlier one.
    An hour that was left out is refused: no clock showed it, and which one was meant only the finder knows.
    """

    def __init__(self, *, help_text="", **kwargs):
        zone = f"Time zone: {timezone.get_default_timezone_name()}."
        super().__init__(**{"widget": ZonedTimeBox(), "help_text": f"{help_text} {zone}".strip()} | kwargs)
        self._reader = forms.DateTimeField(required=False)

    def prepare_value(self, value):
        return timezone.make_naive(value) if hasattr(value, "utcoffset") and timezone.is_aware(value) else value

    def to_python(self, value):
        with timezone.override(UTC):  # so that the reader takes the wall clock as it is written
            read = self._reader.to_python(value)
        if read is None:
            return None
        wall, zone = read.replace(tzinfo=None), timezone.get_current_timezone()
        if not _was_shown(wall, zone):
            raise ValidationError(_left_out_words(wall, zone))
        return wall.replace(tzinfo=zone, fold=0).astimezone(UTC)

    def has_changed(self, initial, data):
        try:
            return self.to_python(data) != initial
        except ValidationError:
            return True


def _was_shown(wall, zone):
    """Whether clocks of a zone ever showed this: those put forward pass over what lies between."""
    return wall.replace(tzinfo=zone, fold=0).astimezone(UTC).astimezone(zone).replace(tzinfo=None) == wall


def _left_out_words(wall, zone):
    first = last = wall.replace(second=0, microsecond=0)
    while not _was_shown(first - _MINUTE, zone):
        first -= _MINUTE
    while not _was_shown(last, zone):
        last += _MINUTE
    return (
        f"There was no {time_words(wall)} on {day_words(wall)}: the clocks went forward from {time_words(first)} to {time_words(last)}. "
        f"Give a time before {time_words(first)}, or {time_words(last)} or later."
    )
