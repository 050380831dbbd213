"""A box for a date of which only the year, or the year and the month, may be known."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.text import format_lazy
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from registry.calc.shared.part_dates import first_day
from registry.calc.sheets.written_days import ISO_STYLE, read_date
from registry.services.shared.past_day import not_yet_words

__all__ = ["PartDateBox", "PastPartDateBox"]

_STYLES = (ISO_STYLE, "D Mon YYYY", "Mon D, YYYY", "Mon YYYY")
_HINT = gettext_lazy("A day such as 2019-05-12, or May 2019 or 2019 where no more is known.")


class PartDateBox(forms.Field):
    """A day, a month or a year; its value is a `date` or a `PartDate`. The browser's own date box would ask for a day that nobody knows."""

    def __init__(self, *, help_text="", **kwargs):
        widget = forms.TextInput({"autocomplete": "off", "size": 14})
        help_text = format_lazy("{} {}", help_text, _HINT) if help_text else _HINT
        super().__init__(**{"widget": widget, "help_text": help_text} | kwargs)

    def to_python(self, value):
        text = str(value or "").strip()
        if not text:
            return None
        try:
            return read_date(text, _STYLES)
        except ValueError:
            words = _("“%(value)s” is not a date. Write a day such as 2019-05-12, a month such as May 2019, or a year.")
            raise ValidationError(words, code="invalid", params={"value": text[:40]}) from None

    def has_changed(self, initial, data):
        try:
            return self.to_python(data) != initial
        except ValidationError:
            return True


class PastPartDateBox(PartDateBox):
    """When something happened: today until another date is given, never one that is surely to come."""

    def __init__(self, **kwargs):
        super().__init__(**{"initial": timezone.localdate} | kwargs)

    def validate(self, value):
        super().validate(value)
        if value and first_day(value) > timezone.localdate():
            raise ValidationError(not_yet_words(timezone.localdate()))
