"""Boxes for lists of codes: what a paper covers, what a rule is about. An empty box sets no limit."""

from django import forms
from django.core.exceptions import ValidationError

from registry.forms.shared.fields import Picker
from registry.selectors.gate.code_lists import ANY_CODES, PAPER_SETS, REGION_CODES, WAY_CODES

__all__ = ["DONE_BY_HELP", "CodeListField", "ManyCodes", "WayListField", "declared_boxes", "origin_of", "region_of"]

TICKED_MOST = 7
DONE_BY_HELP = "Names, with commas between them, for papers that name who may act or are held by a person."


class CodeListField(forms.CharField):
    """A `CodeList` in one text box, with commas between the codes. Every code that cannot be is named."""

    optional_words = "blank: no limit"
    between = ", "

    def __init__(self, *, codes=ANY_CODES, **kwargs):
        self.codes = codes
        super().__init__(**{"required": False, "widget": forms.Textarea({"rows": 2})} | kwargs)

    def prepare_value(self, value):
        return self.codes.typed(value, self.between) if isinstance(value, list) else value

    def to_python(self, value):
        if isinstance(value, list):
            return value
        try:
            return self.codes.reader()(super().to_python(value))
        except ValueError as error:
            raise ValidationError(list(error.args)) from error

    def has_changed(self, initial, data):
        try:
            return (initial or []) != self.to_python(data)
        except ValidationError:
            return True

    def run_validators(self, value):
        """The validators of a text box take one text, not a list."""


class PaperSetsField(CodeListField):
    """Papers a rule asks for: a line for each, with "or" between the types of which one is enough."""

    optional_words = "blank: no paper"
    between = "\n"


class ManyCodes(forms.MultipleChoiceField):
    """Some of a list of codes: boxes to tick, or a list to search when there are more than a few. None chosen sets no limit."""

    optional_words = "none chosen: no limit"

    def __init__(self, options, **kwargs):
        super().__init__(**{"choices": options, "required": False, "widget": forms.CheckboxSelectMultiple} | kwargs)

    def get_bound_field(self, form, field_name):
        # here and not earlier: some of the lists are read from the database
        if len(list(self.choices)) > TICKED_MOST:
            self.widget = Picker()
            self.widget.choices = self.choices
        return super().get_bound_field(form, field_name)


class WayListField(CodeListField):
    """Countries, subdivisions and counties on the way, as rules write them however they were typed."""

    optional_words = "if any"

    def __init__(self, **kwargs):
        super().__init__(codes=WAY_CODES, **kwargs)


def declared_boxes(fields):
    """{name: box} of the declared fields that are lists of codes."""
    return {field.name: _box(field) for field in fields if field.codes}


def _box(field):
    said = {"label": field.label, "help_text": field.help}
    if field.codes.options:
        return ManyCodes(field.codes.options, **said)
    return (PaperSetsField if field.codes is PAPER_SETS else CodeListField)(codes=field.codes, **said)


def region_of(text):
    """A country or subdivision as typed, checked; "" for a blank box."""
    return _first(text, REGION_CODES)


def origin_of(text):
    """Where material leaves from, as typed: a country, a subdivision or a county in one, checked; "" for a blank box."""
    return _first(text, WAY_CODES)


def _first(text, codes):
    try:
        return "".join(codes.reader()(text)[:1])
    except ValueError as error:
        raise ValidationError(list(error.args)) from error
