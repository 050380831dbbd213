"""The diversity of an orchard, of a lot and of the seed of a pollen pool."""

from urllib.parse import urlencode

from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.functional import cached_property

from registry.calc.pedigree.inbreeding import inbreeding_of_ideal_population
from registry.calc.shared.screen import amount_words
from registry.models import Lot, PedigreeTree, PollenPool
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.diversity import MATRIX_MAX, crop_of_lot, crop_of_pool, group_diversity, left_out_words, tree_codes
from registry.selectors.orchard.orchard import orchard_group
from registry.templatetags.pedigree import as_share
from registry.views.shared.details import PART_ROWS_MAX, PageView, RecordToolView
from registry.views.shared.sections import Fact, Section, draw_sections, drawn
from registry.views.shared.tables import Column

_GENERATIONS_AHEAD = (1, 2, 5, 10)


def _two_places(value):
    return f"{value:.2f}"


def _of_trees(words):
    """A fact of the trees as a group: `words` is a function of a GroupDiversity; blank where no number can be given."""
    return lambda page: words(page.diversity) if page.diversity.status_number else ""


def _of_seed(words):
    """A fact of the seed of the group: `words` is a function of a GroupDiversity."""
    return lambda page: words(page.diversity) if page.diversity.crop else ""


def _fathers_words(found):
    return _two_places(found.crop.effective_fathers) if found.crop.effective_fathers else "all pollen from outside"


DIVERSITY_FACTS = (
    Fact("Status number", _of_trees(lambda found: _two_places(found.status_number))),
    Fact("Group coancestry", _of_trees(lambda found: f"{found.group_coancestry:.4f}")),
    Fact("Effective number of contributors", _of_trees(lambda found: _two_places(found.effective_number))),
    Fact("Mean inbreeding of the trees", _of_trees(lambda found: f"{found.inbreeding:.4f}")),
    Fact("Status number of the seed, mothers and fathers", _of_seed(lambda found: _two_places(found.crop.status_number))),
    Fact("Group coancestry of the seed", _of_seed(lambda found: f"{found.crop.group_coancestry:.4f}")),
    Fact("Effective number of fathers", _of_seed(_fathers_words)),
    Fact("Pollen from trees not on record", _of_seed(lambda found: f"{found.outside:.3f}")),
)

DIVERSITY_SECTIONS = (
    Section(
        title="If every later generation were the same",
        unit="rows",
        rows=lambda page: page.generations_ahead(),
        columns=(
            Column("Generations of random mating", lambda row: row[0]),
            Column("Expected inbreeding", lambda row: f"{row[1]:.3f}", "right"),
        ),
        note=lambda page, _rows: f"For a status number of {_two_places(page.number_ahead)} in every generation (Falconer & Mackay 1996).",
    ),
    Section(
        title="Contributions for the most diversity",
        unit="trees",
        rows=lambda page: page.best_contributions(),
        columns=(
            Column("Tree", lambda row: row[0], kind="code", url=lambda row: reverse("pedigreetree_detail", args=[row[1]])),
            Column("Contribution for the least coancestry", lambda row: f"{row[2]:.4f}", "right"),
        ),
        note=lambda page, _rows: (
            "If the trees contributed like this, the status number would be "
            f"{_two_places(page.diversity.best_status_number)}. This looks at diversity alone, not at resistance or growth."
        ),
        most=PART_ROWS_MAX,
    ),
)


class DiversityPage:
    """What a GroupDiversity comes to, answer first. A page says what it looks at: `diversity`, and `unknown`, the share left out."""

    template_name = "registry/orchard/diversity.html"
    unknown = 0
    facts = DIVERSITY_FACTS
    sections = DIVERSITY_SECTIONS

    def answer(self):
        found = self.diversity
        if not found.status_number:
            return ""
        if found.trees == 1:
            return f"1 tree alone. Its status number is {_two_places(found.status_number)}."
        return (
            f"{amount_words(found.trees, 'trees')} as diverse as {_two_places(found.status_number)} unrelated trees that are not inbred "
            "and contribute alike."
        )

    def get_due(self):
        found = self.diversity
        due = [Duty("odd", found.problem)] if found.problem else []
        if found.half_known:
            words = (
                f"{found.half_known:,} of the {amount_words(found.trees, 'trees')} {'has' if found.half_known == 1 else 'have'} a parent "
                "that is not a tree on record. Unknown parents count as unrelated, so the true numbers can only be lower."
            )
            due.append(Duty("info", words))
        if found.pools_unrelated:
            words = "There are too many trees to calculate with pollen pools: those among the ancestors count as unrelated, which flatters."
            due.append(Duty("info", words))
        if self.unknown:
            due.append(Duty("info", f"{as_share(self.unknown)} of the lot has no mother on record and is left out."))
        return due

    @property
    def number_ahead(self):
        found = self.diversity
        return found.crop.status_number if found.crop else found.status_number

    def generations_ahead(self):
        if not self.diversity.status_number:
            return []
        return [(t, inbreeding_of_ideal_population(max(1.0, self.number_ahead), t)) for t in _GENERATIONS_AHEAD]

    def best_contributions(self):
        best = self.diversity.best
        if len(best) < 2:
            return []
        codes = tree_codes([tree for tree, _ in best])
        return sorted(((codes[tree], tree, share) for tree, share in best), key=lambda row: (-round(row[2], 9), row[0]))


class OrchardDiversityView(DiversityPage, PageView):
    action = "orchard.view"
    question = "How diverse are the standing trees of the orchard?"
    note = f"The trees standing today, each contributing alike. Contributions are calculated for up to {MATRIX_MAX} trees."

    def get(self, request, *args, **kwargs):
        self.orchard, self.block = (request.GET.get(name, "").strip() for name in ("orchard", "block"))
        if not self.orchard:
            return redirect("orchard_list")
        if not self.trees.exists():
            raise Http404(f"There is no tree in an orchard called {self.orchard}.")
        return super().get(request, *args, **kwargs)

    trees = property(lambda page: page.scoped(PedigreeTree).filter(orchard__iexact=page.orchard))

    @cached_property
    def group(self):
        trees = self.trees.filter(block__iexact=self.block) if self.block else self.trees
        return orchard_group(trees)

    diversity = cached_property(lambda page: group_diversity(dict.fromkeys(page.group.counted, 1)))

    def get_due(self):
        """Which trees of the orchard are not counted, and why."""
        return [*super().get_due(), *(Duty("info", words) for words in left_out_words(self.group))]

    @property
    def record_link(self):
        query = {"orchard": self.orchard} | ({"block": self.block} if self.block else {})
        return "Plan of the orchard", f"{reverse('orchard_plan')}?{urlencode(query)}"

    def get_page(self):
        parts, _missing = draw_sections(self, self.sections)
        place = f"{self.orchard}, block {self.block}" if self.block else self.orchard
        return {"title": f"Diversity of {place}", "due": self.get_due(), "facts": drawn(self, self.facts), "parts": parts}


class RecordDiversityView(DiversityPage, RecordToolView):
    title = "Diversity of {object.code}"


class LotDiversityView(RecordDiversityView):
    model = Lot
    action = "lot.view"
    question = "How diverse are the mothers of this lot, and its seed?"
    note = "Mothers by their part of the lot, as counted when it was mixed. Fathers as known, or as expected from the pollen pool."

    diversity_and_unknown = cached_property(lambda page: crop_of_lot(page.object))
    diversity = property(lambda page: page.diversity_and_unknown[0])
    unknown = property(lambda page: page.diversity_and_unknown[1])


class PoolDiversityView(RecordDiversityView):
    model = PollenPool
    action = "pedigree.view"
    question = "How diverse is the seed that came from this pollen pool?"
    note = "The mothers whose lots name the pool, each counting alike, and their expected fathers."

    diversity = cached_property(lambda page: crop_of_pool(page.object))
