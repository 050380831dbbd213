"""Every interval that the site prints, beside what is true: pairs by the name of the interval.

Guarded by `tests/project/test_printed_intervals.py`: a function of the site that makes an interval has a name here.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from plantings.calc.lineages.compare import BETA, MODEL
from plantings.calc.survival.odds import clopper_pearson
from plantings.calc.survival.proportions import newcombe_difference
from plantings.calc.survival.survival import COUNT_LEADS_BELOW
from plantings.imports.demo.simulated.truth import NATIVE
from tests.simulation.drawn import STANDARDS, Drawn, Figures
from tests.simulation.truths import Truths, heritabilities, odds_anywhere, odds_here


class Pair(NamedTuple):
    """An estimate with its interval, beside the truth."""

    name: str
    estimate: float
    low: float
    high: float
    true: float

    @property
    def holds(self) -> bool:
        return self.low <= self.true <= self.high


NAMES = {standard: name for name, standard in STANDARDS.items()}


def pairs_of(truth, true: Truths, found: Figures, lived: Drawn | None = None) -> Iterator[Pair]:
    """All pairs of a programme. `lived` is what was drawn, where the band over unaccounted trees is to be looked at too."""
    places = {name: number for number, name in enumerate(truth.names)}
    last = truth.size.rounds - 1

    def number(row):
        return places[NAMES.get(row.standard) or row.keys[-1]]

    yield from _of_rows(found.rows, true, number, last)
    yield from _of_one_site(found.on_sites, true, number, last)
    yield from _of_comparison(truth, found.comparison, true, places, last)
    yield from life_pairs(found.lives, true.anywhere, places, true, "over sites")
    yield from _of_growth(found, true, places, number, last)
    if lived is not None:
        yield from _of_bands(found.rows, lived, number, last)


def _of_rows(rows, true, number, last):
    for row in rows:
        at = number(row)
        if row.low is not None and len(row.sites) > 1:
            yield Pair("survival over sites", row.share, row.low, row.high, true.anywhere[at, last])
        if row.difference is not None and row.difference.low is not None:
            expected = true.anywhere[at, last] - true.anywhere[true.native, last]
            yield Pair("difference from the native checks", *row.difference[:3], expected)
        if row.standard == STANDARDS[NATIVE] and row.pressure and row.pressure.interval and len(row.sites) > 1:
            yield Pair("disease pressure over sites", row.pressure.share, *row.pressure.interval[:2], 1 - true.clear[at, last])


def _of_one_site(rows, true, number, last):
    checks = {row.sites[0]: row for row in rows if row.standard == STANDARDS[NATIVE]}
    for row in rows:
        at, site = number(row), int(row.sites[0].removeprefix("SM-")) - 1
        expected = true.on_site[site, at, last]
        if row.n and row.low is not None:
            yield Pair("survival on one site", row.share, row.low, row.high, expected)
        if 0 < row.n < COUNT_LEADS_BELOW:
            yield Pair("survival of few trees, exact", row.share, *clopper_pearson(row.alive, row.n)[:2], expected)
        if row.standard == STANDARDS[NATIVE] and row.pressure and row.pressure.interval:
            yield Pair(
                "disease pressure on one site", row.pressure.share, *row.pressure.interval[:2], 1 - true.clear_on_site[site, at, last]
            )
        check = checks.get(row.sites[0])
        if not row.standard and row.n and check and check.n:
            found = newcombe_difference(row.alive, row.n, check.alive, check.n)
            yield Pair("difference from the native checks on one site", *found[:3], expected - true.on_site[site, true.native, last])


def _of_comparison(truth, comparison, true, places, last):
    everywhere = odds_anywhere(truth)
    for one in (*comparison.ranked, *comparison.unranked):
        at = places[one.label]
        if one.odds and one.odds.low is not None:
            yield Pair(
                "odds within sites, these sites", one.odds.ratio, one.odds.low, one.odds.high, _odds(one, comparison, true, at, last)
            )
            yield Pair("odds within sites, all sites there could be", one.odds.ratio, one.odds.low, one.odds.high, everywhere[at])
        if one.shrunk and comparison.method == MODEL:
            shrunk = one.shrunk
            yield Pair("shrunken share", shrunk.share, shrunk.low, shrunk.high, true.here[at, last])
            if shrunk.difference:
                expected = true.here[at, last] - true.here[true.native, last]
                yield Pair("shrunken difference from the native check", *shrunk.difference[:3], expected)
        if one.shrunk and comparison.method == BETA:
            expected = np.average(true.on_site[:, at, last], weights=_trees(one))
            yield Pair("share shrunken by a beta distribution", one.shrunk.share, one.shrunk.low, one.shrunk.high, expected)
    if comparison.heritability.observed:
        observed, liability = heritabilities(truth)
        yield Pair("heritability, observed scale", *comparison.heritability.observed, observed)
        yield Pair("heritability, liability", *comparison.heritability.liability, liability)


def _trees(one):
    return [mark.n for mark in one.sites]


def _odds(one, comparison, true, at, last):
    [native] = [row for row in comparison.checks if row.standard == STANDARDS[NATIVE]]
    n, sites = np.array(_trees(one)), [int(mark.site.removeprefix("SM-")) - 1 for mark in one.sites]
    # the checks have as many trees on each site as they have on average: sites are alike in a simulated programme
    checks = np.full(len(n), native.n / len(native.sites))
    return odds_here(true.on_site[sites, at, last], true.on_site[sites, true.native, last], n, checks)


def life_pairs(lives, shares, places, true, where) -> Iterator[Pair]:
    """The steps of life tables, `shares` being the true ones, and over sites the ratios of hazards."""
    for life in lives.lineages:
        at = places[life.label]
        kind = "curve of interval-censored deaths" if life.gaps else "life table"
        for steps, row in ((life.steps, at), (life.check, true.native)):
            for age, step in zip(lives.ages, steps, strict=False):
                if step.low is not None and (steps is life.steps or not life.gaps):
                    yield Pair(f"{kind}, {where}", step.share, step.low, step.high, shares[row, age - 1])
        if life.hazard.low is not None and where == "over sites":
            yield Pair("ratio of hazards", life.hazard.ratio, life.hazard.low, life.hazard.high, true.hazards[at])


def _of_growth(found, true, places, number, last):
    for (group, age), grown in found.growth.grown.items():
        at = places[NAMES.get(group.standard) or group.label]
        model = "without a model" if age in found.growth.no_model else "by the model"
        if grown.low is not None:
            yield Pair(f"mean height {model}", grown.mean, grown.low, grown.high, true.heights[at, age - 1])
        if grown.difference is not None and grown.difference.low is not None:
            expected = true.heights[at, age - 1] - true.heights[true.native, age - 1]
            yield Pair("difference of heights from the native check", *grown.difference[:3], expected)
    for row in found.heights:
        if row.mean_interval:
            yield Pair("mean of a measurement over sites", row.spread.mean, *row.mean_interval, true.heights[number(row), last])
    for row in found.cankers:
        yield Pair("share of a class over sites", row.share(0), *row.share_interval(0), true.clear[number(row), last])


def _of_bands(rows, lived, number, last):
    """The band from all unaccounted trees dead to all alive, beside the share of the planted trees that truly lives."""
    planted, alive = {}, {}
    for plantings in lived.lived.values():
        for lineages, living in plantings:
            for at in set(lineages.tolist()):
                planted[at] = planted.get(at, 0) + int((lineages == at).sum())
                alive[at] = alive.get(at, 0) + int(living[lineages == at, last].sum())
    for row in rows:
        if row.band_low is not None:
            at = number(row)
            # a hair wider: ends are quotients of whole numbers
            yield Pair("band over unaccounted trees", row.share, row.band_low - 1e-12, row.band_high + 1e-12, alive[at] / planted[at])


__all__ = ["NAMES", "Pair", "life_pairs", "pairs_of"]
