"""How far two records of the same trees agree: statuses and classes by kappa, heights by bias and spread, several readings by an
intraclass correlation.

Where a figure cannot be estimated it is None, and `reason` says why in words for a screen.
"""

from collections.abc import Sequence
from math import sqrt
from statistics import NormalDist
from typing import NamedTuple

from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.proportion import check_confidence

UNWEIGHTED, LINEAR, SQUARED = "unweighted", "linear", "squared"
NO_PAIRS = gettext_noop("no tree has two records")
ONE_CLASS = gettext_noop("no disagreement possible to tell: both have recorded one and the same class everywhere")
ALL_AGREE = gettext_noop("both agree everywhere, which gives no interval")
FEW_KINDS = gettext_noop("too few kinds of records for an interval")
ONE_PAIR = gettext_noop("one tree only: a spread needs two")
NO_SPREAD = gettext_noop("all readings are the same: no difference between trees to compare with")
_NOTHING = 1e-12  # what is left of a sum of squares that is 0, after rounding
LIMITS_95 = 1.96  # of Bland and Altman's limits, as they print it


class Kappa(NamedTuple):
    """Agreement of two records beyond chance, -1 to 1, with its standard error and interval; None and a reason where undefined.

    `agreed` of `pairs` trees have the same class in both records. Where the standard error is 0 there is an estimate and no interval.
    """

    estimate: float | None
    error: float | None
    low: float | None
    high: float | None
    agreed: int
    pairs: int
    reason: str = ""


class BiasAndSpread(NamedTuple):
    """Second reading less first, in the unit of the readings: mean, standard deviation, limits between which 95 % of differences lie."""

    bias: float | None
    spread: float | None
    low: float | None
    high: float | None
    pairs: int
    reason: str = ""


class Correlation(NamedTuple):
    """An intraclass correlation with its interval; None and a reason where it cannot be estimated."""

    estimate: float | None
    low: float | None
    high: float | None
    reason: str = ""


class Correlations(NamedTuple):
    """Intraclass correlations of single readings, where the observers differ from tree to tree (1,1), are a sample of those there
    might be (2,1), or are all there are (3,1)."""

    one_way: Correlation
    two_way: Correlation
    fixed: Correlation


def class_agreement(
    pairs: Sequence[tuple[object, object]], classes: Sequence[object], weights: str = UNWEIGHTED, confidence: float = 0.95
) -> Kappa:
    """Kappa of two records of the same trees.

    Parameters
    ----------
    pairs : sequence of (first, second) class
    classes : sequence
        All classes, in their order where weighted.
    weights, confidence : str, float
        As `kappa`.

    Raises
    ------
    ValueError
        When a record has a class that is not in the list, and as `kappa`.

    Source
    ------
    `kappa`

    Examples
    --------
    >>> found = class_agreement([("A", "A"), ("A", "D"), ("D", "D")], ("A", "D"))
    >>> found.agreed, found.pairs, round(found.estimate, 2)
    (2, 3, 0.4)
    """
    place = {one: number for number, one in enumerate(classes)}
    if unknown := {one for pair in pairs for one in pair} - place.keys():
        raise ValueError(f"{', '.join(sorted(map(str, unknown)))} is not among the classes {', '.join(map(str, classes))}.")
    table = [[0] * len(classes) for _ in classes]
    for first, second in pairs:
        table[place[first]][place[second]] += 1
    return kappa(table, weights, confidence)


def kappa(table: Sequence[Sequence[int]], weights: str = UNWEIGHTED, confidence: float = 0.95) -> Kappa:
    """Cohen's kappa of a square table of two records, with the standard error for a kappa that is not 0.

    Parameters
    ----------
    table : square sequence of rows of numbers of trees, 0 or more
        First record down, second across; where weighted, classes in their order.
    weights : str
        `UNWEIGHTED`; `LINEAR`, where each step between two classes counts as much as the next; `SQUARED`.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Kappa

    Raises
    ------
    ValueError
        When the table is not square, a number is below 0, the weights are unknown, or confidence lies outside (0, 1).

    Notes
    -----
    Undefined (0/0) where chance alone would agree everywhere: both records have a single class. Then the raw agreement says all there is.

    Where both agree everywhere (1), or one record has a single class (0 whatever the other says), the standard error is 0 however few the
    trees; a range without width would then pass for certainty, so there is none.

    Simulated (`tests/simulation/COVERAGE.md`): with 60 trees the interval held the truth in 94 of 100 cases, weighted or not.

    Source
    ------
    Cohen 1960, Educ. Psychol. Meas. 20:37-46; weighted, Cohen 1968, Psychol. Bull. 70:213-220; standard error Fleiss, Cohen & Everitt 1969,
    Psychol. Bull. 72:323-327 (all from memory).

    Examples
    --------
    >>> found = kappa([[40, 5], [5, 50]])
    >>> round(found.estimate, 3), round(found.error, 3), found.agreed, found.pairs
    (0.798, 0.061, 90, 100)
    >>> kappa([[12, 0], [0, 0]]).reason[:31]
    'no disagreement possible to tel'
    """
    check_confidence(confidence)
    size = len(table)
    if any(len(row) != size for row in table):
        raise ValueError("A table of two records has as many rows as columns.")
    if any(number < 0 for row in table for number in row):
        raise ValueError("A number of trees is below 0.")
    weight = _weights(size, weights)
    pairs, agreed = sum(map(sum, table)), sum(table[one][one] for one in range(size))
    if not pairs:
        return Kappa(None, None, None, None, 0, 0, NO_PAIRS)
    share = [[number / pairs for number in row] for row in table]
    down, across = [sum(row) for row in share], [sum(column) for column in zip(*share, strict=True)]
    every = [(one, other) for one in range(size) for other in range(size)]
    seen = sum(weight[one][other] * share[one][other] for one, other in every)
    chance = sum(weight[one][other] * down[one] * across[other] for one, other in every)
    if sum(bool(number) for number in down) == sum(bool(number) for number in across) == 1 and agreed == pairs:
        return Kappa(None, None, None, None, agreed, pairs, ONE_CLASS)
    estimate = (seen - chance) / (1 - chance)
    mean_down = [sum(weight[one][other] * across[other] for other in range(size)) for one in range(size)]
    mean_across = [sum(weight[one][other] * down[one] for one in range(size)) for other in range(size)]
    squares = sum(
        share[one][other] * (weight[one][other] - (mean_down[one] + mean_across[other]) * (1 - estimate)) ** 2 for one, other in every
    )
    spread = squares - (estimate - chance * (1 - estimate)) ** 2
    if spread <= _NOTHING:
        return Kappa(estimate, 0.0, None, None, agreed, pairs, ALL_AGREE if agreed == pairs else FEW_KINDS)
    error = sqrt(spread / pairs) / (1 - chance)
    reach = NormalDist().inv_cdf((1 + confidence) / 2) * error
    return Kappa(estimate, error, max(estimate - reach, -1.0), min(estimate + reach, 1.0), agreed, pairs)


def _weights(size: int, weights: str) -> list[list[float]]:
    if weights not in (UNWEIGHTED, LINEAR, SQUARED):
        raise ValueError(f"“{weights}” does not name weights. Use {UNWEIGHTED}, {LINEAR} or {SQUARED}.")
    power = {UNWEIGHTED: 0, LINEAR: 1, SQUARED: 2}[weights]
    apart = max(size - 1, 1)
    return [
        [1.0 if one == other else 1 - (abs(one - other) / apart) ** power if power else 0.0 for other in range(size)] for one in range(size)
    ]


def bias_and_spread(pairs: Sequence[tuple[float, float]]) -> BiasAndSpread:
    """Mean difference of the second from the first reading, and the limits of agreement.

    Parameters
    ----------
    pairs : sequence of (first, second), both in one unit

    Returns
    -------
    BiasAndSpread
        The spread with n - 1; limits at 1.96 of it either side.

    Notes
    -----
    Simulated (`tests/simulation/COVERAGE.md`): limits from 60 trees hold the difference of the next tree in 94 of 100 cases.

    Source
    ------
    Bland & Altman 1986, Lancet i:307-310 (definition from memory).

    Examples
    --------
    >>> found = bias_and_spread([(100, 102), (150, 149), (200, 202)])
    >>> found.bias, round(found.spread, 3), round(found.low, 2), round(found.high, 2)
    (1.0, 1.732, -2.39, 4.39)
    """
    differences = [float(second) - float(first) for first, second in pairs]
    number = len(differences)
    if not number:
        return BiasAndSpread(None, None, None, None, 0, NO_PAIRS)
    bias = sum(differences) / number
    if number == 1:
        return BiasAndSpread(bias, None, None, None, 1, ONE_PAIR)
    spread = sqrt(sum((one - bias) ** 2 for one in differences) / (number - 1))
    return BiasAndSpread(bias, spread, bias - LIMITS_95 * spread, bias + LIMITS_95 * spread, number)


def intraclass_correlations(readings: Sequence[Sequence[float]], confidence: float = 0.95) -> Correlations:
    """Intraclass correlations of single readings, with their intervals.

    Parameters
    ----------
    readings : sequence of rows, one a tree, each with the readings of the same observers in the same order
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Correlations

    Raises
    ------
    ValueError
        When the rows differ in length, or confidence lies outside (0, 1).

    Source
    ------
    Shrout & Fleiss 1979, Psychol. Bull. 86:420-428 (formulas from memory; their example is in the tests).
    """
    check_confidence(confidence)
    trees, observers = len(readings), len(readings[0]) if readings else 0
    if any(len(row) != observers for row in readings):
        raise ValueError("Each tree has one reading of each observer.")
    if trees < 2 or observers < 2:
        return Correlations(*[Correlation(None, None, None, ONE_PAIR if trees else NO_PAIRS)] * 3)
    between, within, of_observers, rest = _mean_squares(readings, trees, observers)
    if not between and not within:
        return Correlations(*[Correlation(None, None, None, NO_SPREAD)] * 3)
    more, upper = observers - 1, (1 + confidence) / 2
    one_way = _correlation(between, within, observers, (trees - 1, trees * more), upper)
    fixed = _correlation(between, rest, observers, (trees - 1, (trees - 1) * more), upper)
    total = between + more * rest + observers * (of_observers - rest) / trees
    if total <= _NOTHING * (between + rest + of_observers):
        return Correlations(one_way, Correlation(None, None, None, NO_SPREAD), fixed)
    estimate = (between - rest) / total
    ends = _two_way_ends(between, of_observers, rest, trees, observers, estimate, upper)
    return Correlations(one_way, Correlation(estimate, *ends), fixed)


def _mean_squares(readings, trees, observers):
    """(between trees, within trees, between observers, rest)."""
    mean = sum(map(sum, readings)) / (trees * observers)
    of_trees = observers * sum((sum(row) / observers - mean) ** 2 for row in readings)
    of_observers = trees * sum((sum(column) / trees - mean) ** 2 for column in zip(*readings, strict=True))
    total = sum((value - mean) ** 2 for row in readings for value in row)
    within, rest = total - of_trees, max(total - of_trees - of_observers, 0.0)
    more = observers - 1
    return of_trees / (trees - 1), within / (trees * more), of_observers / more, rest / ((trees - 1) * more)


def _correlation(between, noise, observers, freedom, upper):
    more = observers - 1
    if between + more * noise <= _NOTHING:
        return Correlation(None, None, None, NO_SPREAD)
    estimate = (between - noise) / (between + more * noise)
    if not noise:
        return Correlation(estimate, estimate, estimate)
    ratio = between / noise
    low, high = ratio / _f_quantile(*freedom, upper), ratio * _f_quantile(*reversed(freedom), upper)
    return Correlation(estimate, (low - 1) / (low + more), (high - 1) / (high + more))


def _two_way_ends(between, of_observers, rest, trees, observers, estimate, upper):
    """The interval of the two-way correlation, by Satterthwaite's degrees of freedom."""
    if not rest:
        return (None, None)
    more, ratio = observers - 1, of_observers / rest
    ahead = observers * ratio * estimate + trees * (1 + more * estimate) - observers * estimate
    behind = more * (trees - 1) * ahead**2
    under = (trees - 1) * (observers * ratio * estimate) ** 2 + (trees * (1 + more * estimate) - observers * estimate) ** 2
    if not behind or not under:
        return (None, None)
    freedom = behind / under
    high, low = _f_quantile(trees - 1, freedom, upper), _f_quantile(freedom, trees - 1, upper)
    noise = observers * of_observers + (observers * trees - observers - trees) * rest
    return (
        trees * (between - high * rest) / (high * noise + trees * between),
        trees * (low * between - rest) / (noise + trees * low * between),
    )


def _f_quantile(first, second, upper):
    from scipy.special import fdtri  # a heavy import, needed only where second measurements are compared

    return float(fdtri(first, second, upper))
