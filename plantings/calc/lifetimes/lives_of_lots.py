"""Deaths and looks at the lots of plantings, added up by site from the tallies of each age.

Source
------
Definition of this programme, in the notes of `lineage_lives`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from plantings.calc.survival.survival import Counts

LINEAGE, SITE, PLANTING, LOT, AGE, COUNTS = range(6)  # columns of rows: the place of the age, and the counts from COUNTS on
PLANTED, _ALIVE, _NOT_FOUND = (COUNTS + Counts._fields.index(name) for name in ("planted", "alive", "not_found"))
_ENDED = [COUNTS + Counts._fields.index(name) for name in ("dead", "presumed_dead", "removed")]


@dataclass(frozen=True, slots=True)
class SiteLives:
    """Lots added up: deaths and trees at risk by age; {(age before, age at the end): [deaths, at risk]} of the looks; and
    {(last age known alive, first age known gone, or infinity): trees}."""

    deaths: np.ndarray
    at_risk: np.ndarray
    looks: dict[tuple[int, int], list[int]]
    spans: dict[tuple[float, float], int]


def starts_of_lots(rows: np.ndarray) -> np.ndarray:
    """Where the rows of each lot in a planting begin.

    Parameters
    ----------
    rows : matrix of int, 0 or more
        In the order of the columns above.

    Returns
    -------
    array of int, 0 or more, in ascending order

    Source
    ------
    Definition of this programme.
    """
    return np.flatnonzero(np.r_[True, (rows[1:, :AGE] != rows[:-1, :AGE]).any(axis=1)]) if len(rows) else np.zeros(0, dtype=np.int64)


def lives_by_site(rows: np.ndarray, ages: Sequence[int]) -> dict[int, SiteLives]:
    """What the tallies of lots say, by the number of the site.

    Parameters
    ----------
    rows : matrix of int, 0 or more
        A row for each lot, planting and age, in the order of the columns above.
    ages : sequence of int, growing seasons completed
        Of the places, in ascending order.

    Returns
    -------
    dict of {number of a site: SiteLives}, in trees

    Notes
    -----
    All lots are worked out at once, except those of which trees come back that an earlier look had lost: `lot_lives` takes them one by one.

    Source
    ------
    As `lot_lives`.
    """
    starts = starts_of_lots(rows)
    if not len(starts):
        return {}
    lot = np.repeat(np.arange(len(starts)), np.diff(np.r_[starts, len(rows)]))
    alive, ends = rows[:, _ALIVE].astype(np.int64), np.r_[starts[1:], len(rows)] - 1
    all_gone = rows[:, [*_ENDED, _NOT_FOUND]].sum(axis=1, dtype=np.int64)
    step = int(all_gone.max()) + 1
    most = np.maximum.accumulate(all_gone + lot * step) - lot * step
    gone = np.maximum(all_gone - _before(most, starts, 0), 0)
    at_risk = alive + gone
    back = at_risk - _before(alive, starts, rows[starts, PLANTED])
    place_before = _before(rows[:, AGE], starts, -1)
    simple = np.ones(len(starts), dtype=bool)
    simple[lot[back > 0]] = False
    here, last = simple[lot], ends[simple]
    found = {site: _Sums(len(ages)) for site in np.unique(rows[:, SITE]).tolist()}
    look = (rows[here, SITE], place_before[here], rows[here, AGE])
    for site, before, place, died, trees in _summed(look, gone[here], at_risk[here]):
        found[site].look(_age(before, ages), ages[place], before, place, died, trees)
    known = (
        np.r_[rows[here, SITE], rows[last, SITE]],
        np.r_[place_before[here], rows[last, AGE]],
    )  # those lost at a look, and the last alive
    for site, before, trees in _summed(known, np.r_[-back[here], alive[last]]):
        found[site].span(_age(before, ages), np.inf, trees)
    for number in np.flatnonzero(~simple).tolist():
        of_lot = rows[starts[number] : ends[number] + 1].tolist()
        found[of_lot[0][SITE]].add(lot_lives({ages[row[AGE]]: Counts._make(row[COUNTS:]) for row in of_lot}, ages))
    return {site: SiteLives(sums.deaths, sums.at_risk, sums.looks, sums.spans) for site, sums in found.items()}


def _age(place, ages):
    """The age of a place; before the first census it is 0."""
    return ages[place] if place >= 0 else 0


def _summed(columns, *numbers):
    """(…columns, sums of the numbers) of the rows of each different combination."""
    widths = [int(column.max(initial=0)) + 2 for column in columns]
    codes, inverse = np.unique(np.ravel_multi_index([column + 1 for column in columns], widths), return_inverse=True)
    sums = [np.bincount(inverse, weights=one).astype(int) for one in numbers]
    return zip(*((column - 1).tolist() for column in np.unravel_index(codes, widths)), *(one.tolist() for one in sums), strict=True)


def _before(values, starts, first):
    """The value of the row before each; `first` in the first row of a lot."""
    shifted = np.r_[values[:1], values[:-1]].astype(np.int64)
    shifted[starts] = first
    return shifted


class _Sums:
    """SiteLives that are added up."""

    def __init__(self, ages):
        self.deaths, self.at_risk = np.zeros(ages, dtype=np.int64), np.zeros(ages, dtype=np.int64)
        self.looks, self.spans = {}, {}

    def look(self, age_before, age, place_before, place, gone, at_risk):
        """Trees between two looks. They are at risk at each age since the look before."""
        self.deaths[place] += gone
        self.at_risk[place_before + 1 : place + 1] += at_risk
        pair = self.looks.setdefault((age_before, age), [0, 0])
        pair[0] += gone
        pair[1] += at_risk
        self.span(age_before, age, gone)

    def span(self, since, until, trees):
        if trees:
            self.spans[since, until] = self.spans.get((since, until), 0) + trees

    def add(self, more):
        self.deaths += more.deaths
        self.at_risk += more.at_risk
        for look, (gone, trees) in more.looks.items():
            pair = self.looks.setdefault(look, [0, 0])
            pair[0] += gone
            pair[1] += trees
        for (since, until), trees in more.spans.items():
            self.span(since, until, trees)


def lot_lives(counts: dict[int, Counts], ages: Sequence[int]) -> SiteLives:
    """What the tallies of one lot in one planting say.

    Parameters
    ----------
    counts : dict of {age in growing seasons completed: Counts}
    ages : sequence of int, growing seasons completed
        All there are, in ascending order.

    Source
    ------
    Definition of this programme, in the notes of `lineage_lives`.
    """
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
    return SiteLives(np.array(deaths), np.array(at_risk), looks, {span: trees for span, trees in spans.items() if trees})
