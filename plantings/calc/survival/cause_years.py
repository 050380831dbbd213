"""Deaths and removals by cause, census by census: what was new in each calendar year."""

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

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
    trees: dict[tuple[str, int], int] = {}
    seen: set[int] = set()
    for planting in censuses:
        highest: dict[str, int] = {}
        for year, counts in planting:
            seen.add(year)
            for cause, number in counts.items():
                new = number - highest.get(cause, 0)
                if new > 0:
                    trees[cause, year] = trees.get((cause, year), 0) + new
                    highest[cause] = number
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
    return CauseYears(tuple(causes), tuple(range(min(seen), max(seen) + 1)) if seen else (), trees)
