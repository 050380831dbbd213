"""Boxes the census forms share."""

from django import forms

from registry.forms.shared.fields import NumberField, WholeNumberField


class MeasureBox(forms.NumberInput):
    """A box for a measurement. A number box of the browser drops what it cannot read; a text box keeps it beside its error."""

    input_type = "text"

    def __init__(self, size=6, **attrs):
        super().__init__({"size": size, "inputmode": "decimal", "autocomplete": "off"} | attrs)


class MeasureField(NumberField):
    """A measurement in the unit that stands beside its box."""

    def __init__(self, *, unit, example, **kwargs):
        kwargs.setdefault("widget", MeasureBox())
        message = f"is not a number. Write {unit} with digits and a point, such as {example}."
        super().__init__(required=False, error_messages={"invalid": message}, **kwargs)
        self.unit = unit

    def prepare_value(self, value):
        return plain_number(value)

    def to_python(self, value):
        try:
            return super().to_python(value)
        except forms.ValidationError as error:
            raise forms.ValidationError(f"“{value}” {error.messages[0]}", code="invalid") from None


class CountField(WholeNumberField):
    """A count of trees. A blank box makes no statement; it is never zero."""

    def __init__(self, **kwargs):
        kwargs.setdefault("widget", MeasureBox(inputmode="numeric"))
        super().__init__(min_value=0, error_messages={"invalid": "Write a whole number of trees."}, **kwargs)


def plain_number(value):
    """A number as a person writes it: 142, not 142.0."""
    return int(value) if isinstance(value, float) and value.is_integer() else value
