"""A box for a date of which only the year, or the year and the month, may be known."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.functional import lazy
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from registry.calc.shared.part_dates import first_day
from registry.calc.sheets.written_days import ISO_STYLE, read_date
from registry.services.shared.past_day import not_yet_words

__all__ = ["PartDateBox", "PastPartDateBox"]

_STYLES = (ISO_STYLE, "D Mon YYYY", "Mon D, YYYY", "Mon YYYY")
_HINT = gettext_lazy("A day such as 2019-05-12, or May 2019 or 2019 where no more is known.")
_ONLY_A_PART = gettext_lazy("Only the month or year is known")
_CHOOSE_A_DAY = gettext_lazy("Choose a day")
_with_hint = lazy(lambda words, hint: format_html("{} <span data-part-date-hint>{}</span>", words, hint), SafeString)


class PartDateBox(forms.Field):
    """A day, a month or a year; its value is a `date` or a `PartDate`.

    The browser's own date box takes nothing but a day, so this is a text box. The script of the page turns it into a date box, and back at
    the press of a button: from the start where `starts_as` is "day", the usual answer, and otherwise ("part") when somebody asks for it.
    """

    starts_as = "part"

    def __init__(self, *, help_text="", **kwargs):
        words = {"data-words-part": _ONLY_A_PART, "data-words-day": _CHOOSE_A_DAY}
        widget = forms.TextInput({"autocomplete": "off", "size": 14, "data-part-date": self.starts_as} | words)
        super().__init__(**{"widget": widget, "help_text": _with_hint(help_text, _HINT)} | kwargs)

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

    starts_as = "day"

    def __init__(self, **kwargs):
        super().__init__(**{"initial": timezone.localdate} | kwargs)

    def validate(self, value):
        super().validate(value)
        if value and first_day(value) > timezone.localdate():
            raise ValidationError(not_yet_words(timezone.localdate()))
