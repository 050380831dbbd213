"""One lineage with everything on file of it: its sites at every age beside the checks, its lots and mothers, causes and growth."""

from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from plantings.calc.census.measurements import Measurement
from plantings.calc.survival.census_choice import AGE, LATEST, CensusChoice
from plantings.calc.survival.groups import CHECK, LINEAGE, TEST
from plantings.calc.survival.measured import Spread
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import NATIVE, STANDARDS, survival_table_rows
from plantings.selectors.census.asked import measured_numbers
from plantings.selectors.survival.causes import survival_causes
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.measured import measured_table
from plantings.selectors.survival.rounds import rounds_in_scope
from plantings.selectors.survival.survival import GroupLabels, read_tallies
from registry.models import Lot, PedigreeTree
from registry.selectors.identity.descent import linked
from registry.selectors.orchard.diversity import group_diversity
from registry.selectors.pedigree.lineage import lot_lineages

__all__ = ["MotherOfLineage", "OneLineage", "SiteAges"]


@dataclass(frozen=True, slots=True)
class SiteAges:
    """One site, or all (blank), and one role there: {age: SurvivalRow}."""

    site: str
    site_name: str
    role_words: str
    is_check: bool
    figures: dict


class GrowthAtSite(NamedTuple):
    """A measured number on the living trees of the lineage at one site, and on those of the native check there, if any."""

    item: Measurement
    site: str
    sown: bool
    lineage: Spread
    check: Spread | None


@dataclass(frozen=True, slots=True)
class MotherOfLineage:
    """A mother tree of the lineage, its lots, and how many trees or seeds of them were planted or sown for the test."""

    tree: PedigreeTree
    lots: int
    planted: int


class OneLineage:
    """A lineage (`level` and `label` as in the survival table) as one person sees it; each part is read once, when it is first used."""

    def __init__(self, user, level, label):
        self.user, self.level, self.label = user, level, label
        self.filters = SurvivalFilter(within=(level, label))

    def __bool__(self):
        return bool(self.sites or (self.user.may("lot.view") and self.lots))

    @cached_property
    def _rounds(self):
        return rounds_in_scope(self.user, self.filters)

    @cached_property
    def ages(self):
        """The ages at which a planting has a usable census, in ascending order; those without a tree of this lineage are left out."""
        return tuple(age for age in self._tallies if any(tally.role == TEST for tally in self._tallies[age]))

    @cached_property
    def _tallies(self):
        """{age: tallies by site} of the plantings that hold this lineage, so its checks are those beside it."""
        moments = [CensusChoice(AGE, age) for age, _ in self._rounds.numbers(AGE)]
        chosen = [self._rounds.chosen(moment) for moment in moments]
        labels = GroupLabels(("site",), self.level, self.filters)
        read = read_tallies(self.user, self.filters, {key for of_age in chosen for key in of_age}, moments)
        found = {}
        for moment, of_age in zip(moments, chosen, strict=True):
            tallies = labels.tallies(read, of_age)
            here = {(tally.site, tally.sown) for tally in tallies if tally.role == TEST}
            found[moment.number] = [tally for tally in tallies if (tally.site, tally.sown) in here]
        return found

    @cached_property
    def site_names(self):
        return {part.site: part.site_name for parts in self._rounds.by_planting.values() for part in parts}

    @cached_property
    def sites(self):
        """SiteAges of each site and role, the checks last; before them all sites together, where there are several."""
        rows = {}
        for age in self.ages:
            for row in survival_table_rows(self._tallies[age]):
                rows.setdefault((row.keys[0], *_kind(row)), {})[age] = row
        names = {site for site, *_rest in rows}
        together = self._all_sites() if len(names) > 1 else []
        return [*together, *(_line(site, self.site_names.get(site, ""), rows[site, *kind]) for site, *kind in sorted(rows))]

    def _all_sites(self):
        rows = {}
        for age in self.ages:
            for row in survival_table_rows([tally._replace(keys=("",)) for tally in self._tallies[age]]):
                rows.setdefault(_kind(row), {})[age] = row
        return [_line("", "", rows[kind]) for kind in sorted(rows)]

    @cached_property
    def site_codes(self):
        return tuple(sorted({line.site for line in self.sites if line.site}))

    @cached_property
    def lots(self):
        """The lots of the lineage a person may see, by code."""
        keys = {pk for pk, lineage in lot_lineages().items() if getattr(lineage, self.level) == self.label}
        found = linked(Lot.objects.for_user(self.user), "pk", keys, "pk")
        return list(Lot.objects.filter(pk__in=found).select_related("mother", "taxon").order_by("code")) if found else []

    @cached_property
    def mothers(self):
        """MotherOfLineage of each mother tree on record, the one with the most planted first; bulks and outside lots have none."""
        lineages = lot_lineages(self.lots)
        codes = [lineages[lot.pk].mother for lot in self.lots]
        planted = self._planted()
        trees = {tree.code: tree for tree in PedigreeTree.objects.for_user(self.user).filter(code__in=set(codes))}
        counted = {}
        for lot, code in zip(self.lots, codes, strict=True):
            if code in trees:
                lots, count = counted.get(code, (0, 0))
                counted[code] = (lots + 1, count + planted.get(lot.code, 0))
        rows = [MotherOfLineage(trees[code], *counts) for code, counts in counted.items()]
        return sorted(rows, key=lambda row: (-row.planted, row.tree.code))

    def _planted(self):
        """{lot code: trees and seeds under test}, each planting at its latest census of any age."""
        latest = {}
        for age in self.ages:
            for tally in self._tallies[age]:
                if tally.role == TEST:
                    latest[tally.planting, tally.lot, tally.sown] = Counts(*tally.counts).planted
        planted = {}
        for (_planting, lot, _sown), count in latest.items():
            planted[lot] = planted.get(lot, 0) + count
        return planted

    @cached_property
    def diversity(self):
        """GroupDiversity of the mothers, each by what was planted of it, or alike where nothing was."""
        any_planted = any(row.planted for row in self.mothers)
        return group_diversity({row.tree.pk: row.planted if any_planted else 1 for row in self.mothers})

    @cached_property
    def causes(self):
        """[(words of a cause, trees under test)] at the latest census of each planting, the commonest first."""
        table = survival_causes(self.user, (LINEAGE,), self.level, CensusChoice(LATEST), self.filters)
        counts = {words: sum(row.trees.get(code, 0) for row in table.rows if row.role == TEST) for code, words in table.causes}
        return sorted(((words, trees) for words, trees in counts.items() if trees), key=lambda line: -line[1])

    @cached_property
    def growth(self):
        """GrowthAtSite of each measured number and site, from the living trees at the latest complete census of each planting."""
        if not self.site_codes:
            return []
        filters = SurvivalFilter(within=self.filters.within, site=self.site_codes)
        found = {}
        for item in measured_numbers():
            for row in measured_table(self.user, item, ("site",), self.level, CensusChoice(LATEST), filters).rows:
                if row.role == TEST or row.standard == NATIVE:
                    kinds = found.setdefault((item, row.keys[0], row.sown), {})
                    kinds[row.role] = row.spread
        return [
            GrowthAtSite(item, site, sown, kinds[TEST], kinds.get(CHECK)) for (item, site, sown), kinds in found.items() if TEST in kinds
        ]


def _kind(row):
    """In the order of sites: planted before sown, trees under test before their checks, the native ones first."""
    return row.sown, row.is_check, STANDARDS.index(row.standard) if row.standard else 0


def _line(site, name, figures):
    row = next(iter(figures.values()))
    return SiteAges(site, name, row.role_words, row.is_check, figures)
