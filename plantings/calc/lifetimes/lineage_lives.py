"""Lives of lineages beside the native checks in the same plantings, from the tallies of each age.

Source
------
Definition of this programme; the statistics are `band_over_sites`, `interval_band`, `log_rank_part`, `interval_parts`, `hazard_ratio`,
`holm` and `benjamini_hochberg`.
"""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np

from plantings.calc.lifetimes.curves import Step, band_over_sites
from plantings.calc.lifetimes.hazards import HazardRatio, hazard_ratio
from plantings.calc.lifetimes.interval_censored import interval_band, interval_parts
from plantings.calc.lifetimes.multiplicity import benjamini_hochberg, holm
from plantings.calc.lifetimes.rank_tests import LogRank, log_rank_part, rank_test
from plantings.calc.survival.groups import TEST
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import NATIVE
from plantings.calc.survival.tallies import Labels, Tallies, Tally
from registry.calc.shared.marked import gettext_noop

NO_NATIVE = gettext_noop("no native check in the same plantings")
NO_DEATHS = gettext_noop("nothing died in a site that has both")
AWAITED = gettext_noop("it is being worked out")


@dataclass(frozen=True, slots=True)
class LineageLife:
    """One lineage: its life table, and that of the native checks in its plantings; one Step an age, fewer where nobody is at risk.

    `test` compares both within sites, `early` with more weight on early deaths; None with the `reason`. `holm` and `bh` are the p of `test`
    adjusted for the number of lineages. `hazard` is the lineage as a multiple of the check. `gaps` says that deaths of some of its trees
    lie between looks more than one census apart, so that curve and test are those of interval-censored deaths.
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


@dataclass(frozen=True, slots=True)
class Lives:
    """All lineages by label, and the ages of their steps. `skipped` are plantings that lack a census of an age between two they have."""

    ages: tuple[int, ...]
    lineages: tuple[LineageLife, ...]
    skipped: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Lives:
    """Lots added up: deaths and trees at risk by age; {(age before, age at the end): [deaths, at risk]} of the looks; and
    {(last age known alive, first age known gone, or infinity): trees}."""

    deaths: np.ndarray
    at_risk: np.ndarray
    looks: dict[tuple[int, int], list[int]]
    spans: dict[tuple[float, float], int]


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
    rows = _Rows.of([by_age[age] for age in ages])
    native, found = _NativeLives(rows, ages), []
    for place, label in enumerate(sorted(rows.lineages, key=str.casefold)):
        if say is not None:
            say(place, len(rows.lineages))
        own = rows.of_lineage(label)
        if is_plain:
            found.append(replace(_lineage_life(own, native, ages, is_plain), label=label))
            continue
        beside = rows.native_beside(own)
        digest = hashlib.sha256(repr((ages, own.shape)).encode() + own.tobytes() + beside.tobytes()).digest()
        life = _LIVES.get(digest)
        if life is None:
            if len(_LIVES) >= _LIVES_MOST:
                _LIVES.clear()
            life = _LIVES[digest] = _lineage_life(own, native, ages)
        found.append(replace(life, label=label))
    tested = [one for one in found if one.test]
    p_values = [one.test.p for one in tested]
    adjusted = {one.label: pair for one, *pair in zip(tested, holm(p_values), benjamini_hochberg(p_values), strict=True)}
    lineages = tuple(replace(one, holm=pair[0], bh=pair[1]) if (pair := adjusted.get(one.label)) else one for one in found)
    return Lives(ages, lineages, rows.skipped())


_LIVES: dict[bytes, LineageLife] = {}  # what the same counts gave before, by their digest
_LIVES_MOST = 5_000


@dataclass(frozen=True, slots=True)
class _Rows:
    """Tallies of all ages as one matrix: lineage (0 for native checks, else from 1), site, planting, lot, place of the age, and the counts;
    in this order. Sites are numbered in the order of their names."""

    matrix: np.ndarray
    lineages: dict[str, int]
    plantings: list[str]

    @staticmethod
    def of(by_age):
        every = [Tallies.of(tallies).of_roles(lambda role, standard, _sown: role == TEST or standard == NATIVE) for tallies in by_age]
        sites = {name: number for number, name in enumerate(sorted({name for tallies in every for name in tallies.sites}))}
        plantings, lots, lineages = Labels(), Labels(), Labels()
        parts = [np.zeros((0, _COUNTS + len(Counts._fields)), dtype=np.int64)]
        for place, tallies in enumerate(every):
            of_kind = [lineages.number(keys[0]) + 1 if role == TEST else 0 for keys, role, *_rest in tallies.kinds]
            columns = (
                _numbers(of_kind)[tallies.kind], _numbers(sites[name] for name in tallies.sites)[tallies.site],
                _numbers(map(plantings.number, tallies.plantings))[tallies.planting], _numbers(map(lots.number, tallies.lots))[tallies.lot],
                np.full(len(tallies), place),
            )  # fmt: skip
            parts.append(np.hstack([np.stack(columns, axis=1), tallies.counts]))
        matrix = np.concatenate(parts)
        matrix = matrix[np.lexsort(matrix[:, _COUNTS - 1 :: -1].T)]
        there = set(np.unique(matrix[:, _LINEAGE]).tolist())
        return _Rows(matrix, {label: number for label, code in lineages.numbers.items() if (number := code + 1) in there}, plantings.names)

    def of_lineage(self, label):
        return self._of(self.lineages[label])

    def native_beside(self, own):
        """Those of the native checks in the plantings of some rows."""
        native = self._of(0)
        return native[np.isin(native[:, _PLANTING], own[:, _PLANTING])]

    def _of(self, number):
        ends = np.searchsorted(self.matrix[:, _LINEAGE], [number, number + 1])
        return self.matrix[slice(*ends)]

    def skipped(self):
        """The plantings that lack a census of an age between two they have, or of the first."""
        matrix = self.matrix
        if not len(matrix):
            return ()
        starts = np.flatnonzero(np.r_[True, (matrix[1:, :_AGE] != matrix[:-1, :_AGE]).any(axis=1)])
        first, ends = matrix[starts, _AGE], np.r_[starts[1:], len(matrix)]
        skips = (matrix[ends - 1, _AGE] - first + 1 > ends - starts) | (first > 0)
        return tuple(sorted({self.plantings[code] for code in matrix[starts[skips], _PLANTING].tolist()}))


_LINEAGE, _SITE, _PLANTING, _LOT, _AGE, _COUNTS = range(6)


def _numbers(values):
    return np.array([*values], dtype=np.int64)


class _NativeLives:
    """The native checks of each planting, added up when a lineage asks for them: they are those of every lineage there."""

    def __init__(self, rows, ages):
        self._rows, self._ages, self._by_planting = rows, ages, None

    def of(self, planting):
        """(_Lives, site), or None without a native check."""
        if self._by_planting is None:
            self._by_planting = {}
            for (_lineage, site, planting_of, _lot), counts in _lots(self._rows._of(0), self._ages):
                found = self._by_planting.setdefault(planting_of, ({}, site))
                _add(found[0], None, _lot_lives(counts, self._ages))
        found = self._by_planting.get(planting)
        return found and found[0][None]


def _lots(rows, ages):
    """((lineage, site, planting, lot), {age: Counts}) of rows in their order."""
    for key, of_lot in groupby(rows.tolist(), key=lambda row: tuple(row[:_AGE])):
        yield key, {ages[row[_AGE]]: Counts._make(row[_COUNTS:]) for row in of_lot}


def _lineage_life(rows, native_lives, ages, is_plain=False):
    """The LineageLife, without a label, of the rows of one lineage."""
    own: dict[int, _Lives] = {}
    planted, places = 0, {}
    for (_lineage, site, planting, _lot), counts in _lots(rows, ages):
        _add(own, site, _lot_lives(counts, ages))
        planted += counts[min(counts)].planted
        places[site, planting] = None
    native: dict[int, _Lives] = {}
    for site, planting in places:
        if (found := native_lives.of(planting)) is not None:
            _add(native, site, found)
    return _plain_life(planted, own, native, ages) if is_plain else _life("", planted, own, native, ages)


def _plain_life(trees, own, native, ages):
    common = [native[site] for site in own if site in native and native[site].at_risk.any()]
    curves = (() if _gaps(lives, ages) else _curve(lives, ages) for lives in ([*own.values()], common))
    hazard = HazardRatio(None, None, None, None, None, 0, AWAITED)
    return LineageLife("", trees, len(own), *curves, None, None, None, None, hazard, _gaps([*own.values()], ages), AWAITED)


def _lot_lives(counts, ages):
    """What the tallies of one lot in one planting say."""
    deaths, at_risk = [0] * len(ages), [0] * len(ages)
    looks: dict = {}
    spans: dict = {}
    gone_before, alive_before, age_before, waiting = 0, counts[min(counts)].planted, 0, []
    lost: list[list[int]] = []  # [age of the last look that knew them alive, trees], the last to be lost at the end
    for place, age in enumerate(ages):
        waiting.append(place)
        if age not in counts:
            continue
        now = counts[age]
        all_gone = now.ended + now.not_found
        gone = max(0, all_gone - gone_before)
        deaths[place] = gone
        for since in waiting:
            at_risk[since] = now.alive + gone
        looks[age_before, age] = [gone, now.alive + gone]
        back = now.alive + gone - alive_before
        if back < 0:
            lost.append([age_before, -back])
        while back > 0 and lost:
            trees = min(back, lost[-1][1])
            found_dead = min(trees, gone)
            spans[lost[-1][0], age] = spans.get((lost[-1][0], age), 0) + found_dead
            gone, back, lost[-1][1] = gone - found_dead, back - trees, lost[-1][1] - trees
            if not lost[-1][1]:
                lost.pop()
        spans[age_before, age] = spans.get((age_before, age), 0) + gone
        gone_before, alive_before, age_before, waiting = max(gone_before, all_gone), now.alive, age, []
    for since, trees in [*lost, [age_before, alive_before]]:
        spans[since, np.inf] = spans.get((since, np.inf), 0) + trees
    return _Lives(np.array(deaths), np.array(at_risk), looks, {span: trees for span, trees in spans.items() if trees})


def _add(lives, key, more):
    before = lives.get(key)
    if before is None:
        lives[key] = _Lives(more.deaths.copy(), more.at_risk.copy(), {look: [*pair] for look, pair in more.looks.items()}, dict(more.spans))
        return
    before.deaths[:] += more.deaths
    before.at_risk[:] += more.at_risk
    for look, (gone, trees) in more.looks.items():
        pair = before.looks.setdefault(look, [0, 0])
        pair[0] += gone
        pair[1] += trees
    for span, trees in more.spans.items():
        before.spans[span] = before.spans.get(span, 0) + trees


def _skips(counts, ages):
    return any(age not in counts for age in ages if min(counts) < age < max(counts)) or min(counts) > ages[0]


def _life(label, trees, own, native, ages):
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
        label, trees, len(own), _curve([*own.values()], ages), _curve([native[site] for site in common], ages),
        None if reason else test, None if reason else early, None, None, hazard, _gaps([*own.values()], ages), reason,
    )  # fmt: skip


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
