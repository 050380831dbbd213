"""Lives of lineages beside the native checks in the same plantings, from the tallies of each age.

Source
------
Definition of this programme; the statistics are `band_over_sites`, `log_rank`, `holm` and `benjamini_hochberg`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from plantings.calc.lifetimes.curves import LogRank, Step, band_over_sites, log_rank
from plantings.calc.lifetimes.multiplicity import benjamini_hochberg, holm
from plantings.calc.survival.groups import TEST
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import NATIVE, Tally
from registry.calc.shared.marked import gettext_noop

NO_NATIVE = gettext_noop("no native check in the same plantings")
NO_DEATHS = gettext_noop("nothing died in a site that has both")


@dataclass(frozen=True, slots=True)
class LineageLife:
    """One lineage: its life table, and that of the native checks in its plantings; one Step an age, fewer where nobody is at risk.

    `test` compares both within sites; None with the `reason`. `holm` and `bh` are its p adjusted for the number of lineages.
    """

    label: str
    trees: int
    sites: int
    steps: tuple[Step, ...]
    check: tuple[Step, ...]
    test: LogRank | None
    holm: float | None
    bh: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class Lives:
    """All lineages by label, and the ages of their steps. `skipped` are plantings that lack a census of an age between two they have."""

    ages: tuple[int, ...]
    lineages: tuple[LineageLife, ...]
    skipped: tuple[str, ...]


def lineage_lives(by_age: Mapping[int, Sequence[Tally]]) -> Lives:
    """Life tables of all lineages under test.

    Parameters
    ----------
    by_age : mapping of growing seasons completed to the tallies of that age
        Grouped by lineage alone, all planted or all sown, of complete rounds.

    Notes
    -----
    Of each lot in a planting, gone are the trees dead, presumed dead, removed for a biological reason or not found. Gone in an interval are
    those gone at its end less those gone at its beginning; at risk are they and the trees alive at its end. So a tree that was not visited,
    not located or taken out for another reason is at risk up to the last census that knew it. Where a planting lacks an age, its
    deaths are put at the next one it has.
    """
    ages = tuple(sorted(by_age))
    lots: dict[tuple, dict[int, Counts]] = {}
    for age in ages:
        for tally in by_age[age]:
            group = tally.keys[0] if tally.role == TEST else None
            if group is not None or tally.standard == NATIVE:
                lots.setdefault((group, tally.site, tally.planting, tally.lot), {})[age] = Counts._make(tally.counts)
    tables = {place: _intervals(counts, ages) for place, counts in lots.items()}
    planted = {place: counts[min(counts)].planted for place, counts in lots.items()}
    labels = sorted({place[0] for place in tables if place[0] is not None}, key=str.casefold)
    found = [_life(label, tables, planted) for label in labels]
    tested = [one for one in found if one.test]
    p_values = [one.test.p for one in tested]
    adjusted = {one.label: pair for one, *pair in zip(tested, holm(p_values), benjamini_hochberg(p_values), strict=True)}
    lineages = tuple(_adjusted(one, *adjusted.get(one.label, (None, None))) for one in found)
    return Lives(ages, lineages, tuple(sorted({place[2] for place, counts in lots.items() if _skips(counts, ages)})))


def _intervals(counts, ages):
    """(deaths, at risk) of one lot in one planting at every age."""
    deaths, at_risk = np.zeros(len(ages), int), np.zeros(len(ages), int)
    before, waiting = 0, []
    for place, age in enumerate(ages):
        waiting.append(place)
        if age not in counts:
            continue
        gone = counts[age].ended + counts[age].not_found
        deaths[place] = max(0, gone - before)
        at_risk[waiting] = counts[age].alive + deaths[place]
        before, waiting = max(before, gone), []
    return deaths, at_risk


def _skips(counts, ages):
    return any(age not in counts for age in ages if min(counts) < age < max(counts)) or min(counts) > ages[0]


def _life(label, tables, planted):
    own = [place for place in tables if place[0] == label]
    plantings = {place[2] for place in own}
    native = [place for place in tables if place[0] is None and place[2] in plantings]
    sites = sorted({place[1] for place in own})
    mine, theirs = ({site: _added(tables, places, site) for site in sites} for places in (own, native))
    common = [site for site in sites if theirs[site][1].any()]
    strata = [tuple(np.stack(pair) for pair in zip(mine[site], theirs[site], strict=True)) for site in common]
    test = log_rank(strata) if common else None
    reason = "" if test and test.p is not None else NO_DEATHS if common else NO_NATIVE
    check = band_over_sites(*_stacked(theirs, common)) if common else []
    return LineageLife(
        label, sum(planted[place] for place in own), len(sites), tuple(band_over_sites(*_stacked(mine, sites))), tuple(check),
        None if reason else test, None, None, reason,
    )  # fmt: skip


def _added(tables, places, site):
    """(deaths, at risk) of all lots on one site."""
    length = len(next(iter(tables.values()))[0])
    zero = np.zeros(length, int)
    here = [tables[place] for place in places if place[1] == site]
    return sum((deaths for deaths, _ in here), zero), sum((trees for _, trees in here), zero)


def _stacked(by_site, sites):
    return np.stack([by_site[site][0] for site in sites]), np.stack([by_site[site][1] for site in sites])


def _adjusted(one, holm_p, bh_p):
    return LineageLife(one.label, one.trees, one.sites, one.steps, one.check, one.test, holm_p, bh_p, one.reason)
