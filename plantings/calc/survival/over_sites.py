"""Shares and differences over several sites, with intervals that know that trees on one site share its fate."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import isfinite, sqrt
from operator import le
from typing import NamedTuple

import numpy as np

from plantings.calc.results import Difference
from plantings.calc.survival.proportions import NO_TREES, newcombe_ends
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.proportion import check_confidence, check_count, score_ends, score_limits
from registry.calc.shared.remembered import remembered

NO_COMMON_SITE = gettext_noop("no site has both")
ONE_COMMON_SITE = gettext_noop("one common site: cannot tell")
NO_SPREAD = gettext_noop("no spread over the sites: interval from the trees alone")
_MANY = 50  # from here on arrays are quicker
_ALIKE = 1e-12  # shares of sites nearer than this differ by rounding only
# Outside these shares no interval over sites holds where trees within a site are much alike.
HOLDS_FROM, HOLDS_TO = 0.1, 0.9


class Spread(NamedTuple):
    """A weighted mean over sites, its variance from how far the sites lie apart, and the degrees of freedom of that variance."""

    estimate: float
    variance: float
    df: float


@dataclass(frozen=True, slots=True)
class OverSites:
    """A share over several sites with its 95 % interval.

    `standard_error` follows the sites; `design_effect` is its square over that of independent trees and None where every
    tree has the same fate. `holds` is False where the share lies so near 0 or 1 that the interval may be too narrow.
    """

    share: float
    low: float
    high: float
    standard_error: float
    design_effect: float | None
    df: float
    sites: int
    holds: bool


def site_spread(values: Sequence[float], weights: Sequence[float]) -> Spread:
    """The weighted mean of one value a site, with the CR2 variance and Satterthwaite's degrees of freedom.

    Parameters
    ----------
    values : sequence of float, one a site
        A share, or a difference of two shares.
    weights : sequence of float above 0, one a site
        How much each site tells; only their ratios matter.

    Returns
    -------
    Spread
        Where all sites have the same value the variance is exactly 0.

    Raises
    ------
    ValueError
        With fewer than two sites, sequences of different length, or a weight that is not above 0.

    Notes
    -----
    With w = weights / sum and e the mean: V = sum of w²(v - e)² / (1 - w). The degrees of freedom are (tr B)² / tr(B²) for the matrix
    B of that quadratic form under a working model in which the variance of a site is 1 / weight. Both traces have closed sums, so
    the cost grows with the number of sites and not with its square.

    Source
    ------
    Bell & McCaffrey 2002, Survey Methodology 28:169-181; Pustejovsky & Tipton 2018, J. Bus. Econ. Stat. 36:672-683 (both from memory);
    values checked against R clubSandwich 0.5.8 in the tests.

    Examples
    --------
    >>> found = site_spread([0.5, 0.7, 0.9], [20, 20, 20])
    >>> round(found.estimate, 3), round(sqrt(found.variance), 4), round(found.df, 1)
    (0.7, 0.1155, 2.0)
    """
    if len(values) != len(weights):
        raise ValueError(f"There are {len(values)} values and {len(weights)} weights. Give one of each a site.")
    if len(values) < 2:
        raise ValueError("The spread over sites needs two sites or more.")
    total = sum(weights)
    if not min(weights) > 0:
        raise ValueError(f"A site has the weight {min(weights):g}. Give a weight above 0, or leave the site out.")
    if len(values) > _MANY:
        return _spread_of_many(np.array(values, dtype=float), np.array(weights, dtype=float) / total)
    w = [weight / total for weight in weights]
    estimate = sum(share * value for share, value in zip(w, values, strict=True))
    a = [share * share / (1 - share) for share in w]
    variance = sum(part * (value - estimate) ** 2 for part, value in zip(a, values, strict=True))
    if max(values) - min(values) < _ALIKE:
        variance = 0.0
    df = 1 / (sum(share * share for share in w) + sum(a) ** 2 - sum(part * part for part in a))
    return Spread(estimate, variance, df)


def _spread_of_many(values, w):
    """The same by arrays."""
    estimate = float(w @ values)
    a = w * w / (1 - w)
    variance = float(a @ (values - estimate) ** 2) if np.ptp(values) >= _ALIKE else 0.0
    return Spread(estimate, variance, float(1 / (w @ w + a.sum() ** 2 - a @ a)))


@remembered
def share_over_sites(alive: Sequence[int], n: Sequence[int], confidence: float = 0.95) -> OverSites:
    """A share over several sites: the wider of an interval over the sites and one over the trees.

    Parameters
    ----------
    alive, n : sequences of int, one pair a site
        Trees alive and trees assessed. A site with n = 0 is left out.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    OverSites
        `share` is all alive over all assessed, so a large site weighs more than a small one.

    Raises
    ------
    ValueError
        When fewer than two sites have trees, the sequences differ in length, or a pair is impossible.

    Notes
    -----
    The interval over sites is Wilson's on the effective number of trees p(1 - p) / V with the quantile of t at the degrees of freedom of
    `site_spread`; the one over trees is Wilson's on all of them. Sites are taken as a sample from many.

    Simulated by `tests/benchmarks/coverage_over_sites.py`, 1,000 runs a cell, likeness of trees within a site 0, 0.05, 0.1 and 0.3, a true
    share of 0.5 and 0.7, equal and uneven sites of 10 to 90 trees; lowest and highest share of intervals that held the truth:

    ======  ===========
    sites   held
    ======  ===========
    3       0.94 – 1.00
    6       0.94 – 0.99
    12      0.93 – 0.98
    30      0.93 – 0.97
    ======  ===========

    At a true share of 0.95 and a likeness of 0.1 or more it held 0.78 to 1.00 only; `holds` says where that can be.

    Source
    ------
    `site_spread`; Wilson 1927; the choice of the wider one after a simulation of this programme.

    Examples
    --------
    >>> found = share_over_sites([12, 9, 15, 11, 7, 14, 13, 10], [16, 16, 16, 15, 16, 16, 14, 16])
    >>> round(found.share, 3), round(found.low, 4), round(found.high, 4)
    (0.728, 0.5588, 0.8498)
    """
    pairs = _pairs(alive, n)
    if len(pairs) < 2:
        raise ValueError("A share over sites needs trees on two sites or more.")
    total = sum(trees for _, trees in pairs)
    living = sum(successes for successes, _ in pairs)
    share, variance, df = site_spread([successes / trees for successes, trees in pairs], [trees for _, trees in pairs])
    ends = score_limits(living, total, confidence)
    binomial = share * (1 - share) / total
    if variance > 0:
        over_sites = score_ends(share, share * (1 - share) / variance, _t_quantile(df, confidence))
        ends = max(ends, over_sites, key=_width)
    effect = variance / binomial if binomial > 0 else None
    holds = HOLDS_FROM <= share <= HOLDS_TO
    return OverSites(living / total, *ends, sqrt(variance), effect, df, len(pairs), holds)


@remembered
def difference_over_sites(
    alive: Sequence[int], n: Sequence[int], alive_check: Sequence[int], n_check: Sequence[int], confidence: float = 0.95
) -> Difference:
    """Survival less that of the check on the same sites: the wider of an interval over the sites and one over the trees.

    Parameters
    ----------
    alive, n, alive_check, n_check : sequences of int, one of each a site
        Trees alive and trees assessed, of the lineage and of its check. Sites where either has no trees are left out.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Difference
        The mean of the sites' own differences, each weighted by n·n_check / (n + n_check). With one common site there is a difference but
        no interval, with none neither; `reason` says so, and also where the sites do not differ, so that the interval is from the trees
        alone. Ends may lie outside -1 to 1 by rounding only.

    Raises
    ------
    ValueError
        When the sequences differ in length, or a pair is impossible.

    Notes
    -----
    A lineage may do better than its check on one site and worse on the next. The interval over sites, estimate ± t·√V of `site_spread`,
    sees that; with few trees and shares near 1 it is too narrow, where Newcombe's on the site-weighted shares holds, so the wider is taken.

    Simulated by `tests/benchmarks/coverage_over_sites.py`, 1,000 runs a cell, sites varying with SD 1 and the lineage's own reaction to
    a site with SD 0, 0.5 and 1 (logit scale), seven designs from 5 test and 3 check trees a site to 60 and 15, equal and uneven; lowest and
    highest share of intervals that held the truth:

    ======  ===========
    sites   held
    ======  ===========
    3       0.97 – 1.00
    6       0.96 – 1.00
    12      0.95 – 0.99
    30      0.94 – 0.98
    ======  ===========

    Source
    ------
    `site_spread`; Newcombe 1998, Stat. Med. 17:873-890, method 10; the choice of the wider one after a simulation of this programme.

    Examples
    --------
    >>> found = difference_over_sites([57, 22, 8], [90, 27, 25], [8, 13, 3], [30, 27, 28])
    >>> round(found.estimate, 3), found.low < found.estimate < found.high
    (0.316, True)
    """
    test, check = _pairs(alive, n, leave_out=False), _pairs(alive_check, n_check, leave_out=False)
    if len(test) != len(check):
        raise ValueError(f"There are {len(test)} sites of the lineage and {len(check)} of the check. Give one pair of each a site.")
    check_confidence(confidence)
    sites = [(x1, n1, x0, n0) for (x1, n1), (x0, n0) in zip(test, check, strict=True) if n1 and n0]
    if not sites:
        return Difference(None, None, None, NO_COMMON_SITE)
    differences = [x1 / n1 - x0 / n0 for x1, n1, x0, n0 in sites]
    if len(sites) == 1:
        return Difference(differences[0], None, None, ONE_COMMON_SITE)
    weights = [n1 * n0 / (n1 + n0) for _, n1, _, n0 in sites]
    estimate, variance, df = site_spread(differences, weights)
    ends = _newcombe_at_weights(sites, weights, confidence)
    if variance > 0:
        half = _t_quantile(df, confidence) * sqrt(variance)
        ends = max(ends, (max(-1.0, estimate - half), min(1.0, estimate + half)), key=_width)
    return Difference(estimate, *ends, "" if variance > 0 else NO_SPREAD)


def _newcombe_at_weights(sites, weights, confidence):
    """Newcombe's interval for the two site-weighted shares, each with the number of trees that gives its variance at these weights."""
    total = sum(weights)
    w = [weight / total for weight in weights]
    shares, numbers = [], []
    for successes, trees in ((0, 1), (2, 3)):
        shares.append(sum(part * site[successes] / site[trees] for part, site in zip(w, sites, strict=True)))
        numbers.append(1 / sum(part * part / site[trees] for part, site in zip(w, sites, strict=True)))
    return newcombe_ends(*shares, *numbers, confidence)


def _pairs(alive, n, leave_out=True):
    if len(alive) != len(n):
        raise ValueError(f"There are {len(alive)} sites with trees alive and {len(n)} with trees assessed. Give one pair a site.")
    if not (min(alive, default=0) >= 0 and all(map(le, alive, n)) and isfinite(sum(n))):
        for successes, trees in zip(alive, n, strict=True):
            check_count(successes, trees)
    return [(successes, trees) for successes, trees in zip(alive, n, strict=True) if trees or not leave_out]


def _width(ends):
    return ends[1] - ends[0]


def t_half(df: float, variance: float) -> float:
    """Half the width of a 95 % interval by t.

    Parameters
    ----------
    df : float above 0
        Degrees of freedom of the variance.
    variance : float, 0 or more
        Of the estimate, in the square of its unit.

    Returns
    -------
    float, 0 or more, in the unit of the estimate.

    Source
    ------
    Student 1908, Biometrika 6:1-25 (from memory).

    Examples
    --------
    >>> round(t_half(4, 1.0), 4)
    2.7764
    """
    return _t_quantile(df, 0.95) * sqrt(variance)


@lru_cache(maxsize=4_096)
def _t_quantile(df: float, confidence: float) -> float:
    from scipy.special import stdtrit  # a heavy import, needed only where a figure covers several sites

    check_confidence(confidence)
    return float(stdtrit(df, (1 + confidence) / 2))


__all__ = [
    "HOLDS_FROM", "HOLDS_TO", "NO_COMMON_SITE", "NO_SPREAD", "NO_TREES", "ONE_COMMON_SITE", "OverSites", "Spread",
    "difference_over_sites", "share_over_sites", "site_spread", "t_half",
]  # fmt: skip
