"""One lineage with everything on file of it: its sites at every age beside the checks, its lots and mothers, causes and growth."""

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from plantings.calc.census.measurements import Measurement
from plantings.calc.survival.census_choice import AGE, LATEST, CensusChoice
from plantings.calc.survival.groups import CHECK, LINEAGE, ROLES_COUNTED, TEST
from plantings.calc.survival.measured import Spread
from plantings.calc.survival.rows_by_label import RowsByLabel
from plantings.calc.survival.table import NATIVE, STANDARDS, survival_table_rows
from plantings.calc.survival.tallies import COUNT_NAMES, numbered
from plantings.selectors.census.asked import measured_numbers
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.causes import survival_causes
from plantings.selectors.survival.curves import AgeTallies
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.measured import measured_table
from plantings.selectors.survival.rounds import rounds_in_scope
from registry.models import Lot, PedigreeTree
from registry.selectors.identity.descent import linked
from registry.selectors.orchard.diversity import group_diversity
from registry.selectors.pedigree.lineage import lot_lineages
from registry.selectors.shared.held_answers import held_until_change

__all__ = ["LINES_MOST", "MotherOfLineage", "OneLineage", "SiteAges"]

LINES_MOST = 100


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


@dataclass(frozen=True, slots=True)
class OnSites:
    """A lineage on its sites: the `ages` at which a planting has a usable census with a tree of it, in ascending order; the first
    `LINES_MOST` of `lines_in_all` SiteAges, those of all sites together first, then of each site, the checks last; the `codes` of its
    sites; {lot code: trees and seeds `planted` under test}; the RecordsBehind of its censuses."""

    ages: tuple
    lines: tuple
    lines_in_all: int
    codes: tuple
    planted: dict
    behind: RecordsBehind


class OneLineage:
    """A lineage (`level` and `label` as in the survival table) as one person sees it; each part is read once, when it is first used."""

    def __init__(self, user, level, label):
        self.user, self.level, self.label = user, level, label
        self.filters = SurvivalFilter(within=(level, label))

    def __bool__(self):
        return bool(self.site_codes or (self.user.may("lot.view") and self.lots))

    @cached_property
    def _found(self):
        return _on_sites(self.user, self.level, self.label)

    ages = property(lambda self: self._found.ages)
    sites = property(lambda self: self._found.lines)
    site_lines = property(lambda self: self._found.lines_in_all)
    site_codes = property(lambda self: self._found.codes)
    behind = property(lambda self: self._found.behind)

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
        planted = self._found.planted
        trees = {tree.code: tree for tree in PedigreeTree.objects.for_user(self.user).filter(code__in=set(codes))}
        counted = {}
        for lot, code in zip(self.lots, codes, strict=True):
            if code in trees:
                lots, count = counted.get(code, (0, 0))
                counted[code] = (lots + 1, count + planted.get(lot.code, 0))
        rows = [MotherOfLineage(trees[code], *counts) for code, counts in counted.items()]
        return sorted(rows, key=lambda row: (-row.planted, row.tree.code))

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
        return _growth(self.user, self.level, self.label, self.site_codes) if self.site_codes else ()


@held_until_change
def _growth(user, level, label, sites):
    """GrowthAtSite of each measured number and site, from the living trees at the latest complete census of each planting."""
    filters = SurvivalFilter(within=(level, label), site=sites)
    found = {}
    for item in measured_numbers():
        for row in measured_table(user, item, ("site",), level, CensusChoice(LATEST), filters).rows:
            if row.role == TEST or row.standard == NATIVE:
                kinds = found.setdefault((item, row.keys[0], row.sown), {})
                kinds[row.role] = row.spread
    return tuple(
        GrowthAtSite(item, site, sown, kinds[TEST], kinds.get(CHECK)) for (item, site, sown), kinds in found.items() if TEST in kinds
    )


@held_until_change
def _on_sites(user, level, label):
    """The OnSites of a lineage, from complete censuses."""
    filters = SurvivalFilter(within=(level, label))
    rounds = rounds_in_scope(user, filters)
    read = AgeTallies(user, ("site",), level, filters, rounds, tuple(age for age, _ in rounds.numbers(AGE)))
    tallies = {}
    for age, found in read.by_age().items():
        beside = found.on_sites_of(lambda role, _standard, _sown: role == TEST)
        if beside:  # the checks are those beside the lineage
            tallies[age] = beside
    rows = {age: RowsByLabel(found, ROLES_COUNTED) for age, found in tallies.items()}
    kinds = sorted({kind for of_age in rows.values() for kind in of_age.kinds}, key=lambda kind: (kind[0][0], *_order(*kind[1:])))
    codes = tuple(sorted({kind[0][0] for kind in kinds}))
    names = {part.site: part.site_name for part in read.every.values()}
    lines = _all_sites(tallies) if len(codes) > 1 else []
    lines_in_all = len(lines) + len(kinds)
    for kind in kinds[: LINES_MOST - len(lines)]:
        site = kind[0][0]
        lines.append(_line(site, names.get(site, ""), {age: of_age.at(kind) for age, of_age in rows.items() if kind in of_age.kinds}))
    plantings = {found.plantings[number] for found in tallies.values() for number in numbered(found.planting)[0].tolist()}
    parts = [part for part in read.every.values() if part.planting in plantings]
    behind = RecordsBehind(**records_behind(user, rounds, parts))
    return OnSites(tuple(tallies), tuple(lines), lines_in_all, codes, _planted(tallies), behind)


def _all_sites(tallies):
    rows = {}
    for age, found in tallies.items():
        for row in survival_table_rows(found.keyed("")):
            rows.setdefault(_order(row.role, row.standard, row.sown), {})[age] = row
    return [_line("", "", rows[kind]) for kind in sorted(rows)]


def _planted(tallies):
    """{lot code: trees and seeds under test}, each planting at its latest census of any age."""
    latest = {}
    for found in tallies.values():
        under_test = found.of_roles(lambda role, _standard, _sown: role == TEST)
        sown = found.kinds.roles(lambda _role, _standard, sown: sown)[under_test.kind]
        counts = under_test.counts[:, COUNT_NAMES.index("planted")]
        keys = zip(under_test.planting.tolist(), under_test.lot.tolist(), sown.tolist(), strict=True)
        latest |= dict(zip(keys, counts.tolist(), strict=True))
    planted = defaultdict(int)
    for (_planting, lot, _sown), count in latest.items():
        planted[found.lots[lot]] += count
    return dict(planted)


def _order(role, standard, sown):
    """In the order of sites: planted before sown, trees under test before their checks, the native ones first."""
    return sown, role == CHECK, STANDARDS.index(standard) if standard else 0


def _line(site, name, figures):
    row = next(iter(figures.values()))
    return SiteAges(site, name, row.role_words, row.is_check, figures)
