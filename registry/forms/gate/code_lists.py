"""Boxes for lists of codes: what a paper covers, what a rule is about. An empty box sets no limit."""

import re

from django import forms
from django.core.exceptions import ValidationError

from registry.compliance.gate.place_codes import check_pattern, check_region

_BETWEEN = re.compile(r"[;,\n]+")


class CodeListField(forms.CharField):
    """Codes with commas between them. `check` raises `ValueError` for one that cannot be; every wrong one is named."""

    widget = forms.Textarea
    optional_words = "blank: no limit"

    def __init__(self, *, check=None, **kwargs):
        self.check = check
        super().__init__(**{"required": False, "widget": forms.Textarea({"rows": 2})} | kwargs)

    def prepare_value(self, value):
        return ", ".join(value) if isinstance(value, list) else value

    def to_python(self, value):
        if isinstance(value, list):
            return value
        codes = [" ".join(part.split()) for part in _BETWEEN.split(super().to_python(value))]
        return list(dict.fromkeys(filter(None, codes)))

    def has_changed(self, initial, data):
        return (initial or []) != self.to_python(data)

    def validate(self, value):
        super().validate(value)
        wrong = []
        for code in value if self.check else ():
            try:
                self.check(code)
            except ValueError as error:
                wrong.append(str(error))
        if wrong:
            raise ValidationError(wrong)

    def run_validators(self, value):
        """The checks of a text box speak of one text, not of a list."""


class PlaceListField(CodeListField):
    """Place patterns: US, US-VT, US-VT/Chittenden, site:CODE, partner:CODE, each with “outside ” before it when wanted."""

    def __init__(self, **kwargs):
        super().__init__(check=check_pattern, **kwargs)


class RegionListField(CodeListField):
    """Countries and subdivisions by their ISO 3166 codes, in capitals however they were typed."""

    optional_words = "if any"

    def __init__(self, **kwargs):
        super().__init__(check=check_region, **kwargs)

    def to_python(self, value):
        return [code.upper() for code in super().to_python(value)]


class ManyCodes(forms.MultipleChoiceField):
    """Some of a short list of codes, as boxes to tick. None ticked sets no limit."""

    optional_words = "none ticked: no limit"

    def __init__(self, options, **kwargs):
        super().__init__(**{"choices": options, "required": False, "widget": forms.CheckboxSelectMultiple} | kwargs)


def known(model, field="code"):
    """A check that a record with this code is in the book."""

    def check(code):
        if not model._default_manager.filter(**{field: code}).exists():
            raise ValueError(f"There is no {model._meta.verbose_name} “{code}” in the book. Check it, or enter it first.")

    return check


def region_of(text):
    """A country or subdivision as typed, checked; "" for a blank box."""
    code = text.strip().upper()
    if code:
        try:
            check_region(code)
        except ValueError as error:
            raise ValidationError(str(error)) from error
    return code
