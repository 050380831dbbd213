"""Boxes the census forms share, and those that are made from the table of measurements."""

from django import forms
from django.utils.translation import gettext, gettext_lazy

from plantings.selectors.census.asked import in_english_only
from registry.access.languages import OFFICE_LANGUAGE
from registry.forms.shared.fields import NumberField, WholeNumberField
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_number


class MeasureBox(forms.NumberInput):
    """A box for a measurement. A number box of the browser drops what it cannot read; a text box keeps it beside its error."""

    input_type = "text"

    def __init__(self, size=6, **attrs):
        super().__init__({"size": size, "inputmode": "decimal", "autocomplete": "off"} | attrs)


class _Measured:
    """A number in the unit shown beside its box. What cannot be read is quoted in the error."""

    invalid = ""

    def __init__(self, *, unit, example, **kwargs):
        kwargs.setdefault("widget", MeasureBox())
        super().__init__(required=False, **kwargs)
        self.unit, self.example = local_text(unit), example

    def prepare_value(self, value):
        typed = number_as_typed(value)
        return local_number(str(typed)) if isinstance(typed, float) else typed

    def to_python(self, value):
        try:
            return super().to_python(value)
        except forms.ValidationError:
            words = self.invalid % {"value": value, "unit": self.unit, "example": local_number(self.example)}
            raise forms.ValidationError(words, code="invalid") from None


class MeasureField(_Measured, NumberField):
    invalid = gettext_lazy("“%(value)s” is not a number. Write %(unit)s with digits and a point, such as %(example)s.")


class WholeMeasureField(_Measured, WholeNumberField):
    invalid = gettext_lazy("“%(value)s” is not a whole number. Write %(unit)s without a point, such as %(example)s.")


class CountField(WholeNumberField):
    """A count of trees. A blank box makes no statement; it is never zero."""

    def __init__(self, **kwargs):
        kwargs.setdefault("widget", MeasureBox(inputmode="numeric"))
        message = gettext_lazy("Write a whole number of trees.")
        super().__init__(min_value=0, error_messages={"invalid": message}, **kwargs)


class CodeField(forms.CharField):
    """A code of a list, typed in full or by its first letters."""

    def __init__(self, codes, *, size, **kwargs):
        self.codes = {str(code): code for code in codes}
        super().__init__(required=False, max_length=40, widget=code_box(size), **kwargs)

    def clean(self, value):
        return finish_code(super().clean(value), self.codes)


def code_box(size, **attrs):
    return forms.TextInput({"size": size, "autocomplete": "off", "spellcheck": "false", "autocapitalize": "none"} | attrs)


def finish_code(text, codes):
    """The value of a code typed in full or by its first letters, "" for a blank; ValidationError when it fits none, or several.

    `codes` is {code as it is typed: value}.
    """
    typed = text.strip().casefold().replace(" ", "_")
    if not typed:
        return ""
    if typed in codes:
        return codes[typed]
    found = [code for code in codes if code.startswith(typed)]
    if len(found) == 1:
        return codes[found[0]]
    words = gettext("“%(value)s” is not in the list. Write one of %(codes)s, or leave the box blank.")
    if found:
        words = gettext("“%(value)s” fits several codes. Write one of %(codes)s.")
    raise forms.ValidationError(words % {"value": text, "codes": ", ".join(found or codes)})


def number_as_typed(value):
    """A number as a person writes it: 142, not 142.0."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def form_box(item):
    """The box of a measurement on the form of one tree: a number with its unit, or a list of its classes in words."""
    words = {"label": local_text(item.label), "help_text": local_text(item.taken)}
    if not item.classes:
        return (WholeMeasureField if item.whole else MeasureField)(unit=item.unit, example=item.example, **words)
    listed = [
        (code, f"{local_text(label)}{gettext(':')} {local_text(meaning)}" if meaning else local_text(label))
        for code, label, meaning in item.classes
    ]
    kind = int if item.is_whole else str
    choices = [("", gettext_lazy("not looked for")), *listed]
    return forms.TypedChoiceField(required=False, coerce=kind, empty_value=item.blank, choices=choices, **words)


def grid_box(item):
    """The box of a measurement in a row of the keying grid: a number, or a code."""
    label = local_text(item.short_label)
    if item.classes:
        return CodeField(item.codes, size=min(6, max(len(str(code)) for code in item.codes)), label=label)
    kind = WholeMeasureField if item.whole else MeasureField
    return kind(unit=item.unit, example=item.example, widget=MeasureBox(len(f"{item.high:g}") + (not item.whole)), label=label)


def add_boxes(form, box, asked):
    """Give a form a box for each measurement that its round asks for, in the order of its `field_order`."""
    for item in asked:
        form.fields[item.field] = box(item)
        form.fields[item.field].in_language = OFFICE_LANGUAGE if in_english_only(item) else ""
    form.order_fields(form.field_order)
