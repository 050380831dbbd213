"""The filters of the result pages, as a sentence: survival by site and lineage, lineage taken as lot, at all sites …"""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from plantings.calc.census.measurements import DIAMETER_AT, HEIGHT, MEASUREMENTS
from plantings.calc.survival.census_choice import AGE, CensusChoice, read_census_choice
from plantings.calc.survival.groups import CHECK, GROUPINGS, LEVEL_FIRST_SHOWN, LEVELS, TEST, grouping_choices, level_choices
from plantings.models import Site
from plantings.selectors.census.asked import own_measurements
from plantings.selectors.survival.rounds import NOT_KNOWN, SurvivalFilter
from registry.selectors.shared.local_text import local_text

VIEWS = {"bars": _("bars"), "heat": _("heat table"), "curve": _("over the seasons"), "causes": _("causes of death")}
ORDERS = {"label": _("label"), "survival": _("survival, highest first")}
DEFAULTS = {"by": "-".join(GROUPINGS[0]), "level": LEVEL_FIRST_SHOWN}
LINEAGES_LEVEL = "mother"


def translated(listed):
    """The choices that pure code lists, in the language of the reader."""
    return [(code, local_text(words)) for code, words in listed]


class SiteChoice(forms.ModelChoiceField):
    def label_from_instance(self, site):
        return str(site)


class SurvivalFilters(forms.Form):
    by = forms.ChoiceField(label=_("survival by"), choices=lambda: translated(grouping_choices()))
    level = forms.ChoiceField(label=_("lineage taken as"), choices=lambda: translated(level_choices()))
    site = SiteChoice(Site.objects.none(), label=_("at"), required=False, to_field_name="code", empty_label=_("all sites"))
    jurisdiction = forms.ChoiceField(label=_("in"), required=False)
    role = forms.ChoiceField(
        label=_("of"),
        required=False,
        choices=[("", _("trees under test and checks")), (TEST, _("trees under test only")), (CHECK, _("checks only"))],
    )
    order = forms.ChoiceField(label=_("in the order of"), required=False, choices=list(ORDERS.items()))
    open = forms.BooleanField(label=_("including censuses that are not complete"), required=False)
    then = forms.BooleanField(label=_("with the figure as recorded then"), required=False)
    at = forms.CharField(required=False, max_length=20, widget=forms.HiddenInput)
    view = forms.ChoiceField(required=False, choices=list(VIEWS.items()), widget=forms.HiddenInput)
    planting = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)
    of_level = forms.ChoiceField(required=False, choices=list(LEVELS.items()), widget=forms.HiddenInput)
    of_lineage = forms.CharField(required=False, max_length=400, strip=False, widget=forms.HiddenInput)

    def __init__(self, user, data):
        given = data.copy()
        for name, value in DEFAULTS.items():
            if not given.get(name):
                given[name] = value
        if given.get("season") and not given.get("at"):  # addresses of earlier editions
            given["at"] = CensusChoice(AGE, given["season"]).code
        super().__init__(given)
        sites = Site.objects.for_user(user)
        self.fields["site"].queryset = sites
        codes = sites.order_by("jurisdiction").values_list("jurisdiction", flat=True).distinct()
        self.fields["jurisdiction"].choices = [("", _("all jurisdictions")), *((code or NOT_KNOWN, code or _(NOT_KNOWN)) for code in codes)]

    def clean_at(self):
        code = self.cleaned_data["at"]
        try:
            return read_census_choice(code) if code else None
        except ValueError as error:
            raise ValidationError(str(error)) from None

    @property
    def by_words(self):
        return tuple(self.cleaned_data["by"].split("-"))

    @property
    def within(self):
        """(level, label) of the one lineage that is shown, or None."""
        level, label = self.cleaned_data["of_level"], self.cleaned_data["of_lineage"]
        return (level, label) if level and label else None

    @property
    def limits(self):
        given = self.cleaned_data
        site = given["site"].code if given["site"] else ""
        return SurvivalFilter(site, given["jurisdiction"], given["role"], self.within, given["open"], given["planting"])

    @property
    def problems(self):
        """What could not be read, as sentences: label and message."""
        return [f"{self[name].label}{_(':')} {message}" for name, messages in self.errors.items() for message in messages]


class MeasuredFilters(SurvivalFilters):
    """The filters of one measurement: the measurement, and those of survival without what is about survival only."""

    order = then = view = None
    measure = forms.ChoiceField(label=_("the measurement"))
    by = forms.ChoiceField(label=_("by"), choices=lambda: translated(grouping_choices()))
    field_order = ("measure", "by")

    def __init__(self, user, data):
        given = data.copy()
        self._known = {item.field: item for item in (*MEASUREMENTS, *own_measurements())}
        if not given.get("measure"):
            given["measure"] = HEIGHT.field
        super().__init__(user, given)
        self.fields["measure"].choices = [
            (field, f"{item.label} ({field})" if item.is_own else _(item.label)) for field, item in self._known.items()
        ]

    @property
    def measurement(self):
        return self._known[self.cleaned_data["measure"]]


class LineageFilters(SurvivalFilters):
    """The filters of lineages beside the checks: those of survival, without what would take the checks or other lineages away."""

    by = order = then = view = role = of_level = of_lineage = None
    population = forms.ChoiceField(label=_("of"), required=False, choices=[("", _("planted trees")), ("sown", _("seed sown in place"))])
    level = forms.ChoiceField(label=_("lineage taken as"), choices=lambda: translated(level_choices()))
    field_order = ("level", "population")

    def __init__(self, user, data):
        given = data.copy()
        if not given.get("level"):
            given["level"] = LINEAGES_LEVEL
        super().__init__(user, given)

    within = None

    @property
    def sown(self):
        return self.cleaned_data["population"] == "sown"

    @property
    def limits(self):
        given = self.cleaned_data
        return SurvivalFilter(
            site=given["site"].code if given["site"] else "", jurisdiction=given["jurisdiction"], open_rounds=given["open"],
            planting=given["planting"],
        )  # fmt: skip


class LifetimeFilters(LineageFilters):
    """The filters of life tables: those of lineages without the moment, since a life table shows every age."""

    at = None

    def clean_at(self):
        return None


class GrowthFilters(LifetimeFilters):
    """The filters of growth: those of life tables, and the measurement, which is a number."""

    measure = forms.ChoiceField(label=_("the measurement"))
    field_order = ("measure", "level", "population")

    def __init__(self, user, data):
        given = data.copy()
        self._known = {item.field: item for item in (*MEASUREMENTS, *own_measurements()) if not item.classes and item is not DIAMETER_AT}
        if not given.get("measure"):
            given["measure"] = HEIGHT.field
        super().__init__(user, given)
        self.fields["measure"].choices = [
            (field, f"{item.label} ({field})" if item.is_own else _(item.label)) for field, item in self._known.items()
        ]

    @property
    def measurement(self):
        return self._known[self.cleaned_data["measure"]]


class SeasonFilter(forms.Form):
    season = forms.IntegerField(label=_("growing seasons completed"), required=False, min_value=0, max_value=200)
