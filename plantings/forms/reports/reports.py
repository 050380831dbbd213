"""Forms of survival reports: what a draft shows, and issuing it."""

from django import forms
from django.core.exceptions import ValidationError

from plantings.calc.survival.census_choice import read_census_choice
from plantings.calc.survival.groups import level_choices
from plantings.forms.survival.filters import LINEAGES_LEVEL
from plantings.models import IssuedReport
from plantings.selectors.reports.reports import in_force
from registry.forms.prints.issued import PageForm

_YEARS = (2000, 2200)


class ReportChoices(forms.Form):
    """What a draft shows; a box that the address leaves out has its usual value."""

    year = forms.IntegerField(label="the report of the year", min_value=_YEARS[0], max_value=_YEARS[1])
    level = forms.ChoiceField(label="with lineage taken as", choices=level_choices)
    at = forms.CharField(
        label="at the census", required=False, max_length=20,
        widget=forms.TextInput(attrs={"placeholder": "age-3, season-2025 or latest", "size": 24}),
    )  # fmt: skip
    replaces = forms.ModelChoiceField(
        IssuedReport.objects.none(), label="in place of", required=False, empty_label="no other report"
    )  # fmt: skip

    def __init__(self, user, data, *, year):
        given = data.copy()
        for name, value in {"year": str(year), "level": LINEAGES_LEVEL}.items():
            if not given.get(name):
                given[name] = value
        super().__init__(given)
        self.fields["replaces"].queryset = in_force(user)

    def clean_at(self):
        code = self.cleaned_data["at"].strip()
        try:
            return read_census_choice(code).code if code else ""
        except ValueError as error:
            raise ValidationError(str(error)) from None

    def address(self):
        """The choices as the parameters of an address."""
        found = self.cleaned_data
        kept = {name: found[name] for name in ("year", "level", "at") if found[name]}
        return kept | ({"replaces": found["replaces"].pk} if found["replaces"] else {})


class IssueForm(PageForm):
    """The page that it is drawn on, and why it replaces an earlier report, where it does."""

    reason = forms.CharField(label="Why it replaces the earlier report", max_length=200)
    field_order = ("reason", "page")

    def __init__(self, *args, replaces=None, **kwargs):
        super().__init__(*args, **kwargs)
        if replaces is None:
            del self.fields["reason"]
