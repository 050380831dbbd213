"""Forms of plantings, their rounds and counted plots, and of what was left over."""

from django import forms
from django.utils.translation import gettext_lazy as _

from plantings import choices
from plantings.forms.census_boxes import number_as_typed
from plantings.forms.sites import ComparedTexts
from plantings.forms.trees import NEW_LOT_HELP, day_wanted
from plantings.models import CensusRound, CountedPlot, Planting, Site
from plantings.selectors.sites.local_texts import PLANTING_TEXTS
from registry.access import roles
from registry.choices import leftover_outcomes
from registry.forms.gate.code_lists import DONE_BY_HELP, CodeListField
from registry.forms.shared.fields import CodeField, PastDateField, Picker, RecordForm
from registry.forms.shared.filters import FilterForm, pick, words
from registry.forms.shared.part_date_box import PartDateBox, PastPartDateBox
from registry.models import Lot, Person


class PlantingFilters(FilterForm):
    state = pick(_("plantings that are"), _("in any state"), choices.planting_states)
    supply = pick(_("planted"), _("from any supply"), choices.supplies)
    site = words(_("at"), ("site__code", "site__name"))
    text = words(_("with"), ("code", "design", "site__partner__name"))
    exact = {"state": "state", "supply": "supply"}


class PlantingForm(ComparedTexts, RecordForm):
    compared = PLANTING_TEXTS
    site = CodeField(Site, label="Site", suggest=200)
    crew = forms.ModelMultipleChoiceField(
        Person.objects.none(), label="Crew", required=False, widget=Picker(),
        help_text="A volunteer sees only the plantings they are on the crew of.",
    )  # fmt: skip
    planted_on = PartDateBox(label="Planted on", required=False)
    done_by = CodeListField(label="Who plants", help_text=DONE_BY_HELP)
    groups = [
        ("What it is", ("code", "site", "state", "planted_on", "supply", "stock_type", "trees_left_out")),
        ("How it is laid out", ("design", "spacing_m", "start_corner", "start_corner_fr", "is_compared", "walk")),
        ("Crew and papers", ("crew", "done_by", "authorizations")),
    ]
    units = {"spacing_m": "m"}

    class Meta:
        model = Planting
        fields = [
            "code", "site", "state", "planted_on", "supply", "stock_type", "trees_left_out", "design", "spacing_m", "start_corner",
            "start_corner_fr", "walk", "crew", "done_by", "authorizations", "note",
        ]  # fmt: skip
        labels = {
            "code": "Planting", "supply": "Where the plants came from", "spacing_m": "Spacing", "authorizations": "Papers",
            "trees_left_out": "Some planted trees are not on record",
        }  # fmt: skip
        widgets = {"authorizations": Picker()}
        help_texts = {
            "start_corner": "How a stranger finds it, such as: south-west, red post.",
            "start_corner_fr": "The same in French. Left blank, a page in French shows the English, marked as English.",
            "design": "Such as: complete blocks, single-tree plots.",
            "authorizations": "Which papers a planting needs is not decided here. Check with the local authority.",
            "supply": "The numbers planted are taken from there.",
            "trees_left_out": "Such as in a list that dropped the dead. The records stay, and no survival is worked out from them.",
            "note": "Not shown to the crew, so it may name lots. What they must know goes with the site: access, cautions.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["done_by"].optional_words = "if a paper names people"
        on_crew = Person.objects.filter(pk__in=self.instance.crew.values("pk")) if self.instance.pk else Person.objects.none()
        self.fields["crew"].queryset = Person.objects.filter(is_active=True, role__in=roles.ACTIONS["census.enter"]) | on_crew
        self.initial = {name: number_as_typed(value) for name, value in self.initial.items()}
        if self.instance.pk and self.instance.entries.exists():
            self.initial["site"] = self.instance.site.code  # a closed box is read by its code, like an open one
            for name in ("site", "supply"):
                self.fields[name].disabled = True
            self.fields["supply"].help_text = "Site and supply are fixed since something was planted: its numbers are drawn from there."


class RoundFilters(FilterForm):
    planting = words(_("rounds of"), ("planting__code", "planting__site__name"))
    label = words(_("in"), ("label",))
    opens = forms.DateField(label=_("opening from"), required=False, widget=forms.DateInput(attrs={"type": "date"}))
    closes = forms.DateField(label=_("closing by"), required=False, widget=forms.DateInput(attrs={"type": "date"}))
    exact = {"opens": "opens_on__gte", "closes": "closes_on__lte"}


class RoundForm(RecordForm):
    planting = CodeField(Planting, label="Planting", suggest=200, search=("site__name",))

    class Meta:
        model = CensusRound
        fields = ["planting", "label", "growing_seasons", "opens_on", "closes_on", "protocol", "protocol_version"]
        labels = {"opens_on": "Opens", "closes_on": "Closes", "protocol_version": "Protocol in words"}
        help_texts = {
            "label": "Such as 2026 autumn.",
            "growing_seasons": "The age every figure is compared at.",
            "opens_on": "The same window each year, give or take three weeks, keeps years comparable (common practice).",
            "protocol": "What the round asks for at each tree. Without one it asks for all that the field form has always had.",
            "protocol_version": "Only where no protocol is chosen. A change of method is a break in the series.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.initial["planting"] = self.instance.planting.code
            self.fields["planting"].disabled = True


class CountedPlotForm(RecordForm):
    planting = CodeField(Planting, label="Planting", suggest=200, search=("site__name",))
    lot = CodeField(Lot, label="Lot", suggest=200, help_text=NEW_LOT_HELP)
    role = forms.ChoiceField(label="Role", choices=choices.entry_roles)
    is_unknown = forms.BooleanField(
        label="Nobody knows how many",
        required=False,
        help_text="Only for old plantings. The plot then has counts over time and no survival: it is in no share, total or map.",
    )
    on = PastPartDateBox(label="Planted on, if different from the planting's day", required=False, initial=None)

    class Meta:
        model = CountedPlot
        fields = ["planting", "code", "lot", "role", "planted_count"]
        labels = {"code": "Plot", "planted_count": "Seeds or plants planted"}
        help_texts = {"planted_count": "A count. It cannot be changed afterwards, because every later count is compared with it."}

    field_order = ["planting", "code", "lot", "role", "planted_count", "is_unknown", "on"]

    def clean(self):
        values = super().clean()
        day_wanted(self, "on")
        is_unknown, number = values.get("is_unknown"), values.get("planted_count")
        if is_unknown and number is not None:
            self.add_error("planted_count", f"You ticked that nobody knows how many, and entered {number:,}. Remove one of the two.")
        elif not is_unknown and number is None and "planted_count" not in self.errors:
            self.add_error("planted_count", "Enter how many were planted, or tick that nobody knows.")
        return values


class LeftoverForm(forms.Form):
    outcome = forms.ChoiceField(label="What became of them", choices=leftover_outcomes, widget=forms.RadioSelect)
    count = forms.IntegerField(label="How many", min_value=1)
    on = PastDateField(label="On")
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 3}))
