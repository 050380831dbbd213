"""Replicates of a germination test judged by the published table of tolerated ranges."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

from registry.calc.shared.proportion import wilson_interval
from registry.calc.shared.screen import amount_words


def _rows(ranges):
    """Mean percent -> tolerated range, where a mean and 101 minus that mean share a row."""
    pairs = ((mean, tolerated) for first, last, tolerated in ranges for mean in range(first, last + 1))
    return dict(chain.from_iterable(((mean, tolerated), (101 - mean, tolerated)) for mean, tolerated in pairs))


# Stored, never computed: the published steps differ by one from any formula in several rows.
# Miles 1963, Proc. Int. Seed Test. Assoc. 28:525-686, as printed in 7 CFR 201.55; rows below 71 of the first table from memory.
_FOUR_BY_100 = _rows(
    [(99, 99, 5), (98, 98, 6), (97, 97, 7), (96, 96, 8), (95, 95, 9), (93, 94, 10), (91, 92, 11), (89, 90, 12), (87, 88, 13), (84, 86, 14),
     (81, 83, 15), (78, 80, 16), (73, 77, 17), (67, 72, 18), (56, 66, 19), (51, 55, 20)]
)  # fmt: skip
_TWO_BY_100 = _rows(
    [(96, 97, 6), (95, 95, 7), (93, 94, 8), (90, 92, 9), (88, 89, 10), (84, 87, 11), (81, 83, 12), (76, 80, 13), (71, 75, 14)]
)  # fmt: skip
_TABLES = {(100,) * 4: _FOUR_BY_100, (100,) * 2: _TWO_BY_100}
_PRINTED = "Miles 1963, as printed in 7 CFR 201.55"
_FROM_MEMORY = "Miles 1963, this row from memory: check it against the printed table of 7 CFR 201.55"
_READ_FROM = {(100,) * 4: 71, (100,) * 2: 51}  # the lowest upper mean of a row whose figure was read, not remembered


@dataclass(frozen=True, slots=True)
class Replicate:
    """Seeds set to germinate together, and how many of them made a normal seedling."""

    germinated: int
    seeds: int


@dataclass(frozen=True, slots=True)
class Germination:
    """What the replicates of one test say.

    `mean_percent` is whole, halves up; `range_points` and `tolerated_points` are percentage points, `tolerated_points` and
    `within` None where no stored table applies; `source` is that of the row used, "" where none was; `low` and `high` are the 95 %
    Wilson interval of the pooled share.
    """

    germinated: int
    seeds: int
    share: float
    low: float
    high: float
    mean_percent: int
    range_points: float
    tolerated_points: int | None
    within: bool | None
    message: str
    source: str = ""


def judge_germination(replicates: Sequence[Replicate]) -> Germination:
    """Result of a germination test, and whether its replicates agree well enough for it to count.

    Parameters
    ----------
    replicates : sequence of Replicate, at least one
        Four replicates of 100 seeds, or two of 100, are judged by the stored table. Any other plan gets its
        pooled result and interval, and no judgement: the table was made for replicates of 100.

    Returns
    -------
    Germination
        The pooled result and its interval, and the judgement of the range.

    Raises
    ------
    ValueError
        When there is no replicate, or one has no seeds or more seedlings than seeds; it names the replicate.

    Notes
    -----
    Replicates of one seed lot are taken as independent draws. Where they are drawn from one sample of 400 seeds the
    tolerated range may be a point higher in about a quarter of the rows (Seed Sci. Technol. 46(2), 2018, abstract).

    Source
    ------
    Miles 1963, Proc. Int. Seed Test. Assoc. 28:525-686; 7 CFR 201.55 (retest when the range exceeds the table).

    Examples
    --------
    >>> result = judge_germination([Replicate(n, 100) for n in (85, 84, 90, 79)])
    >>> result.mean_percent, result.range_points, result.tolerated_points, result.within
    (85, 11.0, 14, True)
    """
    _check(replicates)
    germinated, seeds = sum(r.germinated for r in replicates), sum(r.seeds for r in replicates)
    pooled = wilson_interval(germinated, seeds)
    mean_percent = whole_percent(germinated, seeds)
    percents = [100 * r.germinated / r.seeds for r in replicates]
    range_points = max(percents) - min(percents)
    plan = tuple(r.seeds for r in replicates)
    tolerated = _TABLES.get(plan, {}).get(mean_percent)
    within = None if tolerated is None else range_points <= tolerated
    message = _no_row(plan, mean_percent) if tolerated is None else _judgement(range_points, tolerated, mean_percent)
    return Germination(
        germinated, seeds, pooled.share, pooled.low, pooled.high, mean_percent, range_points, tolerated, within, message,
        "" if tolerated is None else _row_source(plan, mean_percent),
    )  # fmt: skip


def _row_source(plan, mean_percent):
    """A mean and 101 minus that mean share a row, so they share its source."""
    return _PRINTED if max(mean_percent, 101 - mean_percent) >= _READ_FROM[plan] else _FROM_MEMORY


def whole_percent(part: int, whole: int) -> int:
    """A share as a whole percent, halves up, in whole numbers throughout.

    Parameters
    ----------
    part, whole : int
        Counts of the same things; `whole` is 1 or more.

    Returns
    -------
    int
        Percent.

    Raises
    ------
    ValueError
        When `whole` is below 1.

    Source
    ------
    Seed testing rounds halves up (7 CFR 201.55 and ISTA chapter 5, from memory); Python's round() goes to the even number.

    Examples
    --------
    >>> whole_percent(338, 400), round(84.5)
    (85, 84)
    """
    if whole < 1:
        raise ValueError(f"The number of seeds is {whole}. Give 1 or more.")
    return (200 * part + whole) // (2 * whole)


def _check(replicates):
    if not replicates:
        raise ValueError("The test has no replicate. Give the seeds and the seedlings of at least one.")
    for number, replicate in enumerate(replicates, start=1):
        if replicate.seeds < 1:
            raise ValueError(f"Replicate {number} has {replicate.seeds} seeds. Give 1 or more, or leave the replicate out.")
        if not 0 <= replicate.germinated <= replicate.seeds:
            raise ValueError(
                f"Replicate {number} has {replicate.germinated} germinated of {amount_words(replicate.seeds, 'seeds')}. "
                f"Give a count from 0 to {replicate.seeds}."
            )


def _judgement(range_points, tolerated, mean_percent):
    if range_points <= tolerated:
        return (
            f"The replicates agree: they differ by {range_points:g} points, {tolerated} are tolerated at a mean of {mean_percent} %. "
            "The result counts."
        )
    return (
        f"Test again: the replicates differ by {range_points:g} points, only {tolerated} are tolerated at a mean of {mean_percent} %. "
        "Look for a cause first: mould, uneven water or light, a counting mistake, a lot not mixed before sampling."
    )


def _no_row(plan, mean_percent):
    if plan in _TABLES:
        return f"The stored table has no row for a mean of {mean_percent} % with {len(plan)} replicates of 100, so the range is not judged."
    return (
        "No stored table for this plan: only four replicates of 100 seeds, or two of 100, are judged. "
        "The pooled result and its interval are given; the replicates are not compared with each other."
    )
