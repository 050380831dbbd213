"""Forms of a second measurement: the draw, its grid, a correction, the close."""

from dataclasses import fields
from types import SimpleNamespace

from django import forms

from plantings.calc.census.measurements import FIELD_FORM
from plantings.forms.census import CorrectionForm
from plantings.forms.grid import CensusGrid
from plantings.models import SecondMeasurement
from plantings.selectors.census.second import second_records
from plantings.services.census.second import row_of
from registry.forms.shared.fields import NumberField, WholeNumberField
from registry.models import Person

USUAL_PERCENT = 10  # a second crew measures 5 to 10 % again (common practice, no source)


class SecondDrawForm(forms.Form):
    measurer = forms.ModelChoiceField(
        Person.objects.none(), label="Second person", required=False, empty_label="somebody without an account",
        help_text="Of the crew. They do not see the drawn trees or their records until all are measured again.",
    )  # fmt: skip
    measured_by = forms.CharField(
        label="Name, without an account", required=False, max_length=120,
        help_text="Print the form for them, and key it in the grid of the second measurement.",
    )  # fmt: skip
    percent = NumberField(label="Share of the recorded trees (%)", required=False, min_value=0.1, max_value=100, initial=USUAL_PERCENT)
    count = WholeNumberField(label="Or a number of trees", required=False, min_value=1, help_text="Leave blank to draw the share.")

    def __init__(self, *args, census_round, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["measurer"].queryset = census_round.planting.crew.order_by("last_name", "username")

    def service_values(self):
        values = self.cleaned_data
        return values | {"percent": None} if values["count"] else values


class SecondCloseForm(forms.Form):
    reason = forms.CharField(label="Why the other trees were not measured again", max_length=200)


class SecondGrid(CensusGrid):
    """The grid of the drawn trees; it shows second measurements and no first record."""

    def __init__(self, draw, trees, every, **given):
        self.draw = draw
        super().__init__(draw.round, trees, every, **given)
        self.head.fields["observer"].required = True

    def records_of(self, trees):
        return {tree: [record] for tree, record in second_records(self.draw, trees).items()}

    def known_records(self, keys):
        return [row_of(record) for record in SecondMeasurement.objects.filter(uuid__in=keys).select_related("drawn__draw")]


class SecondCorrectionForm(CorrectionForm):
    """Corrects a second measurement. It has boxes for what the round asks for."""

    place = FIELD_FORM

    def __init__(self, *args, record, **kwargs):
        row, drawn = row_of(record), record.drawn
        said = {field.name: getattr(row, field.name) for field in fields(row)}
        super().__init__(*args, record=SimpleNamespace(round=drawn.draw.round, tree=drawn.tree, **said), **kwargs)

    def service_values(self):
        return self.changes() | {"reason": self.cleaned_data["reason"]}
