"""A linear mixed model of a measurement at one age: a mean for each lineage, sites and the reaction of lineages to sites at random."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from plantings.calc.fits.check import Residuals, normal_residuals
from registry.calc.shared.marked import gettext_noop

SITES_FEWEST = 3
FEW_SITES = gettext_noop("fewer than three sites")
NONE_DIFFER = gettext_noop("no two trees of a lineage on one site differ")
NOT_FITTED = gettext_noop("the model did not converge")
_LOWEST, _HIGHEST, _NOTHING = -16.0, 12.0, 1e-6


class GrowthCell(NamedTuple):
    """The trees of one lineage on one site: how many, their mean, and the sum of their squared deviations from it."""

    lineage: str
    site: str
    n: int
    mean: float
    squares: float


@dataclass(frozen=True, slots=True)
class LinearFit:
    """Everything in the unit of the measurement. `means` are the expected values on an average site, in the order of `lineages`, with
    their covariance; the SDs are those of sites, of the reaction of a lineage to a site (0 where none was found), and of trees. `reason`
    says why there is nothing to use; then the rest is empty."""

    lineages: tuple[str, ...]
    means: np.ndarray
    covariance: np.ndarray
    site_sd: float
    reaction_sd: float
    tree_sd: float
    log_likelihood: float
    reason: str = ""


def linear_fit(cells: Sequence[GrowthCell], reaction: bool = True) -> LinearFit:
    """Fit value = lineage + site + lineage on site + tree by restricted maximum likelihood (REML).

    Parameters
    ----------
    cells : sequence of GrowthCell
        One for each lineage on each site; n is 1 or more. Values and means in the unit of the measurement, such as cm.
    reaction : bool
        False leaves out the reaction of lineages to sites; so does a design that cannot tell it from trees and sites.

    Returns
    -------
    LinearFit
        With a reason on fewer than three sites, where no two trees of a cell differ, and where no maximum was found.

    Notes
    -----
    Number, mean and squares of a cell are all that the likelihood needs, so the cost follows lineages × sites, not trees. The variance
    of trees is profiled out; the ratios of the other two to it are found on the logarithmic scale, each tried at 0 as well.

    Source
    ------
    Patterson & Thompson 1971, Biometrika 58:545-554; Searle, Casella & McCulloch 1992, Variance Components (both from memory). Values
    checked against statsmodels 0.15.0 MixedLM in the tests.

    Examples
    --------
    >>> cells = [GrowthCell(*cell) for cell in (("A", "S", 2, 10, 2), ("B", "S", 2, 14, 2), ("A", "T", 2, 20, 2), ("B", "T", 2, 24, 2),
    ...     ("A", "U", 2, 30, 2), ("B", "U", 2, 34, 2))]
    >>> fit = linear_fit(cells)
    >>> [round(float(mean), 3) for mean in fit.means], round(fit.site_sd, 2), round(fit.tree_sd, 2)
    ([20.0, 24.0], 9.98, 1.22)
    """
    lineages, sites = sorted({cell.lineage for cell in cells}), sorted({cell.site for cell in cells})
    if len(sites) < SITES_FEWEST:
        return _without(FEW_SITES)
    if not sum(cell.squares for cell in cells) > 0:
        return _without(NONE_DIFFER)
    surface = _Surface(cells, lineages, sites)
    can_react = reaction and len(cells) >= len(lineages) + len(sites)
    tried = [
        surface.lowest((use_site, use_reaction))
        for use_site in (True, False)
        for use_reaction in ((True, False) if can_react else (False,))
    ]
    found = [one for one in tried if one is not None]
    if not found:
        return _without(NOT_FITTED)
    deviance, (site, react) = min(found, key=lambda one: one[0])
    if not np.isfinite(deviance):
        return _without(NOT_FITTED)
    means, inverse, variance = surface.solved(site, react)
    return LinearFit(
        tuple(lineages), means + surface.shift, inverse * variance, float(np.sqrt(site * variance)), float(np.sqrt(react * variance)),
        float(np.sqrt(variance)), float(-deviance / 2),
    )  # fmt: skip


def linear_residuals(cells: Sequence[GrowthCell], fit: LinearFit) -> tuple[Residuals, list[int]]:
    """The residuals of the cell means, each predicted from the other cells, with the variances as fitted.

    Parameters
    ----------
    cells : sequence of GrowthCell
    fit : LinearFit
        Of these cells, without a reason.

    Returns
    -------
    (Residuals, list of int)
        And the places of the cells that they are of: a lineage on one site has no other cell to be predicted from.

    Notes
    -----
    With P = V⁻¹ − V⁻¹X(X'V⁻¹X)⁻¹X'V⁻¹ a mean less its prediction is (Py)ᵢ / Pᵢᵢ, with the variance 1 / Pᵢᵢ.

    Source
    ------
    Haslett & Hayes 1998, J. R. Stat. Soc. B 60:201-215 (from memory).
    """
    sites = sorted({cell.site for cell in cells})
    surface = _Surface(cells, fit.lineages, sites)
    variance = fit.tree_sd**2
    weight = surface.n / (1 + (fit.reaction_sd / fit.tree_sd) ** 2 * surface.n)
    ratio = (fit.site_sd / fit.tree_sd) ** 2
    pull = (ratio / (1 + ratio * weight.sum(axis=1)))[:, None]
    inverse = fit.covariance / variance
    left = surface.mean - (fit.means - surface.shift)
    scaled = weight * (left - pull * (weight * left).sum(axis=1)[:, None])
    through = weight @ inverse
    square = (through * weight).sum(axis=1)[:, None]
    own = weight - pull * weight**2 - weight**2 * (np.diag(inverse) - 2 * pull * through + pull**2 * square)
    row, column = {site: k for k, site in enumerate(sites)}, {label: k for k, label in enumerate(fit.lineages)}
    at = np.array([(row[cell.site], column[cell.lineage]) for cell in cells])
    scaled, own, whole = (matrix[at[:, 0], at[:, 1]] for matrix in (scaled, own, weight))
    used = np.flatnonzero(own > 1e-9 * whole)
    means = np.array([cell.mean for cell in cells])[used]
    scaled, own = scaled[used], own[used]
    return normal_residuals(means - scaled / own, scaled / np.sqrt(own * variance)), used.tolist()


def _without(reason):
    return LinearFit((), np.zeros(0), np.zeros((0, 0)), 0.0, 0.0, 0.0, float("nan"), reason)


class _Surface:
    """-2 × the restricted log-likelihood over the ratios of the variances of sites and of reactions to that of trees."""

    def __init__(self, cells, lineages, sites):
        row, column = {site: k for k, site in enumerate(sites)}, {label: k for k, label in enumerate(lineages)}
        shape = (len(sites), len(lineages))
        self.n, self.mean = np.zeros(shape), np.zeros(shape)
        self.shift = sum(cell.n * cell.mean for cell in cells) / sum(cell.n for cell in cells)
        for cell in cells:
            self.n[row[cell.site], column[cell.lineage]] = cell.n
            self.mean[row[cell.site], column[cell.lineage]] = cell.mean - self.shift
        self.within = sum(cell.squares for cell in cells)
        self.free = sum(cell.n for cell in cells) - len(lineages)

    def lowest(self, used):
        """(lowest value, ratios) with the ratios in use above 0; None where the search fails or a ratio runs to 0."""
        if not any(used):
            return self.value(0.0, 0.0), (0.0, 0.0)
        from scipy.optimize import minimize  # a heavy import, needed only where a model is fitted

        def ratios(point):
            given = iter(np.exp(np.clip(point, _LOWEST, _HIGHEST)))
            return tuple(float(next(given)) if use else 0.0 for use in used)

        found = minimize(
            lambda point: self.value(*ratios(point)), np.full(sum(used), -1.5), method="Nelder-Mead",
            options={"xatol": 1e-7, "fatol": 1e-10, "maxiter": 2000},
        )  # fmt: skip
        best = ratios(found.x)
        if not found.success or any(use and ratio < _NOTHING for use, ratio in zip(used, best, strict=True)):
            return None
        return float(found.fun), best

    def value(self, site, reaction):
        _means, _inverse, variance, log_size = self._solved(site, reaction)
        if not variance > 0:
            return float("inf")
        return self.free * (np.log(2 * np.pi * variance) + 1) + log_size

    def solved(self, site, reaction):
        return self._solved(site, reaction)[:3]

    def _solved(self, site, reaction):
        weight = self.n / (1 + reaction * self.n)
        of_site = weight.sum(axis=1)
        pull = site / (1 + site * of_site)
        weighted = weight * self.mean
        sums = weighted.sum(axis=1)
        normal = np.diag(weight.sum(axis=0)) - weight.T @ (pull[:, None] * weight)
        right = weighted.sum(axis=0) - weight.T @ (pull * sums)
        inverse = np.linalg.inv(normal)
        means = inverse @ right
        squares = (weighted * self.mean).sum() - (pull * sums**2).sum() - means @ right + self.within
        log_size = np.log1p(reaction * self.n).sum() + np.log1p(site * of_site).sum() + np.linalg.slogdet(normal)[1]
        return means, inverse, squares / self.free, log_size
