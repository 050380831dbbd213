"""Pedigree and shares of a tree or a lot, and the diversity of an orchard, a lot and the seed of a pollen pool."""

from urllib.parse import urlencode

from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse

from registry.calc.pedigree.expected_shares import UNKNOWN
from registry.calc.pedigree.generation import expected_native_share
from registry.calc.pedigree.inbreeding import inbreeding_of_ideal_population
from registry.calc.pedigree.measured_share import donor_share_spread
from registry.calc.shared.screen import amount_words
from registry.choices import TreeStatus
from registry.models import Lot, PedigreeTree, PollenPool
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.diversity import MATRIX_MAX, crop_of_lot, crop_of_pool, group_diversity, tree_codes
from registry.selectors.pedigree.numbers import lot_numbers, tree_numbers
from registry.selectors.pedigree.picture import lot_picture, tree_picture
from registry.selectors.pedigree.shares import share_lines
from registry.selectors.people.programme import chromosome_morgans
from registry.templatetags.pedigree import as_share
from registry.views.orchard.shares import share_columns
from registry.views.shared.generic import PageView, RecordDetailView, reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, allowed
from registry.views.shared.tables import Column, ledger_table

_AVERAGE = "An average over many trees of this pedigree, never a promise about one tree."


class PedigreeNumbersView(RecordDetailView):
    """What the pedigree says, answer first; the drawing; the exact shares; what was measured beside it."""

    template_name = "registry/pedigree/pedigree_numbers.html"
    question = "What do its ancestors make it, on average?"

    def get_title(self):
        return f"Pedigree and shares of {self.object.code}"

    def get_history(self):
        return []

    def get_trace_code(self):
        return ""

    def get_page(self):
        record, numbers = self.object, self.get_numbers()
        spread = self.spread_words()
        return {
            "numbers": numbers,
            "answer": self.answer_words(numbers),
            "spread": spread,
            "average": "" if spread else _AVERAGE,
            "due": self.get_due(numbers),
            "facts": self.get_facts(numbers),
            "picture": self.get_picture(),
            "species": numbers.species,
            "parts": [self.founders_part(numbers), self.measured_part()],
            "back": [
                (f"{record._meta.verbose_name.capitalize()} {record.code}", reverse_to(f"{record._meta.model_name}_detail", record.pk))
            ],
        }

    @staticmethod
    def answer_words(numbers):
        if not numbers.founders:
            return "Nothing can be reckoned until the pedigree is put right."
        words = f"Expected: {as_share(numbers.native)} native species, {as_share(numbers.donor)} donor species"
        rest = ((numbers.other, "other species"), (numbers.not_known - numbers.other, "not known"))
        return ", ".join([words, *(f"{as_share(share)} {what}" for share, what in rest if share)]) + "."

    def spread_words(self):
        """Between what shares single trees lie, for a generation that says so."""
        generation = self.object.generation
        native = expected_native_share(generation) if generation else None
        if native is None or generation.code in ("native", "donor"):
            return ""
        if generation.code == "F1":
            return "Every tree of a first cross between two pure trees is 1/2 native."
        morgans = chromosome_morgans()
        spread = donor_share_spread(generation, morgans)
        low, high = max(0.0, float(native) - spread), min(1.0, float(native) + spread)
        return (
            f"{generation.code} averages {native}; single trees lie mostly between {low:.2f} and {high:.2f} native (two standard "
            f"deviations, unselected, {len(morgans)} chromosomes of {morgans[0]:g} Morgan; Hill 1993). Selected trees hold more of the "
            "donor about the genes they were selected for."
        )

    def get_due(self, numbers):
        due = [Duty("odd", problem) for problem in numbers.problems]
        generation = self.object.generation
        stated = expected_native_share(generation) if generation else None
        if stated is None or not numbers.founders or numbers.native_inside is None:
            return due
        words = f"Its generation {generation.code} averages {stated} native; its parents give {numbers.native_inside}"
        if stated != numbers.native_inside:
            outside = "" if numbers.native_inside == numbers.native else " without the declared outside pollen"
            due.append(Duty("odd", f"{words}{outside}. Check generation and parents."))
        elif not numbers.not_known and stated != numbers.native:
            due.append(Duty("info", f"{words} too; with the declared outside pollen it is {numbers.native}."))
        return due

    def get_facts(self, numbers):
        return [
            ("Generation", self.object.generation_code, None),
            (self.inbreeding_label, inbreeding_words(numbers), None),
            ("Generations to the farthest founder", numbers.depth, None),
            ("Founders", f"{len(numbers.founders):,}", None),
        ]

    def founders_part(self, numbers):
        columns = (
            Column("Founder", "name", kind=lambda row: "code" if row.key else None,
                   url=lambda row: row.key and reverse("pedigreetree_detail", args=[row.key])),
            Column("Species", "species", kind=lambda row: None if row.species == UNKNOWN else "latin"),
            Column("Expected share", lambda row: as_share(row.share), "right"),
        )  # fmt: skip
        total = len(numbers.founders)
        note = "Each parent gives half. A founder is a tree with no parent in the book."
        if total > PART_ROWS_MAX:
            note += f" The first {PART_ROWS_MAX} of {total:,}."
        return ledger_table("Founders", columns, numbers.founders[:PART_ROWS_MAX], unit="founders", note=note)

    def measured_part(self):
        lines = share_lines(self.object.measured_shares.select_related("tree", "lot"))
        note = "Genotyped, beside the expected share and never in its place."
        return ledger_table(
            "Measured shares", share_columns(of_column=False), lines, unit="shares", note=note, empty="No share was measured."
        )


def inbreeding_words(numbers):
    """F, and what it counts as unrelated."""
    if numbers.inbreeding is None:
        return ""
    found = f"{numbers.inbreeding:.4f}".rstrip("0").rstrip(".")
    if numbers.inbreeding_at_least:
        return f"{found} or more: there are too many ancestors to reckon with, so pollen pools among them count as unrelated"
    return f"{found}; a pollen pool counts as the mean of its trees, unknown parents and outside pollen count as unrelated"


class TreeNumbersView(PedigreeNumbersView):
    model = PedigreeTree
    action = "pedigree.view"
    inbreeding_label = "Inbreeding coefficient"

    def get_numbers(self):
        return tree_numbers(self.object)

    def get_picture(self):
        return tree_picture(self.object)


class LotNumbersView(PedigreeNumbersView):
    model = Lot
    action = "lot.view"
    inbreeding_label = "Expected inbreeding of its seed"

    def get_numbers(self):
        return lot_numbers(self.object)

    def get_picture(self):
        return lot_picture(self.object)

    def get_page(self):
        pk = self.object.pk
        return super().get_page() | {
            "actions": allowed(self.request.user, ("Diversity of this lot", "lot.view", reverse_to("lot_diversity", pk)))
        }


# -- diversity ---------------------------------------------------------------------------------


def number_words(value):
    return f"{value:.2f}"


class DiversityMixin:
    template_name = "registry/orchard/diversity.html"

    def diversity_page(self, found, unknown=0):
        """What a GroupDiversity comes to, answer first."""
        facts = []
        if found.status_number:
            facts = [
                ("Status number", number_words(found.status_number), None),
                ("Group coancestry", f"{found.group_coancestry:.4f}", None),
                ("Effective number of contributors", number_words(found.effective_number), None),
                ("Mean inbreeding of the trees", f"{found.inbreeding:.4f}", None),
            ]
        if found.crop:
            crop = found.crop
            fathers = number_words(crop.effective_fathers) if crop.effective_fathers else "all pollen from outside"
            facts += [
                ("Status number of the seed, mothers and fathers", number_words(crop.status_number), None),
                ("Group coancestry of the seed", f"{crop.group_coancestry:.4f}", None),
                ("Effective number of fathers", fathers, None),
                ("Pollen that is of no tree of the book", f"{found.outside:.3f}", None),
            ]  # fmt: skip
        due = [Duty("odd", found.problem)] if found.problem else []
        if found.half_known:
            words = (
                f"{found.half_known:,} of the {amount_words(found.trees, 'trees')} have a parent that is no tree of the book. Unknown "
                "parents count as unrelated, so the true numbers can only be lower."
            )
            due.append(Duty("info", words))
        if unknown:
            due.append(Duty("info", f"{as_share(unknown)} of the lot has no mother in the book and is left out."))
        parts = [part for part in (self.generations_part(found), self.best_part(found)) if part]
        return {"found": found, "answer": self.answer(found), "due": due, "facts": facts, "parts": parts}

    @staticmethod
    def answer(found):
        if not found.status_number:
            return ""
        return (
            f"{amount_words(found.trees, 'trees')} as diverse as {number_words(found.status_number)} unrelated trees that are not inbred "
            "and contribute alike."
        )

    def best_part(self, found):
        if len(found.best) < 2:
            return None
        codes = tree_codes([tree for tree, _ in found.best])
        rows = sorted(((codes[tree], tree, share) for tree, share in found.best), key=lambda row: (-round(row[2], 9), row[0]))
        columns = (
            Column("Tree", lambda row: row[0], kind="code", url=lambda row: reverse("pedigreetree_detail", args=[row[1]])),
            Column("Contribution for the least coancestry", lambda row: f"{row[2]:.4f}", "right"),
        )
        note = (
            f"If the trees contributed like this, the status number would be {number_words(found.best_status_number)}. Diversity alone is "
            "looked at, not resistance or growth."
        )
        if len(rows) > PART_ROWS_MAX:
            note += f" The first {PART_ROWS_MAX} of {len(rows):,}."
        return ledger_table("Contributions for the most diversity", columns, rows[:PART_ROWS_MAX], unit="trees", note=note)

    def generations_part(self, found):
        if not found.status_number:
            return None
        number = found.crop.status_number if found.crop else found.status_number
        rows = [(t, inbreeding_of_ideal_population(max(1.0, number), t)) for t in (1, 2, 5, 10)]
        columns = (
            Column("Generations of random mating", lambda row: row[0]),
            Column("Expected inbreeding", lambda row: f"{row[1]:.3f}", "right"),
        )
        note = f"If every later generation were as diverse as {number_words(number)} unrelated trees (Falconer & Mackay 1996)."
        return ledger_table("If it went on like this", columns, rows, unit="rows", note=note)


class OrchardDiversityView(DiversityMixin, PageView):
    action = "orchard.view"
    question = "How diverse are the standing trees of the orchard?"

    def get(self, request, *args, **kwargs):
        if not request.GET.get("orchard", "").strip():
            return redirect("orchard_list")
        return super().get(request, *args, **kwargs)

    def get_page(self):
        orchard, block = (self.request.GET.get(name, "").strip() for name in ("orchard", "block"))
        trees = self.scoped(PedigreeTree).filter(orchard__iexact=orchard, status=TreeStatus.STANDING)
        if block:
            trees = trees.filter(block__iexact=block)
        if not self.scoped(PedigreeTree).filter(orchard__iexact=orchard).exists():
            raise Http404(f"No tree stands in an orchard called {orchard}.")
        mothers = trees.exclude(generation_other__iexact="native").exclude(generation_other__iexact="donor")
        found = group_diversity(dict.fromkeys(mothers.order_by("code").values_list("pk", flat=True), 1))
        place = f"{orchard}, block {block}" if block else orchard
        query = urlencode({"orchard": orchard} | ({"block": block} if block else {}))
        return {
            "title": f"Diversity of {place}",
            "note": "The standing trees of today, each contributing alike; native and donor trees are left out, since they stand there as "
            f"checks or as parents. Contributions are worked out for up to {MATRIX_MAX} trees.",
            "back": [("Plan of the orchard", f"{reverse('orchard_plan')}?{query}")],
        } | self.diversity_page(found)


class RecordDiversityView(DiversityMixin, RecordDetailView):
    def get_history(self):
        return []

    def get_trace_code(self):
        return ""

    def get_title(self):
        return f"Diversity of {self.object.code}"

    def get_page(self):
        found, unknown = self.get_diversity()
        name = self.object._meta.verbose_name.capitalize()
        back = [(f"{name} {self.object.code}", reverse_to(f"{self.object._meta.model_name}_detail", self.object.pk))]
        return {"note": self.note, "back": back} | self.diversity_page(found, unknown)


class LotDiversityView(RecordDiversityView):
    model = Lot
    action = "lot.view"
    question = "How diverse are the mothers of this lot, and its seed?"
    note = "Mothers by their part of the lot, as counted when it was mixed. Fathers as known, or as expected from the pollen pool."

    def get_diversity(self):
        return crop_of_lot(self.object)


class PoolDiversityView(RecordDiversityView):
    model = PollenPool
    action = "pedigree.view"
    question = "How diverse is the seed that came of this pollen pool?"
    note = "The mothers whose lots name the pool, each counting alike, and their expected fathers."

    def get_diversity(self):
        return crop_of_pool(self.object), 0
