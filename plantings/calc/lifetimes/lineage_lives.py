"""Lives of lineages beside the native checks in the same plantings, from the tallies of each age.

Source
------
Definition of this programme; the statistics are `band_over_sites`, `interval_band`, `log_rank_part`, `interval_parts`, `hazard_ratio`,
`holm` and `benjamini_hochberg`.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from plantings.calc.lifetimes.curves import Step, band_over_sites
from plantings.calc.lifetimes.hazards import HazardRatio, hazard_ratio
from plantings.calc.lifetimes.interval_censored import interval_band, interval_parts
from plantings.calc.lifetimes.lineage_rows import LineageRows
from plantings.calc.lifetimes.lives_of_lots import PLANTED, lives_by_site, starts_of_lots
from plantings.calc.lifetimes.multiplicity import benjamini_hochberg, holm
from plantings.calc.lifetimes.rank_tests import LogRank, log_rank_part, rank_test
from plantings.calc.survival.tallies import Tally
from registry.calc.shared.marked import gettext_noop

NO_NATIVE = gettext_noop("no native check in the same plantings")
NO_DEATHS = gettext_noop("nothing died in a site that has both")
AWAITED = gettext_noop("it is being worked out")
CURVE_LOOKS_FEWEST = 2  # with all alive at planting, one look would give a line through two points


@dataclass(frozen=True, slots=True)
class LineageLife:
    """One lineage: its life table, and that of the native checks in its plantings; one Step an age, fewer where nobody is at risk.

    `test` compares both within sites, `early` with more weight on early deaths; None with the `reason`. `holm` and `bh` are the p of `test`
    adjusted for the number of lineages. `hazard` is the lineage as a multiple of the check. `gaps` says that deaths of some of its trees
    lie between looks more than one census apart, so that curve and test are those of interval-censored deaths. `looks` are the ages at
    which somebody looked at trees of it, None where an earlier version stored the life.
    """

    label: str
    trees: int
    sites: int
    steps: tuple[Step, ...]
    check: tuple[Step, ...]
    test: LogRank | None
    early: LogRank | None
    holm: float | None
    bh: float | None
    hazard: HazardRatio
    gaps: bool
    reason: str
    looks: int | None = None

    @property
    def has_curve(self) -> bool:
        """Whether its steps make a curve."""
        looks = len(self.steps) if self.looks is None else min(self.looks, len(self.steps))
        return looks >= CURVE_LOOKS_FEWEST

    @property
    def has_check_curve(self) -> bool:
        return self.has_curve and len(self.check) >= CURVE_LOOKS_FEWEST


@dataclass(frozen=True, slots=True)
class Lives:
    """All lineages by label, and the ages of their steps. `skipped` are plantings that lack a census of an age between two they have."""

    ages: tuple[int, ...]
    lineages: tuple[LineageLife, ...]
    skipped: tuple[str, ...]


def lineage_lives(by_age: Mapping[int, Sequence[Tally]], *, is_plain: bool = False, say: Callable[[int, int], None] | None = None) -> Lives:
    """Life tables of all lineages under test.

    Parameters
    ----------
    by_age : mapping of growing seasons completed to the tallies of that age
        Grouped by lineage alone, all planted or all sown, of complete rounds.
    is_plain : bool
        Only the life tables that take no search for a maximum: curves without gaps, no tests, no hazards. AWAITED is their reason.
    say : callable, optional
        Called before each lineage with how many are done, of how many; what it raises ends the work.

    Notes
    -----
    Of each lot in a planting, gone are the trees dead, presumed dead, removed for a biological reason or not found. Gone in an interval are
    those gone at its end less those gone at its beginning; at risk are they and the trees alive at its end. So a tree that was not visited,
    not located or taken out for another reason is at risk up to the last census that knew it. A death lies between the last look that
    knew the tree alive and the first that knew it gone: where a planting lacks an age, or a tree was not seen for a while, that
    is more than one census, and the curve is the estimate for interval-censored deaths. Which trees were not seen before they were
    found dead is told from counts: where more are at risk than were alive before, those lost last have come back.
    """
    ages = tuple(sorted(by_age))
    rows = LineageRows([by_age[age] for age in ages])
    found, lineages = [], rows.order.lineages
    for place, label in enumerate(sorted(lineages, key=str.casefold)):
        if say is not None:
            say(place, len(lineages))
        key = ages, is_plain, rows.digest(label)
        life = _LIVES.get(key)
        if life is None:
            if len(_LIVES) >= _LIVES_MOST:
                _LIVES.clear()
            life = _LIVES[key] = _lineage_life(rows.own(label), rows.beside(label), ages, _plain_life if is_plain else _life)
        found.append(replace(life, label=label))
    tested = [one for one in found if one.test]
    p_values = [one.test.p for one in tested]
    adjusted = {one.label: pair for one, *pair in zip(tested, holm(p_values), benjamini_hochberg(p_values), strict=True)}
    lineages = tuple(replace(one, holm=pair[0], bh=pair[1]) if (pair := adjusted.get(one.label)) else one for one in found)
    return Lives(ages, lineages, rows.order.skipped)


_LIVES: dict[tuple, LineageLife] = {}  # what the same counts gave before, by their ages and digest
_LIVES_MOST = 5_000


def _lineage_life(rows, beside, ages, life):
    """The LineageLife, without a label, of the rows of one lineage and of the native checks beside it."""
    return life(int(rows[starts_of_lots(rows), PLANTED].sum()), lives_by_site(rows, ages), lives_by_site(beside, ages), ages)


def _life(trees, own, native, ages):
    common = [site for site in own if site in native and native[site].at_risk.any()]
    test = early = None
    if common:
        test, early = map(rank_test, _parts([(own[site], native[site]) for site in common], ages))
    reason = "" if test and test.p is not None else NO_DEATHS if common else NO_NATIVE
    cells, others = (
        {(site, *look): tuple(pair) for site in common for look, pair in part[site].looks.items()} for part in (own, native)
    )  # fmt: skip
    hazard = hazard_ratio(cells, others) if common else HazardRatio(None, None, None, None, None, 0, NO_NATIVE)
    return LineageLife(
        "", trees, len(own), _curve([*own.values()], ages), _curve([native[site] for site in common], ages),
        None if reason else test, None if reason else early, None, None, hazard, _gaps([*own.values()], ages), reason, _looks(own),
    )  # fmt: skip


def _plain_life(trees, own, native, ages):
    common = [native[site] for site in own if site in native and native[site].at_risk.any()]
    curves = (() if _gaps(lives, ages) else _curve(lives, ages) for lives in ([*own.values()], common))
    hazard = HazardRatio(None, None, None, None, None, 0, AWAITED)
    gaps = _gaps([*own.values()], ages)
    return LineageLife("", trees, len(own), *curves, None, None, None, None, hazard, gaps, AWAITED, _looks(own))


def _looks(own):
    """The ages at which somebody looked, of all sites."""
    return len({age for one in own.values() for _before, age in one.looks})


def _gaps(lives, ages):
    """Whether a death lies between looks that are more than one census apart."""
    before = dict(zip(ages, (0, *ages), strict=False))
    return any(span[0] != before[span[1]] for one in lives for span in one.spans if span[1] < np.inf)


def _curve(lives, ages):
    """The steps of several sites: the life table, or where there are gaps the estimate for interval-censored deaths."""
    if not lives:
        return ()
    deaths, at_risk = np.stack([one.deaths for one in lives]), np.stack([one.at_risk for one in lives])
    if not _gaps(lives, ages):
        return tuple(band_over_sites(deaths, at_risk))
    gone, trees = deaths.sum(axis=0).tolist(), at_risk.sum(axis=0).tolist()
    reached = trees.index(0) if 0 in trees else len(trees)
    values = interval_band(*_spans(lives), ages[:reached])
    return tuple(Step(*pair, *value) for *pair, value in zip(trees, gone, values, strict=False))


def _spans(lives):
    """(left ends, right ends, trees lives × spans)."""
    every = sorted({span for one in lives for span in one.spans})
    left, right = np.array(every).T
    return left, right, np.array([[one.spans.get(span, 0) for span in every] for one in lives])


def _parts(pairs, ages):
    """The parts of both tests, of pairs (lineage, checks) by site: those of Mantel and Haenszel of all sites at once, and where there are
    gaps those for interval-censored deaths, site by site."""
    plain, with_gaps = [], []
    for pair in pairs:
        (with_gaps if _gaps(pair, ages) else plain).append(pair)
    parts = [interval_parts(*_spans(pair)) for pair in with_gaps]
    if plain:
        deaths, at_risk = (np.array([[getattr(one, name) for one in pair] for pair in plain]) for name in ("deaths", "at_risk"))
        parts.append(tuple(log_rank_part(deaths, at_risk, early) for early in (False, True)))
    return zip(*parts, strict=True)
