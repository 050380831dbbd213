"""A measurement by site and lineage: how many trees have a value, and its mean and spread or its shares per class."""

import math
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from plantings.calc.census.measurements import Measurement
from plantings.calc.survival.groups import CHECK
from plantings.calc.survival.over_sites import share_over_sites, site_spread, t_half
from plantings.calc.survival.proportions import wilson
from plantings.calc.survival.survival import COUNT_LEADS_BELOW
from plantings.calc.survival.table import ROLE_WORDS, STANDARDS, sown_words

__all__ = ["MeasuredGroup", "MeasuredRow", "measured_rows", "spread_of"]


class Spread(NamedTuple):
    """Trees with a value, their mean and standard deviation, the lowest and the highest value; the deviation is None of one tree."""

    n: int
    mean: float
    deviation: float | None
    lowest: float
    highest: float


class MeasuredGroup(NamedTuple):
    """Trees of one entry at one round that have the same value."""

    keys: tuple[str, ...]
    role: str
    standard: str
    sown: bool
    site: str
    planting: str
    value: float | int | str
    trees: int


class MeasuredRow(NamedTuple):
    """One group of one role. `spread` is None of a measurement in classes, `classes` holds the trees of each of its codes; `by_site` has
    the trees of each value on each site, which intervals are made from."""

    keys: tuple[str, ...]
    role: str
    standard: str
    sown: bool
    sites: int
    plantings: int
    n: int
    spread: Spread | None
    classes: dict[int | str, int]
    by_site: dict[str, dict]

    @property
    def mean_interval(self) -> tuple[float, float] | None:
        """The ends of the 95 % interval of the mean: the wider of one over the sites and one over the trees; None of one tree."""
        if self.spread is None or self.spread.deviation is None:
            return None
        mean, half = self.spread.mean, t_half(self.spread.n - 1, self.spread.deviation**2 / self.spread.n)
        if len(self.by_site) > 1:
            spreads = [spread_of(counts) for counts in self.by_site.values()]
            over = site_spread([one.mean for one in spreads], [one.n for one in spreads])
            half = max(half, t_half(over.df, over.variance))
        return mean - half, mean + half

    def share_interval(self, code: int | str) -> tuple[float, float]:
        """The ends of the 95 % interval of a share: over the sites where there are several, as that of survival; else Wilson's."""
        trees = [sum(counts.values()) for counts in self.by_site.values()]
        found = [counts.get(code, 0) for counts in self.by_site.values()]
        if len(trees) > 1:
            over = share_over_sites(found, trees)
            return over.low, over.high
        one = wilson(found[0], trees[0])
        return one.low, one.high

    @property
    def count_leads(self) -> bool:
        """Whether a share would say more than was seen."""
        return self.n < COUNT_LEADS_BELOW

    @property
    def role_words(self) -> str:
        return sown_words(ROLE_WORDS[self.standard][0], self.sown)

    def share(self, code: int | str) -> float:
        """The share of the trees with a value that have this class, 0 to 1."""
        return self.classes.get(code, 0) / self.n


def spread_of(counts: Mapping[float, int]) -> Spread:
    """Mean and spread of values of which each was found on a number of trees.

    Parameters
    ----------
    counts : mapping of value to number of trees
        At least one value; the numbers are above 0.

    Returns
    -------
    Spread
        In the unit of the values. The deviation is that of a sample (n − 1).

    Source
    ------
    Sample mean and standard deviation: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.1 and 1.3.5.6 (from memory).

    Examples
    --------
    >>> found = spread_of({100.0: 1, 110.0: 2, 120.0: 1})
    >>> found.n, found.mean, round(found.deviation, 3)
    (4, 110.0, 8.165)
    """
    n = sum(counts.values())
    mean = math.fsum(value * trees for value, trees in counts.items()) / n
    squares = math.fsum(trees * (value - mean) ** 2 for value, trees in counts.items())
    return Spread(n, mean, math.sqrt(squares / (n - 1)) if n > 1 else None, min(counts), max(counts))


def measured_rows(item: Measurement, groups: Iterable[MeasuredGroup]) -> list[MeasuredRow]:
    """The rows of groups, by label; checks come after the trees under test.

    Parameters
    ----------
    item : Measurement
    groups : iterable of MeasuredGroup

    Source
    ------
    As `spread_of`; which trees share a row: definition of this programme.
    """
    found: dict[tuple, list[MeasuredGroup]] = {}
    for group in groups:
        found.setdefault((group.keys, group.role, group.standard, group.sown), []).append(group)
    rows = []
    for key, members in found.items():
        counts: dict = {}
        for group in members:
            counts[group.value] = counts.get(group.value, 0) + group.trees
        sites, plantings = {group.site for group in members}, {group.planting for group in members}
        spread = None if item.classes else spread_of(counts)
        by_site: dict[str, dict] = {}
        for group in members:
            here = by_site.setdefault(group.site, {})
            here[group.value] = here.get(group.value, 0) + group.trees
        n = sum(counts.values())
        rows.append(MeasuredRow(*key, len(sites), len(plantings), n, spread, counts if item.classes else {}, by_site))
    return sorted(rows, key=_place)


def _place(row: MeasuredRow) -> tuple:
    *outer, last = (key.casefold() for key in row.keys)
    return outer, row.sown, row.role == CHECK, STANDARDS.index(row.standard) if row.standard else 0, last
