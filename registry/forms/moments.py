"""A box for a moment in the programme's time zone."""

from datetime import UTC

from django import forms
from django.utils import timezone


class MomentBox(forms.DateTimeInput):
    """The browser's own box of day and time; it needs ISO to show what is stored."""

    def __init__(self):
        super().__init__(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"})


class MomentField(forms.Field):
    """A moment on the wall clock of the programme's zone, which stands beside the box.

    It never refuses an hour because clocks were changed in it: an hour that came twice is taken as the first, which
    makes every deadline the earlier one; an hour that was left out is moved on by the change.
    """

    def __init__(self, *, help_text="", **kwargs):
        zone = f"Time zone: {timezone.get_default_timezone_name()}."
        super().__init__(**{"widget": MomentBox(), "help_text": f"{help_text} {zone}".strip()} | kwargs)
        self._reader = forms.DateTimeField(required=False)

    def prepare_value(self, value):
        return timezone.make_naive(value) if hasattr(value, "utcoffset") and timezone.is_aware(value) else value

    def to_python(self, value):
        with timezone.override(UTC):  # so that the reader takes the wall clock as it is written
            read = self._reader.to_python(value)
        if read is None:
            return None
        return read.replace(tzinfo=timezone.get_current_timezone(), fold=0).astimezone(UTC)

    def has_changed(self, initial, data):
        return self.to_python(data) != initial
