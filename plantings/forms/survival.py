"""The filters of the result pages, as a sentence: survival by site and lineage, lineage taken as lot, at all sites …"""

from django import forms

from plantings.calc.survival.groups import CHECK, GROUPINGS, LEVEL_FIRST_SHOWN, TEST, grouping_choices, level_choices
from plantings.models import Site
from plantings.selectors.survival.survival import NOT_KNOWN, SurvivalFilter

VIEWS = {"bars": "bars", "heat": "heat table", "curve": "over the seasons"}
ORDERS = {"label": "label", "survival": "survival, highest first"}
DEFAULTS = {"by": "-".join(GROUPINGS[0]), "level": LEVEL_FIRST_SHOWN}


class SiteChoice(forms.ModelChoiceField):
    def label_from_instance(self, site):
        return str(site)


class SurvivalFilters(forms.Form):
    by = forms.ChoiceField(label="survival by", choices=grouping_choices)
    level = forms.ChoiceField(label="lineage taken as", choices=level_choices)
    site = SiteChoice(Site.objects.none(), label="at", required=False, to_field_name="code", empty_label="all sites")
    jurisdiction = forms.ChoiceField(label="in", required=False)
    role = forms.ChoiceField(
        label="of",
        required=False,
        choices=[("", "trees under test and checks"), (TEST, "trees under test only"), (CHECK, "checks only")],
    )
    order = forms.ChoiceField(label="in the order of", required=False, choices=list(ORDERS.items()))
    season = forms.IntegerField(required=False, min_value=0, max_value=200, widget=forms.HiddenInput)
    view = forms.ChoiceField(required=False, choices=list(VIEWS.items()), widget=forms.HiddenInput)

    def __init__(self, user, data):
        given = data.copy()
        for name, value in DEFAULTS.items():
            if not given.get(name):
                given[name] = value
        super().__init__(given)
        sites = Site.objects.for_user(user)
        self.fields["site"].queryset = sites
        codes = sites.order_by("jurisdiction").values_list("jurisdiction", flat=True).distinct()
        self.fields["jurisdiction"].choices = [("", "all jurisdictions"), *((code or NOT_KNOWN, code or NOT_KNOWN) for code in codes)]

    @property
    def by_words(self):
        return tuple(self.cleaned_data["by"].split("-"))

    @property
    def limits(self):
        site = self.cleaned_data["site"]
        return SurvivalFilter(site.code if site else "", self.cleaned_data["jurisdiction"], self.cleaned_data["role"])

    @property
    def problems(self):
        """What could not be read, as sentences: label and message."""
        return [f"{self[name].label}: {message}" for name, messages in self.errors.items() for message in messages]


class SeasonFilter(forms.Form):
    season = forms.IntegerField(label="growing seasons completed", required=False, min_value=0, max_value=200)
