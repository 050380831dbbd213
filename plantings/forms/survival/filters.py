"""The choices of each page of results, as a sentence: survival by site and lineage, lineage taken as lot, at all sites …"""

from django import forms
from django.utils.translation import gettext_lazy as _

from plantings.calc.census.measurements import HEIGHT, MEASUREMENTS
from plantings.calc.survival.census_choice import AGE, LATEST, CensusChoice, read_census_choice
from plantings.calc.survival.groups import GROUPINGS, LEVEL_FIRST_SHOWN, grouping_choices
from plantings.forms.survival.choices import SurvivalChoices, translated
from plantings.selectors.census.asked import measured_numbers, own_measurements
from registry.selectors.shared.local_text import local_text

VIEWS = {"bars": _("bars"), "heat": _("heat table"), "curve": _("over the seasons"), "causes": _("causes of death")}
ORDERS = {"label": _("label"), "survival": _("survival, highest first")}
LINEAGES_LEVEL = "mother"


class SurvivalFilters(SurvivalChoices):
    usual = ("by", *SurvivalChoices.usual)
    defaults = {"by": "-".join(GROUPINGS[0]), "level": LEVEL_FIRST_SHOWN}
    field_order = ("by",)

    by = forms.ChoiceField(label=_("survival by"), choices=lambda: translated(grouping_choices()))
    order = forms.ChoiceField(label=_("in the order of"), required=False, choices=list(ORDERS.items()))
    then = forms.BooleanField(label=_("with the figure as recorded then"), required=False)
    view = forms.ChoiceField(required=False, choices=list(VIEWS.items()), widget=forms.HiddenInput)

    @property
    def by_words(self):
        return tuple(self.cleaned_data["by"].split("-"))


class MeasuredFilters(SurvivalFilters):
    """The choices of one measurement: the measurement, and those of survival without what is about survival only."""

    usual = ("measure", *SurvivalFilters.usual)
    defaults = SurvivalFilters.defaults | {"measure": HEIGHT.field}
    field_order = ("measure", "by")
    order = then = view = None

    measure = forms.ChoiceField(label=_("the measurement"))
    by = forms.ChoiceField(label=_("by"), choices=lambda: translated(grouping_choices()))

    def __init__(self, user, data):
        self._known = {item.field: item for item in (*MEASUREMENTS, *own_measurements())}
        super().__init__(user, data)
        self.fields["measure"].choices = [
            (field, f"{local_text(item.label)} ({field})" if item.is_own else local_text(item.label)) for field, item in self._known.items()
        ]

    @property
    def measurement(self):
        return self._known[self.cleaned_data["measure"]]


class LineageFilters(SurvivalChoices):
    """The choices of lineages beside the checks, without what would take the checks away."""

    defaults = {"level": LINEAGES_LEVEL}
    field_order = ("level", "population")
    role = None

    population = forms.ChoiceField(label=_("of"), required=False, choices=[("", _("planted trees")), ("sown", _("seed sown in place"))])

    @property
    def sown(self):
        return self.cleaned_data["population"] == "sown"


class LifetimeFilters(LineageFilters):
    """The choices of life tables: those of lineages without the moment, since a life table shows every age."""

    at = None

    def clean_at(self):
        return None


class GrowthFilters(LifetimeFilters):
    """The choices of growth: those of life tables, and the measurement, which is a number."""

    usual = ("measure", *LifetimeFilters.usual)
    defaults = LifetimeFilters.defaults | {"measure": HEIGHT.field}
    field_order = ("measure", "level", "population")

    measure = forms.ChoiceField(label=_("the measurement"))

    def __init__(self, user, data):
        self._known = {item.field: item for item in measured_numbers()}
        super().__init__(user, data)
        self.fields["measure"].choices = [
            (field, f"{local_text(item.label)} ({field})" if item.is_own else local_text(item.label)) for field, item in self._known.items()
        ]

    @property
    def measurement(self):
        return self._known[self.cleaned_data["measure"]]


class LongDataFilters(SurvivalChoices):
    """The choices of the long data, which has every round: those that are not complete are marked, not left out."""

    defaults = {"level": LEVEL_FIRST_SHOWN}
    at = open = None

    def clean_at(self):
        return None


class MapChoices(forms.Form):
    """At which moment the map shows each site, None for its latest age, and whether rounds that are not complete are among the figures."""

    at = forms.CharField(required=False, max_length=20)
    open = forms.BooleanField(required=False)
    season = forms.IntegerField(required=False, min_value=0, max_value=200)  # addresses of earlier editions

    def clean_at(self):
        code = self.cleaned_data["at"]
        try:
            moment = read_census_choice(code) if code else None
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None
        return None if moment is None or moment.kind == LATEST else moment

    @property
    def moment(self):
        given = self.cleaned_data
        return given["at"] or (None if given["season"] is None else CensusChoice(AGE, given["season"]))
