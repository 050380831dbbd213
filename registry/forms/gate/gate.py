"""Forms of the gate: overriding a stop with a reason, and asking about an activity."""

from django import forms
from django.utils import timezone

from registry import choices
from registry.compliance.gate.words import ACTIVITIES, DISPATCH, ESTABLISH
from registry.forms.gate.code_lists import CodeListField, region_of
from registry.forms.shared.fields import CodeField, PastDateField, day_box
from registry.forms.shared.filters import FilterForm, pick, words
from registry.models import Partner
from registry.selectors.gate.code_lists import LOT_CODES
from registry.selectors.gate.determinations import VERDICT_WORDS
from registry.selectors.movements.site_land import site_land

_ASKED = [(code, label) for code, label in ACTIVITIES.items() if code not in (DISPATCH, ESTABLISH)]


def override_field():
    """The box for the lead's reason to override a stop."""
    field = forms.CharField(
        label="Override the stop: reason", required=False, widget=forms.Textarea({"rows": 3}),
        help_text="Only the programme lead. The reason stays on file, and auditors read it.",
    )  # fmt: skip
    field.optional_words = "only to override"
    return field


class GatedDayForm(forms.Form):
    """The day of something the gate decides on."""

    on = PastDateField(label="On")

    def __init__(self, *args, label="On", **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["on"].label = label


class ActivityForm(forms.Form):
    """A question to the gate about any activity but a shipment or a planting, which have their own pages."""

    activity = forms.ChoiceField(label="What you plan to do", choices=_ASKED)
    on = forms.DateField(label="On", widget=day_box(), initial=timezone.localdate)
    lots = CodeListField(label="Lots", codes=LOT_CODES, help_text="Their codes, with commas between them.")
    form = forms.ChoiceField(label="In which form", required=False, choices=lambda: [("", "not given"), *choices.material_forms()])
    pathogen = forms.BooleanField(
        label="A live pathogen is held, carried or used", required=False, help_text="Always so for an inoculation."
    )
    region = forms.CharField(label="Where (country or subdivision)", max_length=10, required=False, help_text="ISO 3166-2, such as US-VT.")
    site = forms.CharField(label="Code of the site", max_length=40, required=False, help_text="Its region and its owner follow from it.")
    partner = CodeField(Partner, label="On whose land", required=False, suggest=100)
    people = CodeListField(label="Who does it", help_text="Their names as the paper has them.")

    def clean_region(self):
        return region_of(self.cleaned_data["region"])

    def clean_site(self):
        """The site on file, with its place and partner; None for a blank box."""
        code = self.cleaned_data["site"].strip()
        land = site_land(code)
        if code and land is None:
            raise forms.ValidationError(
                f"There is no site “{code}” on file. Check the code, or leave this blank and say where it is and on whose land."
            )
        return land

    def clean(self):
        values = super().clean()
        land, partner, region = (values.get(name) for name in ("site", "partner", "region"))
        if land and partner and partner != land.partner:
            self.add_error("partner", f"Site {land.place.site} is on the land of {land.partner}. Leave this blank, or name another site.")
        if land and region and land.place.code and not f"{land.place.code}-".startswith(f"{region}-"):
            self.add_error("region", f"Site {land.place.site} is in {land.place.code}. Leave this blank, or name another site.")
        return values

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("lots", "people"):
            self.fields[name].optional_words = "if any"


class DeterminationFilters(FilterForm):
    verdict = pick("answers that say", "anything", list(VERDICT_WORDS.items()))
    activity = pick("about", "any activity", list(ACTIVITIES.items()))
    overridden = pick("and", "overridden or not", [("True", "overridden by the lead"), ("False", "not overridden")])
    text = words("with", ("subject", "override_reason"))
    exact = {"verdict": "verdict", "activity": "activity"}

    def narrow(self, queryset):
        overridden = self.cleaned_data.get("overridden")
        if overridden:
            queryset = queryset.filter(override_by__isnull=overridden == "False")
        return super().narrow(queryset)
