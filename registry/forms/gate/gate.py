"""Forms of the gate: overriding a stop with a reason, and asking about an activity."""

import re

from django import forms
from django.utils import timezone

from registry import choices
from registry.calc.shared.screen import day_words
from registry.compliance.gate.words import ACTIVITIES
from registry.compliance.shared.counties import county_fault
from registry.compliance.shared.territories import is_in_region
from registry.forms.gate.code_lists import CodeListField, WayListField, origin_of, region_of
from registry.forms.shared.fields import CodeField, PastDateField, day_box
from registry.forms.shared.filters import FilterForm, pick, words
from registry.models import Lot, Partner
from registry.selectors.gate.code_lists import LOT_CODES, PAPER_CODES
from registry.selectors.gate.determinations import VERDICT_WORDS
from registry.selectors.movements.site_land import site_land


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


class LotAmountsField(forms.CharField):
    """Lots with how many of each and the capped papers they go under: “P25-01 = 40 under PERMIT-1, S21”.

    Its value is [(code, number or None, codes of papers)]. A lot may come twice, each part under its own paper.
    """

    def __init__(self, **kwargs):
        words = (
            "Their codes, with commas between them, each with how many: P25-01 = 40. Where papers have caps, say which part goes under "
            "which: P25-01 = 30 under PERMIT-1, P25-01 = 10 under PERMIT-2."
        )
        super().__init__(**{"required": False, "widget": forms.Textarea({"rows": 2}), "help_text": words} | kwargs)

    def to_python(self, value):
        parts = [_parts_of(part) for part in re.split(r"[;,\n]+", super().to_python(value))]
        parts = [part for part in parts if any(part)]
        faults = [
            f"“{number}” is not a number of seeds or plants. Write it like P25-01 = 40."
            for _code, number, _papers in parts
            if not _is_count(number)
        ]
        faults += [f"Name the lot before “{' under '.join(filter(None, rest))}”." for code, *rest in parts if not code]
        if faults:
            raise forms.ValidationError(faults)
        lot_of, papers_of = LOT_CODES.reader(), PAPER_CODES.reader()
        try:
            return [
                (lot_of(code)[0], int(number) if number else None, tuple(papers_of(_OR.sub(",", papers)))) for code, number, papers in parts
            ]
        except ValueError as error:
            raise forms.ValidationError(list(error.args)) from error

    def run_validators(self, value):
        """The validators of a text box take one text, not a list."""


_UNDER = re.compile(r"(?:^|\s+)under\b", re.IGNORECASE)
_OR = re.compile(r"\s+or\s+", re.IGNORECASE)


def _parts_of(text):
    """(code, number, papers) of one lot as it was typed."""
    head, *papers = _UNDER.split(text, maxsplit=1)
    code, number = head.rsplit("=", 1) if "=" in head else (head, "")
    return code.strip(), number.strip(), papers[0].strip() if papers else ""


def _is_count(text):
    return not text or (text.isascii() and text.isdigit() and len(text) <= 9)


class ActivityForm(forms.Form):
    """A question to the gate about any activity. It needs no draft of a shipment or planting."""

    activity = forms.ChoiceField(label="What you plan to do", choices=list(ACTIVITIES.items()))
    on = forms.DateField(label="On", widget=day_box(), initial=timezone.localdate)
    lots = LotAmountsField(label="Lots and how many of each")
    form = forms.ChoiceField(label="In which form", required=False, choices=lambda: [("", "not given"), *choices.material_forms()])
    pathogen = forms.BooleanField(
        label="A live pathogen is held, carried or used", required=False, help_text="Always so for an inoculation."
    )
    region = forms.CharField(label="Where (country or subdivision)", max_length=10, required=False, help_text="ISO 3166-2, such as US-VT.")
    site = forms.CharField(label="Code of the site", max_length=40, required=False, help_text="Its region and its owner follow from it.")
    partner = CodeField(Partner, label="On whose land", required=False, suggest=100)
    sent_to = CodeField(
        Partner, label="Sent to", required=False, suggest=100,
        help_text="Of a shipment: who takes it in, whose place counts too. Blank: the owner of the site.",
    )  # fmt: skip
    county = forms.CharField(label="County", max_length=60, required=False, help_text="Where no site is named.")
    people = CodeListField(label="Who does it", help_text="Their names as the paper has them.")
    receiver = forms.CharField(label="Receiving person", max_length=120, required=False, help_text="Of a shipment.")
    origin = forms.CharField(
        label="Leaves from", max_length=80, required=False,
        help_text="Such as US-VT, or US-VT/Chittenden with its county. Blank: the place in the programme settings.",
    )  # fmt: skip
    transit = WayListField(
        label="By way of", help_text="Countries, subdivisions or counties (US-NY/Essex) a shipment passes through, with commas between."
    )
    arrives_on = forms.DateField(label="Expected to arrive on", required=False, widget=day_box())

    def clean_origin(self):
        return origin_of(self.cleaned_data["origin"])

    def clean_region(self):
        return region_of(self.cleaned_data["region"])

    def clean_site(self):
        """The site on file, with its place and partner; None for a blank box."""
        code = self.cleaned_data["site"].strip()
        land = site_land(code)
        if code and land is None:
            raise forms.ValidationError(
                f"No site “{code}” is on file. Check the code, or leave this blank and say where it is and on whose land."
            )
        return land

    def clean(self):
        values = super().clean()
        land, partner, region = (values.get(name) for name in ("site", "partner", "region"))
        if land and partner and partner != land.partner:
            self.add_error("partner", f"Site {land.place.site} is on the land of {land.partner}. Leave this blank, or name another site.")
        self._check_form(values)
        leaves_on, arrives_on = values.get("on"), values.get("arrives_on")
        if leaves_on and arrives_on and arrives_on < leaves_on:
            self.add_error("arrives_on", f"It cannot arrive before {day_words(leaves_on)}, the day it leaves.")
        place = region or (partner.region if partner else "")
        if values.get("county") and (fault := county_fault(place, values["county"])):
            self.add_error("county", fault)
        if land and region and land.place.code and not is_in_region(land.place.code, region):
            self.add_error("region", f"Site {land.place.site} is in {land.place.code}. Leave this blank, or name another site.")
        return values

    def _check_form(self, values):
        """A form that does not fit a lot would answer about something else."""
        form, codes = values.get("form"), [code for code, _number, _papers in values.get("lots") or ()]
        if not form or not codes:
            return
        kind = choices.LotKind.SEED if form in choices.SEED_FORMS else choices.LotKind.STOCK
        words = dict(choices.material_forms())[form]
        for lot in Lot.objects.filter(code__in=codes).exclude(kind=kind).order_by("code"):
            fault = f"Lot {lot.code} is counted in {lot.unit}, and “{words}” does not fit it. Ask about it by itself, or leave this blank."
            self.add_error("form", fault)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("lots", "people", "transit"):
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
