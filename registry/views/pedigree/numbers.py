"""Pedigree and shares of a tree or a lot: what the pedigree says, its drawing, the exact shares, and what was measured."""

from django.urls import reverse
from django.utils.functional import cached_property

from registry.calc.pedigree.backcross import donor_on_carrier_morgan, donor_segment_morgan
from registry.calc.pedigree.expected_shares import UNKNOWN
from registry.calc.pedigree.generation import expected_native_share
from registry.calc.pedigree.measured_share import donor_share_spread
from registry.models import Lot, PedigreeTree
from registry.selectors.duties.duty_line import Duty
from registry.selectors.pedigree.numbers import ASSUMED_WORDS, lot_numbers, tree_numbers
from registry.selectors.pedigree.picture import lot_picture, tree_picture
from registry.selectors.pedigree.reading import COUNTED_AS_NATIVE
from registry.selectors.pedigree.shares import SHARE_RELATED, selfings_of, share_lines
from registry.selectors.people.programme import chromosome_morgans
from registry.templatetags.pedigree import as_share
from registry.views.orchard.shares import LIMIT_NOTE, share_columns
from registry.views.shared.details import PART_ROWS_MAX, RecordToolView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column

_AVERAGE = "An average over many trees of this pedigree, not a promise about one tree."


def _around_a_gene(generation, morgan):
    """How much donor stays around one selected gene; "" for a generation that was intercrossed, where it can only be less."""
    if not generation.backcrosses or generation.intercrosses:
        return ""
    place = generation.backcrosses, morgan / 2, morgan / 2
    return (
        f": of a gene in the middle of a chromosome of {100 * morgan:g} cM, selected in every backcross, an unbroken "
        f"{100 * donor_segment_morgan(*place):.0f} cM on average and {100 * donor_on_carrier_morgan(*place):.0f} cM of that chromosome "
        "in all (Stam & Zeven 1981)"
    )


def inbreeding_words(numbers):
    """F, and what it counts as unrelated."""
    if numbers.inbreeding is None:
        return ""
    found = f"{numbers.inbreeding:.4f}".rstrip("0").rstrip(".")
    if numbers.inbreeding_at_least:
        return f"{found} or more: there are too many ancestors to calculate with, so pollen pools among them count as unrelated"
    return f"{found}; a pollen pool counts as the mean of its trees, unknown parents and outside pollen count as unrelated"


class PedigreeNumbersView(RecordToolView):
    """A page says how it reads its record: `numbers` and `picture`."""

    template_name = "registry/pedigree/pedigree_numbers.html"
    question = "What do its ancestors make it, on average?"
    title = "Pedigree and shares of {object.code}"
    facts = (
        Fact("Generation", "generation_code"),
        Fact(lambda page: page.inbreeding_label, lambda page: inbreeding_words(page.numbers)),
        Fact("Generations to the farthest founder", lambda page: page.numbers.depth),
        Fact("Founders", lambda page: f"{len(page.numbers.founders):,}"),
    )
    sections = (
        Section(
            title="Founders",
            unit="founders",
            note="Each parent gives half. A founder is a tree without a parent on record.",
            rows=lambda page: page.numbers.founders,
            columns=(
                Column(
                    "Founder", "name", kind=lambda row: "code" if row.key else None,
                    url=lambda row: row.key and reverse("pedigreetree_detail", args=[row.key]),
                ),
                Column("Species", "species", kind=lambda row: None if row.species in (UNKNOWN, COUNTED_AS_NATIVE) else "latin"),
                Column("Expected share", lambda row: as_share(row.share), "right"),
            ),
            most=PART_ROWS_MAX,
        ),
        Section(
            title="Measured shares",
            unit="shares",
            note=f"Genotyped. The expected share is a separate fact and does not change. {LIMIT_NOTE}",
            rows=lambda page: share_lines(page.object.measured_shares.select_related(*SHARE_RELATED)),
            columns=share_columns(of_column=False),
            missing="measured shares",
        ),
    )  # fmt: skip

    def answer(self):
        numbers = self.numbers
        if not numbers.founders:
            return "Nothing can be calculated until the pedigree is corrected."
        words = f"Expected: {as_share(numbers.native)} native species, {as_share(numbers.donor)} donor species"
        rest = ((numbers.other, "other species"), (numbers.not_known - numbers.other, "not known"))
        return ", ".join([words, *(f"{as_share(share)} {what}" for share, what in rest if share)]) + "."

    @cached_property
    def generation_share(self):
        """The native share that the stated generation averages; None without a generation that says."""
        return expected_native_share(self.object.generation) if self.object.generation else None

    def about_average(self):
        """Between what shares single trees are, for a generation that says so; else what an average is."""
        generation, native = self.object.generation, self.generation_share
        if native is None or generation.code in ("native", "donor"):
            return _AVERAGE
        if generation.code == "F1":
            return "Every tree of a first cross between two pure trees is 1/2 native."
        morgans = chromosome_morgans()
        selfings = selfings_of([self.object])[self.object]
        spread = donor_share_spread(generation, morgans, selfings)
        low, high = max(0.0, float(native) - spread), min(1.0, float(native) + spread)
        how = f"unselected{', selfed' if selfings else ''}, {len(morgans)} chromosomes of {morgans[0]:g} Morgan"
        return (
            f"{generation.code} averages {native}; most single trees are between {low:.2f} and {high:.2f} native (two standard "
            f"deviations, {how}; Hill 1993). Selected trees hold more of the donor around the genes they were selected "
            f"for{_around_a_gene(generation, morgans[0])}."
        )

    def get_due(self):
        numbers, stated = self.numbers, self.generation_share
        due = [Duty("odd", problem) for problem in numbers.problems]
        if numbers.assumed:
            due.append(Duty("info", f"{as_share(numbers.assumed)} is of unknown parents: {ASSUMED_WORDS}."))
        if stated is None or not numbers.founders or numbers.native_inside is None:
            return due
        words = f"Its generation {self.object.generation.code} averages {stated} native; its parents give {numbers.native_inside}"
        if stated != numbers.native_inside:
            outside = "" if numbers.native_inside == numbers.native else " without the declared outside pollen"
            due.append(Duty("odd", f"{words}{outside}. Check generation and parents."))
        elif not numbers.not_known and stated != numbers.native:
            due.append(Duty("info", f"{words} too; with the declared outside pollen it is {numbers.native}."))
        return due


class TreeNumbersView(PedigreeNumbersView):
    model = PedigreeTree
    action = "pedigree.view"
    inbreeding_label = "Inbreeding coefficient"

    numbers = cached_property(lambda page: tree_numbers(page.object))

    def picture(self):
        return tree_picture(self.object)


class LotNumbersView(PedigreeNumbersView):
    model = Lot
    action = "lot.view"
    inbreeding_label = "Expected inbreeding of its seed"
    actions = (Action("Diversity of this lot", "lot_diversity", "lot.view"),)

    numbers = cached_property(lambda page: lot_numbers(page.object))

    def picture(self):
        return lot_picture(self.object)
