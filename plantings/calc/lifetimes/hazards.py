"""How much faster or slower one group of trees dies than another: proportional hazards where deaths are known by census only."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np

from plantings.calc.lifetimes.curves import normal_quantile
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.proportion import check_confidence

CLOGLOG, LOGIT = "complementary log-log", "logit"
NONE_DIED = gettext_noop("none of its trees died where both are planted")
NO_CHECK_DIED = gettext_noop("no native check died where both are planted")
ALL_DIED = gettext_noop("no interval left where some of both died and some lived")
NOT_FITTED = gettext_noop("the model did not converge")
_TURNS_MAX, _ENOUGH = 100, 1e-12


@dataclass(frozen=True, slots=True)
class HazardFit:
    """Coefficients on the scale of the link, their covariance from the expected information, the score of each cell by coefficient,
    and the log-likelihood without binomial constants."""

    coefficients: np.ndarray
    covariance: np.ndarray
    scores: np.ndarray
    log_likelihood: float
    converged: bool


@dataclass(frozen=True, slots=True)
class HazardRatio:
    """A group against another: their ratio of hazards with its interval, and the ratio of the odds to die in an interval.

    `constant_p` is the test that the ratio is the same at all ages, None where there is one interval only. Everything is None where
    `reason` says why. `sites` are those that tell something; with one, the interval is from the trees alone.
    """

    ratio: float | None
    low: float | None
    high: float | None
    odds: float | None
    constant_p: float | None
    sites: int
    reason: str = ""


def grouped_fit(deaths: Sequence[int], at_risk: Sequence[int], design: np.ndarray, link: str = CLOGLOG) -> HazardFit:
    """Fit the chance to die within an interval, given alive at its beginning.

    Parameters
    ----------
    deaths, at_risk : sequences of int, one pair a cell
        A cell is all trees that share an interval and what the design says of them; at risk is 1 or more.
    design : array, cells × coefficients
        Linearly independent columns: one of 0 and 1 for each interval, then what may raise or lower the hazard.
    link : str
        "complementary log-log": the coefficient of a group is the logarithm of a ratio of hazards, whatever the hazard does within an
        interval. "logit": of a ratio of odds.

    Returns
    -------
    HazardFit
        `converged` is False where a coefficient runs off, such as with a group in which nobody died.

    Raises
    ------
    ValueError
        When a count is impossible, or lengths differ.

    Source
    ------
    Prentice & Gloeckler 1978, Biometrics 34:57-67; Cox 1972, J. R. Stat. Soc. B 34:187-220, for the logit (both from memory). Values
    checked against R glm and statsmodels in the tests.

    Examples
    --------
    >>> fit = grouped_fit([10, 19], [100, 100], np.array([[1.0, 0.0], [1.0, 1.0]]))
    >>> round(exp(fit.coefficients[1]), 6)
    2.0
    """
    y, n, x = np.asarray(deaths, float), np.asarray(at_risk, float), np.asarray(design, float)
    if not len(y) == len(n) == len(x) or (n < 1).any() or (y < 0).any() or (y > n).any():
        raise ValueError("Give deaths, trees at risk (1 or more, no fewer than deaths) and a row of the design for every cell.")
    share = np.clip(y.sum() / n.sum(), 1e-6, 1 - 1e-6)
    target = np.log(-np.log1p(-share)) if link == CLOGLOG else np.log(share / (1 - share))
    beta = np.linalg.lstsq(x, np.full(len(y), target), rcond=None)[0]
    height, slope, weight = _likelihood(y, n, x @ beta, link)
    gain, converged = 0.0, False
    for _ in range(_TURNS_MAX):
        try:
            step = np.linalg.solve(x.T @ (x * weight[:, None]), x.T @ slope)
        except np.linalg.LinAlgError:
            break
        gain, size = float((x.T @ slope) @ step), 1.0
        tried = _likelihood(y, n, x @ (beta + step), link)
        while tried[0] < height - 1e-9 and size > 1e-6:
            size /= 2
            tried = _likelihood(y, n, x @ (beta + size * step), link)
        beta = beta + size * step
        height, slope, weight = tried
        if gain < _ENOUGH:
            converged = bool(np.abs(beta).max() < 20)
            break
    return HazardFit(beta, np.linalg.pinv(x.T @ (x * weight[:, None]), hermitian=True), x * slope[:, None], height, converged)


def _likelihood(y, n, eta, link):
    """(log-likelihood, its slope by the linear predictor of each cell, expected information of each cell)."""
    eta = np.clip(eta, -30, 30)
    if link == LOGIT:
        share = 1 / (1 + np.exp(-eta))
        return float(y @ eta - n @ np.logaddexp(0, eta)), y - n * share, n * share * (1 - share)
    hazard = np.exp(np.minimum(eta, 6.5))
    dies, lives = -np.expm1(-hazard), np.exp(-hazard)
    height = float(y @ np.log(dies) - (n - y) @ hazard)
    return height, hazard * (y * lives / dies - (n - y)), n * hazard**2 * lives / dies


def hazard_ratio(cells: Mapping[tuple, tuple[int, int]], others: Mapping[tuple, tuple[int, int]], confidence: float = 0.95) -> HazardRatio:
    """The hazard of one group of trees as a multiple of that of another on the same sites.

    Parameters
    ----------
    cells, others : mapping of (site, age before, age at the end) to (deaths, at risk)
        Of the group and of what it is compared with, such as the native check; ages in growing seasons.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    HazardRatio
        1 is no difference, below 1 the group dies more slowly. Where nothing can be told it says so in `reason`.

    Raises
    ------
    ValueError
        When confidence lies outside (0, 1).

    Notes
    -----
    log(-log(1 - chance to die)) = interval + site + group. An interval over several censuses has a term of its own, so that a missed
    census costs nothing. Intervals and sites in which nobody died, or everybody, tell nothing and are left out, which changes no
    estimate. The interval is the wider of two: one that takes trees as independent, and one over the sites (sandwich times
    k / (k - 1), quantile of t at k - 1 degrees of freedom for k sites). The test of a constant ratio adds group × age at the
    end of the interval (likelihood ratio, one degree of freedom).

    Source
    ------
    `grouped_fit`; the sandwich over clusters: Liang & Zeger 1986, Biometrika 73:13-22 (from memory); the choice of the wider one is that
    of this programme.

    Examples
    --------
    >>> found = hazard_ratio({("S", 0, 1): (10, 100)}, {("S", 0, 1): (19, 100)})
    >>> round(found.ratio, 3), found.constant_p
    (0.5, None)
    """
    check_confidence(confidence)
    common = {key[0] for key, (_, trees) in cells.items() if trees} & {key[0] for key, (_, trees) in others.items() if trees}
    rows = [
        (*key, group, *pair) for group, part in ((1.0, cells), (0.0, others)) for key, pair in part.items() if key[0] in common and pair[1]
    ]
    for group, why in ((1.0, NONE_DIED), (0.0, NO_CHECK_DIED)):
        if not any(row[4] for row in rows if row[3] == group):
            return _none(why)
    rows = _telling(rows)
    if not all(any(row[3] == group for row in rows) for group in (1.0, 0.0)):
        return _none(ALL_DIED)
    sites, y, n = [row[0] for row in rows], [row[4] for row in rows], [row[5] for row in rows]
    group = np.array([row[3] for row in rows])
    base = _independent(np.hstack([_ones([row[1:3] for row in rows]), _ones(sites)[:, 1:]]))
    x = np.column_stack([base, group])
    if np.linalg.matrix_rank(x) < x.shape[1]:
        return _none(ALL_DIED)
    fit, odds = grouped_fit(y, n, x), grouped_fit(y, n, x, LOGIT)
    if not fit.converged or not odds.converged:
        return _none(NOT_FITTED)
    half = normal_quantile(confidence) * sqrt(fit.covariance[-1, -1])
    clusters = sorted(set(sites))
    if len(clusters) > 1:
        from scipy.special import stdtrit  # a heavy import, needed only where there are several sites

        scores = np.stack([fit.scores[[site == one for site in sites]].sum(axis=0) for one in clusters])
        spread = float(np.sum((scores @ fit.covariance[-1]) ** 2)) * len(clusters) / (len(clusters) - 1)
        half = max(half, float(stdtrit(len(clusters) - 1, (1 + confidence) / 2)) * sqrt(spread))
    log_ratio = float(fit.coefficients[-1])
    constant = _constant(y, n, x, group, np.array([row[2] for row in rows], float), fit)
    ends = [exp(min(50.0, max(-50.0, log_ratio + sign * half))) for sign in (-1, 1)]
    return HazardRatio(exp(log_ratio), *ends, exp(float(odds.coefficients[-1])), constant, len(clusters))


def _none(reason):
    return HazardRatio(None, None, None, None, None, 0, reason)


def _telling(rows):
    """The rows without sites and intervals in which nobody died, or everybody."""
    while True:
        left = rows
        for of in (lambda row: row[0], lambda row: row[1:3]):
            sums: dict = {}
            for row in left:
                total = sums.setdefault(of(row), [0, 0])
                total[0] += row[4]
                total[1] += row[5]
            left = [row for row in left if 0 < sums[of(row)][0] < sums[of(row)][1]]
        if len(left) == len(rows):
            return left
        rows = left


def _ones(labels):
    """One column of 0 and 1 for each label."""
    places: dict = {}
    codes = [places.setdefault(label, len(places)) for label in labels]
    return np.eye(len(places))[codes]


def _independent(columns):
    """As many of the columns as are linearly independent: the intervals of a site may be its own."""
    from scipy.linalg import qr  # a heavy import, needed only where a model is fitted

    _upper, order = qr(columns, mode="r", pivoting=True)
    upper = np.abs(np.diag(_upper))
    return columns[:, np.sort(order[: int((upper > 1e-9 * upper[0]).sum())])]


def _constant(y, n, x, group, ages, fit):
    """p of the test that the ratio is the same at all ages; None where that cannot be asked."""
    further = np.column_stack([x, group * (ages - ages.mean())])
    if np.linalg.matrix_rank(further) < further.shape[1]:
        return None
    more = grouped_fit(y, n, further)
    if not more.converged:
        return None
    from scipy.special import chdtrc  # a heavy import, needed only where there is something to test

    return float(chdtrc(1, max(0.0, 2 * (more.log_likelihood - fit.log_likelihood))))
