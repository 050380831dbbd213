"""Deaths and removals by cause, census by census: what was new in each calendar year."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from plantings.calc.survival.tallies import Labels, numbered

CAUSES_MOST = 7
OTHERS = "all others"


class CauseYears(NamedTuple):
    """Trees newly recorded as dead or removed: `trees` by (cause, year). `causes` with the commonest first, `years` without a gap."""

    causes: tuple[str, ...]
    years: tuple[int, ...]
    trees: dict[tuple[str, int], int]

    def total(self, cause: str) -> int:
        return sum(self.trees.get((cause, year), 0) for year in self.years)


def cause_years(censuses: Iterable[Sequence[tuple[int, Mapping[str, int]]]], most: int = CAUSES_MOST) -> CauseYears:
    """Adds up what is new at each census of each planting.

    Parameters
    ----------
    censuses : iterable of sequences of (calendar year, {cause: trees})
        One sequence for each planting, in the order of time: how many of its trees are recorded dead or removed by then, by cause.
    most : int
        Rarer causes than these many are put together as `OTHERS`.

    Notes
    -----
    A death counts in the year of the first census that has it, so what happened before a gap is in the year after it. Where a later
    census has fewer trees of a cause than an earlier one, nothing is taken off the earlier year.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> found = cause_years([[(2023, {"deer": 2}), (2025, {"deer": 2, "drought": 5})]])
    >>> found.causes, found.years, found.trees
    (('drought', 'deer'), (2023, 2024, 2025), {('deer', 2023): 2, ('drought', 2025): 5})
    """
    labels, seen, rows = Labels(), set(), []
    for number, planting in enumerate(censuses):
        for year, counts in planting:
            seen.add(year)
            rows += [(number, year, labels.number(cause), trees) for cause, trees in counts.items()]
    return cause_years_of_columns(*np.array(rows, dtype=np.int64).reshape(-1, 4).T, labels.names, seen, most)


def cause_years_of_columns(
    planting: np.ndarray, year: np.ndarray, cause: np.ndarray, number: np.ndarray, names: Sequence[str], seen: Iterable[int],
    most: int = CAUSES_MOST,
) -> CauseYears:  # fmt: skip
    """The same of a row for each planting, census and cause.

    Parameters
    ----------
    planting, year, cause, number : arrays of int, 0 or more
        Of each row the number of the planting, the calendar year, the place of the cause in `names`, and the trees recorded by then.
        Rows of one planting and cause are in the order of time.
    names : sequence of str
    seen : iterable of int
        The years of all censuses, with or without a death.
    most : int
        As in `cause_years`.

    Source
    ------
    Definition of this programme.
    """
    years = sorted(set(seen))
    trees: dict[tuple[str, int], int] = {}
    if len(planting):
        group = numbered(planting * len(names) + cause)[1]
        order = np.argsort(group, kind="stable")
        group, recorded = group[order], number[order]
        step = int(recorded.max()) + 1  # so that the highest of one group is below all of the next
        highest = np.maximum.accumulate(recorded + group * step) - group * step
        before = np.r_[0, highest[:-1]] * np.r_[False, group[1:] == group[:-1]]
        pairs, pair_of = numbered(cause[order] * (years[-1] + 1) + year[order])
        new = np.bincount(pair_of, weights=np.maximum(recorded - before, 0)).astype(int)
        trees = {
            (names[pair // (years[-1] + 1)], pair % (years[-1] + 1)): count
            for pair, count in zip(pairs.tolist(), new.tolist(), strict=True)
            if count
        }
    totals: dict[str, int] = {}
    for (cause, _year), number in trees.items():
        totals[cause] = totals.get(cause, 0) + number
    causes = sorted(totals, key=lambda cause: (-totals[cause], cause))
    if len(causes) > most:
        rare = set(causes[most:])
        together: dict[tuple[str, int], int] = {}
        for (cause, year), number in trees.items():
            key = (OTHERS if cause in rare else cause, year)
            together[key] = together.get(key, 0) + number
        trees, causes = together, [*causes[:most], OTHERS]
    return CauseYears(tuple(causes), tuple(range(years[0], years[-1] + 1)) if years else (), trees)
