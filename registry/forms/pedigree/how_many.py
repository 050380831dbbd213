"""How many to grow: what is crossed, what is wanted, with what confidence. It stores nothing."""

import math

from django import forms

from registry.calc.orchard.resistance import LOCI_MAX, cross_classes, generation_genotype
from registry.calc.pedigree.generation import EXAMPLES, Generation, parse_generation
from registry.calc.shared.screen import amount_words
from registry.forms.lots.lot_tools import percent_box

CROSSES = (
    ("backcross", "Backcross: a tree with one allele at every locus × a native tree"),
    ("intercross", "Intercross: two trees with one allele at every locus each"),
    ("parents", "Other parents, written below"),
)
WISHES = (
    ("carrying", "at least one allele at every locus (intermediate at best in a backcross)"),
    ("full", "two alleles at every locus (able to show full resistance)"),
)
_PARENT_HELP = f"A generation such as {EXAMPLES}: this means its best tree. Or the alleles at each locus, such as 2 1 0."
_MOST_WANTED = 200
_MOST_SEEDS = 20_000  # the exact number of more takes the server too long


class HowManyForm(forms.Form):
    loci = forms.IntegerField(label="Loci of resistance", min_value=1, max_value=LOCI_MAX, initial=3)
    cross = forms.ChoiceField(label="Cross", choices=CROSSES, widget=forms.RadioSelect, initial="backcross")
    mother = forms.CharField(label="Mother, for other parents", required=False, max_length=60, help_text=_PARENT_HELP)
    father = forms.CharField(label="Father, for other parents", required=False, max_length=60, help_text="The same for the father.")
    wish = forms.ChoiceField(label="What is wanted", choices=WISHES, widget=forms.RadioSelect, initial="carrying")
    wanted = forms.IntegerField(label="Wanted trees, at least", min_value=1, max_value=_MOST_WANTED, initial=1)
    confidence = forms.FloatField(label="Confidence", min_value=50, max_value=99.9, initial=95)
    germination = percent_box("Germination", 100, help_text="100 means no loss: enter your own.")
    lost = forms.FloatField(
        label="Lost before they are judged", min_value=0, max_value=99.9, initial=0, help_text="0 means no loss: enter your own."
    )
    kept = percent_box("Wanted trees you select", 100, help_text="Less than 100 when you also choose by form or growth.")

    groups = [
        ("The cross", ("loci", "cross", "mother", "father")),
        ("What is wanted", ("wish", "wanted", "confidence")),
        ("From seed to a selected tree", ("germination", "lost", "kept")),
    ]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("confidence", "lost"):
            self.fields[name].unit = "%"

    def clean(self):
        cleaned = super().clean()
        loci = cleaned.get("loci")
        if loci is None or "cross" not in cleaned:
            return cleaned
        if cleaned["cross"] == "parents":
            genotypes = [self._genotype(name, loci) for name in ("mother", "father")]
        else:
            heterozygous = generation_genotype(Generation(0, 0), loci)
            genotypes = [heterozygous, heterozygous if cleaned["cross"] == "intercross" else (0,) * loci]
        if None not in genotypes:
            self.genotypes = genotypes
            self.classes = cross_classes(*genotypes)
            if "wish" in cleaned and not self.wanted_share():
                words = "No tree of this cross can have that, however many are grown: both parents must pass it on."
                self.add_error("wish", f"{words} Choose other parents, or the other option.")
            elif not self.errors and self._seeds_on_average() > _MOST_SEEDS:
                words = f"That takes more than {_MOST_SEEDS:,} seeds even on average, which is more than this page calculates."
                self.add_error("wanted", f"{words} Ask for fewer trees or fewer loci, or enter smaller losses.")
        return cleaned

    def _genotype(self, name, loci):
        text = self.cleaned_data.get(name, "").strip()
        if not text:
            self.add_error(name, "Give the parent: a generation, or its alleles at each locus.")
            return None
        numbers = text.replace(",", " ").split()
        if all(number.isdecimal() for number in numbers):
            return self._alleles(name, numbers, loci)
        try:
            return generation_genotype(parse_generation(text), loci)
        except ValueError as error:
            self.add_error(name, str(error))
            return None

    def _alleles(self, name, numbers, loci):
        if len(numbers) != loci:
            written = f"{amount_words(len(numbers), 'loci')} {'is' if len(numbers) == 1 else 'are'} written"
            self.add_error(name, f"{written}, but the cross has {loci}. Give one number for each locus.")
        elif not set(numbers) <= {"0", "1", "2"}:
            self.add_error(name, "A tree has 0, 1 or 2 alleles at a locus. Correct the number.")
        else:
            return tuple(map(int, numbers))
        return None

    def _seeds_on_average(self):
        shares = [self.share(name) for name in ("germination", "lost", "kept")]
        return self.cleaned_data["wanted"] / (float(self.wanted_share()) * math.prod(shares))

    def wanted_share(self):
        return self.classes.full if self.cleaned_data["wish"] == "full" else self.classes.carrying_all

    def share(self, name):
        """A percentage as a share."""
        value = self.cleaned_data[name]
        return round((100 - value if name == "lost" else value) / 100, 6)
