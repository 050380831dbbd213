"""How many to grow of a cross so that enough of the progeny carry the resistance."""

from fractions import Fraction

from registry.calc.orchard.resistance import expected_selected, programme_steps, seeds_to_grow
from registry.calc.pedigree.seedlings_needed import plants_needed
from registry.calc.shared.screen import amount_words, number_words
from registry.forms.pedigree.how_many import HowManyForm
from registry.templatetags.pedigree import as_share
from registry.views.shared.details import PageView
from registry.views.shared.tables import Column, ledger_table

_COLUMNS = (1, 2, 3, 4, 5, 6, 8, 10, 15)
_LOCI_SHOWN = (1, 2, 3, 4, 5, 6)
_INTERCROSS_SHOWN = 3
_BACKCROSSES_SHOWN = 3
_RAREST = Fraction(1, 20_000)  # for rarer trees the exact number takes too long to calculate

ASSUMPTIONS = (
    "The loci of resistance are unlinked and each counts alike. Loci close together on one chromosome are inherited together, and then the "
    "numbers are wrong.",
    "Resistance is incompletely dominant: one allele at every locus makes a tree intermediate, two at every locus let it show full "
    "resistance (common practice, no source).",
    "A backcross tree has one fully susceptible parent, so intermediate is the best it can be. Full resistance first appears among "
    "intercross trees that inherit it from both sides (common practice, no source).",
    "A tree that carries the alleles is known when it is judged. Scores have errors: select a few more than needed, and rate them with the "
    "checks of the day.",
    "Seeds live or die, and inherit, independently of one another. A frost or a mouse takes many at once: add a reserve to this number.",
    "The number is exact, from the binomial distribution (Sedcole 1977, Crop Sci. 17:667-668), not from the normal approximation, which "
    "is too high for one tree.",
)


class HowManyView(PageView):
    action = "growing.view"
    template_name = "registry/pedigree/how_many.html"
    title = "How many to grow"
    question = "How many seeds must be sown so that enough trees carry the resistance?"

    def get_page(self):
        form = HowManyForm(
            self.request.GET if self.request.GET else {name: field.initial for name, field in HowManyForm.base_fields.items()}
        )
        page = {"form": form, "assumptions": ASSUMPTIONS, "parts": []}
        confidence = 0.95
        if form.is_valid():
            page |= self.answer(form)
            confidence = form.share("confidence")
        page["parts"] += [self.table_part(confidence)]
        return page

    def answer(self, form):
        data, share, classes = form.cleaned_data, form.wanted_share(), form.classes
        germination, surviving, kept, sure = (form.share(name) for name in ("germination", "lost", "kept", "confidence"))
        seeds = seeds_to_grow(share, data["wanted"], sure, germination, surviving, kept)
        judged = expected_selected(seeds, 1, germination, surviving)
        least = expected_selected(seeds, share * Fraction(str(kept)), germination, surviving)
        return {
            "seeds": seeds,
            "answer": self.answer_words(seeds, data, sure),
            "facts": [
                ("Share of the progeny that has what is wanted", as_share(share), None),
                ("One tree in", number_words(float(1 / share)), None),
                ("Trees left to be judged, on average", f"{float(judged):,.1f}", None),
                ("Of these wanted and selected, on average", f"{float(least):,.1f}", None),
                ("Intermediate: at least one allele at every locus, but not two at all of them", as_share(classes.intermediate), None),
                ("Able to show full resistance: two at every locus", as_share(classes.full), None),
            ],
            "parts": [self.classes_part(classes), self.steps_part(data["loci"], sure)],
        }

    @staticmethod
    def answer_words(seeds, data, sure):
        trees = amount_words(data["wanted"], "trees")
        alleles = "two alleles" if data["wish"] == "full" else "at least one allele"
        return f"Sow {amount_words(seeds, 'seeds')} to be {100 * sure:g} % sure of at least {trees} with {alleles} at every locus."

    @staticmethod
    def classes_part(classes):
        columns = (
            Column("Alleles for resistance, of all loci", lambda row: row[0]),
            Column("Share of the progeny", lambda row: as_share(row[1]), "right"),
        )
        rows = [(number, share) for number, share in enumerate(classes.alleles) if share]
        return ledger_table(
            "What the progeny will be",
            columns,
            rows,
            unit="classes",
            note="Over all loci together; classes that cannot occur are left out.",
        )

    @staticmethod
    def steps_part(loci, sure):
        """The crosses of a programme one after the other; for each the plants that give one of the best it can have."""
        rows = [
            (code, step, _plants_words(step.full or step.carrying_all, sure)) for code, step in programme_steps(loci, _BACKCROSSES_SHOWN)
        ]
        columns = (
            Column("Progeny", lambda row: row[0]),
            Column("At least one allele at every locus", lambda row: as_share(row[1].carrying_all), "right"),
            Column("Two at every locus", lambda row: as_share(row[1].full), "right"),
            Column("Plants to judge for one of the best", lambda row: row[2], "right"),
        )
        note = (
            f"With {_loci_words(loci)}, each cross between the best trees the step before can give: intermediate up to the last backcross, "
            "full resistance from the first intercross on."
        )
        return ledger_table("Step by step", columns, rows, unit="steps", note=note)

    @staticmethod
    def table_part(confidence):
        """Plants to judge, by the share and the number wanted, without the losses before."""
        lines = [(f"backcross, {_loci_words(k)}", 2**k) for k in _LOCI_SHOWN]
        lines += [(f"intercross, two alleles at {_loci_words(k)}", 4**k) for k in range(1, _INTERCROSS_SHOWN + 1)]
        columns = [
            Column("Cross", lambda row: row[0]),
            Column("One in", lambda row: row[1], "right"),
            *(Column(f"{wanted} wanted", lambda row, wanted=wanted: row[2][wanted], "right", "number") for wanted in _COLUMNS),
        ]
        rows = [
            (words, part, {wanted: plants_needed(Fraction(1, part), wanted, confidence) for wanted in _COLUMNS}) for words, part in lines
        ]
        note = f"Plants left to be judged, for {100 * confidence:g} % confidence; germination and losses are not included."
        return ledger_table("Plants to judge", columns, rows, unit="crosses", note=note)


def _plants_words(share, sure):
    return f"{plants_needed(share, 1, sure):,}" if share >= _RAREST else "too many to calculate"


def _loci_words(number):
    return amount_words(number, "loci")
