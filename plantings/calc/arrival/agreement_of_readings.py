"""How far two readings of the same trees agree: bias and spread; of several readings an intraclass correlation."""

from collections.abc import Sequence
from math import sqrt

from plantings.calc.arrival.agreement import NO_PAIRS, NO_SPREAD, NOTHING, ONE_PAIR, BiasAndSpread, Correlation, Correlations
from registry.calc.shared.proportion import check_confidence

LIMITS_95 = 1.96  # of Bland and Altman's limits, as they print it


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
    if total <= NOTHING * (between + rest + of_observers):
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
    if between + more * noise <= NOTHING:
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
