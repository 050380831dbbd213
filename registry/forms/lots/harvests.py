"""Forms of a harvest: a new lot with its first picking, and another picking of it."""

from django import forms

from registry import choices
from registry.calc.lots.seed_mass import seeds_per_kg, unit_slip
from registry.choices import LotKind, LotOrigin
from registry.forms.lots.lot_tools import MASS_MOST_G, most
from registry.forms.lots.lots import CrossForm
from registry.forms.shared.fields import CodeField, PastDateField
from registry.models import Lot, PedigreeTree, PollenPool
from registry.selectors.lots.handbook import handbook_row
from registry.selectors.lots.harvest_doubts import harvest_doubts
from registry.selectors.lots.lot_steps import lot_code_free


def note_box(label="Note"):
    return forms.CharField(label=label, required=False, widget=forms.Textarea(attrs={"rows": 2}))


def number_box(label, unit="", **kwargs):
    """A box for a measured number with its unit beside it."""
    field = forms.FloatField(label=label, required=False, **kwargs)
    field.unit = unit
    return field


def count_box(label, unit, **kwargs):
    field = forms.IntegerField(label=label, **{"min_value": 1} | kwargs)
    field.unit = unit
    return field


class HarvestFacts(forms.Form):
    """One picking: when, how many, how heavy, by whom. The form asks once about a mass that does not fit the handbook."""

    facts = ("picker", "fruits", "containers", "labels_inside_and_outside", "holder")

    on = PastDateField(label="Picked on")
    count = count_box("Seeds", "seeds")
    mass_g = number_box("Mass of these seeds", "g", min_value=0.001, **most(MASS_MOST_G, "g"))
    mass_is_right = forms.BooleanField(label="Count and mass are right as entered", required=False, widget=forms.HiddenInput)
    picker = forms.CharField(label="Picked by", max_length=80)
    fruits = forms.IntegerField(label="Fruits picked", required=False, min_value=0)
    containers = forms.IntegerField(label="Containers", min_value=1, max_value=9999, initial=1)
    labels_inside_and_outside = forms.BooleanField(label="A label inside and outside every container", required=False)
    holder = forms.CharField(label="Who holds it now", required=False, max_length=120)
    harvest_note = note_box("Note on the picking")

    harvest_groups = (
        ("What was picked", ("on", "count", "mass_g", "mass_is_right", "fruits", "picker")),
        ("Where it is now", ("containers", "labels_inside_and_outside", "holder", "harvest_note")),
    )

    def check_mass(self, taxon):
        """Ask about a mass that gives a number of seeds per kg far from the handbook of the species."""
        count, mass_g = self.cleaned_data.get("count"), self.cleaned_data.get("mass_g")
        row = handbook_row(taxon.name) if taxon and count and mass_g else None
        if not row or not row.seeds_per_kg_low or not row.seeds_per_kg_high or self.cleaned_data.get("mass_is_right"):
            return
        slip = unit_slip(seeds_per_kg(count, mass_g), row.seeds_per_kg_low, row.seeds_per_kg_high)
        if slip:
            self.add_error("mass_g", f"{slip} Correct it, or tick that it is right.")
            self.fields["mass_is_right"].widget = forms.CheckboxInput()

    def service_values(self):
        """The picking as the service takes it."""
        data = self.cleaned_data
        facts = {name: data[name] for name in self.facts}
        return {"on": data["on"], "count": data["count"], "mass_g": data["mass_g"], "note": data["harvest_note"]} | facts


class HarvestForm(HarvestFacts, CrossForm):
    """A new seed lot of one mother tree with its first picking."""

    code = forms.CharField(
        label="Lot", required=False, max_length=40, help_text="Leave blank to have it made from the year and the mother."
    )
    mother = CodeField(PedigreeTree, label="Mother tree", help_text="Its code.")
    father = CodeField(PedigreeTree, label="Father tree", required=False, help_text="Only of a controlled cross.")
    pollen_pool = CodeField(PollenPool, label="Pollen pool", required=False, suggest=100)
    parents_are_right = forms.BooleanField(label="Mother and pollen are right as entered", required=False, widget=forms.HiddenInput)

    groups = [
        ("Which tree", ("mother", "code", "year", "taxon")),
        ("Its pollen", ("cross_type", "pollen_pool", "father", "parents_are_right", "orchard_state")),
        *HarvestFacts.harvest_groups,
        ("Storage and lineage", ("storage_place", "use_by", "generation", "generation_word", "note")),
    ]
    rarely = ("orchard_state", "generation", "generation_word")

    class Meta:
        model = Lot
        fields = [
            "code", "taxon", "year", "mother", "father", "pollen_pool", "cross_type", "orchard_state", "storage_place", "use_by", "note",
        ]  # fmt: skip
        labels = {"year": "Ripening year", "note": "Note on the lot"}
        help_texts = {
            "taxon": "Leave blank to use the taxon of the mother tree.",
            "year": "Leave blank to use the year it was picked.",
            "orchard_state": "Which neighbours had been rogued when it flowered.",
            "use_by": "Leave blank to use the day of its handbook row, or 30 June after the harvest; seed that can be stored dry and cold, "
            "by the handbook, gets none. Where the storage class is not known, the shorter life is assumed (common practice, no source).",
        }

    units = {"count": "seeds", "mass_g": "g"}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.instance.kind, self.instance.origin = LotKind.SEED, LotOrigin.HARVEST
        for name in ("taxon", "year", "cross_type"):
            self.fields[name].required = False

    def clean(self):
        cleaned = super().clean()
        mother = cleaned.get("mother")
        if mother is None and "mother" not in self.errors:
            self.add_error("mother", "A harvest names its mother tree.")
        cleaned["cross_type"] = cleaned.get("cross_type") or choices.CrossType.UNKNOWN
        if mother:
            cleaned["taxon"] = cleaned.get("taxon") or mother.taxon
        if cleaned.get("on"):
            cleaned["year"] = cleaned.get("year") or cleaned["on"].year
        if mother and cleaned.get("year") and not cleaned.get("code"):
            cleaned["code"] = lot_code_free(f"S{cleaned['year'] % 100:02d}-{mother.code}"[:36])
        self.check_mass(cleaned.get("taxon"))
        self.check_parents()
        return cleaned

    def check_parents(self):
        """Ask once about a mother or a pollen pool that is odd for the year."""
        data = self.cleaned_data
        doubts = harvest_doubts(data.get("mother"), data.get("pollen_pool"), data.get("year"))
        if doubts and not data.get("parents_are_right"):
            self.add_error("parents_are_right", " ".join([*doubts, "Correct it above, or tick that it is right."]))
            self.fields["parents_are_right"].widget = forms.CheckboxInput()


class PickingForm(HarvestFacts):
    """Another picking of the same mother and year."""

    groups = HarvestFacts.harvest_groups

    def __init__(self, *args, lot, **kwargs):
        super().__init__(*args, **kwargs)
        self.lot = lot
        row = handbook_row(lot.taxon.name)
        if row and row.fruit:
            self.fields["fruits"].label = f"{row.fruit.capitalize()} picked"

    def clean(self):
        cleaned = super().clean()
        self.check_mass(self.lot.taxon)
        return cleaned
