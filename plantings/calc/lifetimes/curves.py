"""Survival over the ages from counts: the life table with its band, and the log-rank test, plain and stratified."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np

from registry.calc.shared.proportion import check_confidence


@dataclass(frozen=True, slots=True)
class Step:
    """One age of a life table: trees at risk in the interval that ends there, those of them gone, and survival from planting to there.

    `low` and `high` are None where all trees still live or none is left at risk: no band can be made there.
    """

    at_risk: int
    deaths: int
    share: float
    error: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class LogRank:
    """A log-rank test: deaths seen and expected of each group, chi-square with its degrees of freedom, and p. None without deaths."""

    observed: tuple[float, ...]
    expected: tuple[float, ...]
    chi_square: float | None
    df: int
    p: float | None


def life_table(deaths: Sequence[int], at_risk: Sequence[int], confidence: float = 0.95) -> list[Step]:
    """Survival S = product of (1 - deaths / at risk), with Greenwood's error and a log-log band.

    Parameters
    ----------
    deaths, at_risk : sequences of int, one pair an age in ascending order
        Trees gone in the interval that ends at the age, and trees that were alive before and of known state at its end. The table stops at
        the first age without trees at risk.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    list of Step
        Shares and errors 0 to 1.

    Raises
    ------
    ValueError
        When the lengths differ, or more are gone than were at risk.

    Notes
    -----
    With one census a year this is the life table and the Kaplan-Meier curve at once. Trees that were lost, not visited or removed leave the
    numbers at risk. Variance: S² times the sum of d / (n (n - d)); band: S to the power exp(± z · error / (S · log S)). Trees
    are taken as independent: see `band_over_sites`.

    Source
    ------
    Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457-481; Greenwood 1926; log-log band: Kalbfleisch & Prentice 1980 (all from memory).

    Examples
    --------
    >>> [round(step.share, 5) for step in life_table([12, 6, 9, 3], [100, 88, 80, 71])]
    [0.88, 0.82, 0.72775, 0.697]
    """
    check_confidence(confidence)
    if len(deaths) != len(at_risk):
        raise ValueError(f"There are {len(deaths)} counts gone and {len(at_risk)} at risk. Give one pair an age.")
    z, steps, share, total = normal_quantile(confidence), [], 1.0, 0.0
    for gone, trees in zip(deaths, at_risk, strict=True):
        if not 0 <= gone <= trees:
            raise ValueError(f"{gone} trees are gone of {trees} at risk: give counts from 0 to the number at risk.")
        if not trees:
            break
        share *= 1 - gone / trees
        total += gone / (trees * (trees - gone)) if gone < trees else 0.0
        steps.append(step_of(trees, gone, share, share * sqrt(total), z * sqrt(total)))
    return steps


def step_of(trees: float, gone: float, share: float, error: float, half: float) -> Step:
    """One step of a curve with its band on the log-log scale.

    Parameters
    ----------
    trees, gone : number
        At risk in the interval, and gone.
    share, error : float, 0 to 1
        Survival and its standard error.
    half : float, 0 or more
        Half the width of the band on the scale of log S.

    Source
    ------
    Kalbfleisch & Prentice 1980 (from memory), as in `life_table`.
    """
    if not 0 < share < 1:
        return Step(int(trees), int(gone), share, 0.0 if share else error, None, None)
    reach = half / abs(log(share))
    return Step(int(trees), int(gone), share, error, share ** exp(reach), share ** exp(-reach))


def band_over_sites(deaths: np.ndarray, at_risk: np.ndarray, confidence: float = 0.95) -> list[Step]:
    """The life table of several sites together, with the wider of two bands: one over the trees and one over the sites.

    Parameters
    ----------
    deaths, at_risk : arrays, sites × ages
        As for `life_table`, of each site.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    list of Step
        Shares 0 to 1; `error` is the greater of the two.

    Raises
    ------
    ValueError
        As for `life_table`.

    Notes
    -----
    The band over the sites leaves out one site at a time: variance (k - 1) / k times the sum of squares of log S without the site
    about their mean, with the quantile of t at k - 1 degrees of freedom, on the log-log scale. Ages that only one site reaches, and
    those where leaving out one site leaves nobody alive or at risk, have the band over the trees alone.

    Source
    ------
    `life_table`; the jackknife over clusters: Lipsitz & Parzen 1996, Biometrics 52:291-298 (from memory); the choice of the wider one is
    that of this programme.

    Examples
    --------
    >>> [step] = band_over_sites(np.array([[2], [9]]), np.array([[20], [20]]))
    >>> round(step.share, 3), step.low < 0.5
    (0.725, True)
    """
    from scipy.special import stdtrit  # a heavy import, needed only where curves cover several sites

    deaths, at_risk = np.asarray(deaths), np.asarray(at_risk)
    steps = life_table(deaths.sum(axis=0).tolist(), at_risk.sum(axis=0).tolist(), confidence)
    found, z = [], normal_quantile(confidence)
    for age, step in enumerate(steps):
        there = [site for site in range(len(at_risk)) if at_risk[site, : age + 1].any()]
        reach = [site for site in there if at_risk[site, age]]
        logs = [_log_share(deaths, at_risk, site, age) for site in there]
        if step.low is None or len(reach) < 2 or None in logs:
            found.append(step)
            continue
        spread = (len(logs) - 1) / len(logs) * float(np.sum((np.array(logs) - np.mean(logs)) ** 2))
        half = float(stdtrit(len(logs) - 1, (1 + confidence) / 2)) * sqrt(spread)
        wider = half > z * step.error / step.share
        found.append(step_of(step.at_risk, step.deaths, step.share, max(step.error, step.share * sqrt(spread)), half) if wider else step)
    return found


def _log_share(deaths, at_risk, without, age):
    """log S at an age without one site; None where that cannot be."""
    gone = deaths[:, : age + 1].sum(axis=0) - deaths[without, : age + 1]
    trees = at_risk[:, : age + 1].sum(axis=0) - at_risk[without, : age + 1]
    if (gone >= trees).any():
        return None
    return float(np.log1p(-gone / trees).sum())


@dataclass(frozen=True, slots=True)
class Part:
    """What one stratum adds to a test: deaths seen and expected of each group, and the covariance of their difference."""

    observed: np.ndarray
    expected: np.ndarray
    variance: np.ndarray


def log_rank(strata: Sequence[tuple[np.ndarray, np.ndarray]], early: bool = False) -> LogRank:
    """The log-rank test of two groups or more; with several strata, groups are compared within each.

    Parameters
    ----------
    strata : sequence of (deaths, at risk), each an array groups × ages
        One pair for the plain test. Groups are the same in every stratum.
    early : bool
        True weighs each age by the survival of both groups together just before it (Peto & Peto), so that early deaths count for more.

    Returns
    -------
    LogRank
        Chi-square with groups - 1 degrees of freedom; chi-square and p are None where nothing can be compared. With `early` the deaths
        seen and expected are weighted too.

    Raises
    ------
    ValueError
        When there is no stratum or only one group.

    Notes
    -----
    At each age the deaths of a group are expected in proportion to its trees at risk; the variance is hypergeometric. Trees are taken as
    independent within a stratum, so p is too small where a lineage reacts to single sites.

    Source
    ------
    Mantel 1966, Cancer Chemother. Rep. 50:163-170; Peto & Peto 1972, J. R. Stat. Soc. A 135:185-207; Harrington & Fleming 1982,
    Biometrika 69:553-566 (all from memory). Values checked against R survival 3.5-3 in the tests.

    Examples
    --------
    >>> test = log_rank([(np.array([[8, 4], [2, 2]]), np.array([[20, 12], [20, 18]]))])
    >>> round(test.chi_square, 3), test.df
    (6.793, 1)
    """
    return rank_test([log_rank_part(deaths, at_risk, early) for deaths, at_risk in strata])


def log_rank_part(deaths: np.ndarray, at_risk: np.ndarray, early: bool = False) -> Part:
    """What one stratum adds to `log_rank`.

    Parameters
    ----------
    deaths, at_risk : arrays, groups × ages
        Trees.
    early : bool
        As for `log_rank`.

    Source
    ------
    `log_rank`.
    """
    deaths, at_risk = np.asarray(deaths, float), np.asarray(at_risk, float)
    groups = len(deaths)
    observed, expected, variance = np.zeros(groups), np.zeros(groups), np.zeros((groups, groups))
    weight = 1.0
    for gone, trees in zip(deaths.T, at_risk.T, strict=True):
        all_gone, all_trees = gone.sum(), trees.sum()
        if not all_gone:
            continue
        if all_trees >= 2:
            share = trees / all_trees
            observed, expected = observed + weight * gone, expected + weight * all_gone * share
            factor = all_gone * (all_trees - all_gone) / (all_trees - 1)
            variance += weight**2 * factor * (np.diag(share) - np.outer(share, share))
        if early:
            weight *= 1 - all_gone / all_trees
    return Part(observed, expected, variance)


def rank_test(parts: Sequence[Part]) -> LogRank:
    """The test that several strata give together.

    Parameters
    ----------
    parts : sequence of Part
        One a stratum, in trees; groups are the same in every stratum.

    Returns
    -------
    LogRank
        Chi-square with groups - 1 degrees of freedom; chi-square and p are None where nothing can be compared.

    Raises
    ------
    ValueError
        When there is no part or only one group.

    Source
    ------
    Mantel 1966, Cancer Chemother. Rep. 50:163-170 (from memory).
    """
    if not parts or len(parts[0].observed) < 2:
        raise ValueError("A log-rank test needs two groups in one stratum or more.")
    groups = len(parts[0].observed)
    observed, expected, variance = (sum(getattr(part, name) for part in parts) for name in ("observed", "expected", "variance"))
    chi_square = p = None
    if np.linalg.matrix_rank(variance) == groups - 1:
        from scipy.special import chdtrc  # a heavy import, needed only where there is something to compare

        difference = (observed - expected)[:-1]
        chi_square = float(difference @ np.linalg.solve(variance[:-1, :-1], difference))
        p = float(chdtrc(groups - 1, chi_square))
    return LogRank(tuple(observed.tolist()), tuple(expected.tolist()), chi_square, groups - 1, p)


def normal_quantile(confidence: float) -> float:
    """The z that belongs to a two-sided confidence.

    Parameters
    ----------
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    float, standard deviations

    Raises
    ------
    ValueError
        When confidence lies outside its range.

    Source
    ------
    Quantile of the normal distribution: common practice, no source.
    """
    check_confidence(confidence)
    from statistics import NormalDist

    return NormalDist().inv_cdf((1 + confidence) / 2)
