"""Forms of the tools of a lot. They store nothing; a percentage is typed as one."""

import math

from django import forms

from registry.calc.lots.seed_amounts import seed_to_sow, seeds_for_trees
from registry.calc.lots.seed_mass import mass_of_seeds_g, seeds_of_mass
from registry.forms.shared.fields import day_box

MASS_MOST_G = 1_000_000_000  # a thousand tonnes
_MOST_PER_KG = 100_000_000
_MOST_SEEDS = 1_000_000_000
_EXAMPLE = "An example without a source: enter your own."


def percent_box(label, initial=None, **kwargs):
    field = forms.FloatField(label=label, min_value=0.1, max_value=100, initial=initial, **kwargs)
    field.unit = "%"
    return field


def most(value, unit):
    """Options of a box for numbers up to `value`: a larger one is more likely a wrong unit or a zero too many."""
    words = f"Give {value:,} {unit} or less. Check for a zero too many, or another unit."
    return {"max_value": value, "error_messages": {"max_value": words}}


def box(label, unit="", **kwargs):
    field = forms.FloatField(label=label, **kwargs)
    field.unit = unit
    return field


class ToolForm(forms.Form):
    """`answer()` gives the result."""

    def percent(self, name):
        return round(self.cleaned_data[name] / 100, 6)


class TreesForm(ToolForm):
    trees = forms.IntegerField(label="Trees wanted alive", min_value=1, **most(10_000_000, "trees"))
    germination = percent_box("Germination")
    kept = percent_box("Seedlings left after culling", 80, help_text=_EXAMPLE)
    field_survival = percent_box("Planted trees that live", 70, help_text=_EXAMPLE)
    confidence = forms.FloatField(label="Confidence", min_value=50, max_value=99.9, initial=95)
    confidence.unit = "%"

    def clean(self):
        cleaned = super().clean()
        if not self.errors:
            share = math.prod(self.percent(name) for name in ("germination", "kept", "field_survival"))
            if cleaned["trees"] / share > _MOST_SEEDS:
                words = f"That takes more than {_MOST_SEEDS:,} seeds, which is more than this page calculates."
                self.add_error("trees", f"{words} Check the three shares, or ask for fewer trees.")
        return cleaned

    def answer(self):
        shares = [self.percent(name) for name in ("germination", "kept", "field_survival", "confidence")]
        return seeds_for_trees(self.cleaned_data["trees"], *shares)


class CountMassForm(ToolForm):
    per_kg = box("Seeds per kg", min_value=0.01, **most(_MOST_PER_KG, "seeds per kg"))
    seeds = forms.IntegerField(label="Seeds", required=False, min_value=0, **most(_MOST_SEEDS, "seeds"))
    mass_g = box("Or a mass", "g", required=False, min_value=0, **most(MASS_MOST_G, "g"))

    def clean(self):
        cleaned = super().clean()
        if not self.errors and (cleaned.get("seeds") is None) == (cleaned.get("mass_g") is None):
            self.add_error("seeds", "Give either a number of seeds or a mass.")
        return cleaned

    def answer(self):
        """(seeds, mass in gram)."""
        data = self.cleaned_data
        if data["seeds"] is not None:
            return data["seeds"], mass_of_seeds_g(data["seeds"], data["per_kg"])
        return seeds_of_mass(data["mass_g"], data["per_kg"]), data["mass_g"]


class BedForm(ToolForm):
    area_m2 = box("Area of the bed", "m²", min_value=0.01, **most(1_000_000, "m²"))
    density = box("Seedlings wanted", "per m²", min_value=0.01, **most(10_000, "per m²"))
    per_kg = box("Seeds per kg", min_value=0.01, **most(_MOST_PER_KG, "seeds per kg"))
    purity = percent_box("Purity", 100)
    germination = percent_box("Germination")
    survival = percent_box("Germinants that live until lifting", 70, help_text=_EXAMPLE)

    def answer(self):
        """Kilograms of seed."""
        data = self.cleaned_data
        shares = [self.percent(name) for name in ("purity", "germination", "survival")]
        return seed_to_sow(data["area_m2"], data["density"], data["per_kg"], *shares)


class CalendarForm(forms.Form):
    start_on = forms.DateField(label="Stratification starts on", required=False, widget=day_box())
    sow_on = forms.DateField(label="Or it is to be sown on", required=False, widget=day_box())

    def clean(self):
        cleaned = super().clean()
        if not self.errors and bool(cleaned.get("start_on")) == bool(cleaned.get("sow_on")):
            self.add_error("start_on", "Give either the day it starts or the day it is to be sown.")
        return cleaned
