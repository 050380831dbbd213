"""The mixed model of site and lineage worked out by other means than the program's, with scipy alone: for counts of a few sites.

logit(share) = mean + site + lineage + lineage on site, each factor normal with a standard deviation of its own. The likelihood is once
Laplace's, of all effects at once with full matrices, and once exact: given the sites the lineages are independent, and given both the
reaction of a lineage to a site is one integral, so nothing is left but a grid over the sites. Both are maximised without slopes.
"""

from itertools import product

import numpy as np
from scipy.optimize import minimize
from scipy.special import expit, gammaln, logsumexp
from scipy.stats import norm

NODES, GRID = 9, np.linspace(-6, 6, 61)


class ExactModel:
    """`counts` is {(site, lineage): (alive, assessed)}."""

    def __init__(self, counts):
        self.cells = sorted(counts)
        self.sites, self.lineages = (sorted({cell[at] for cell in self.cells}) for at in (0, 1))
        self.alive, self.n = np.array([counts[cell] for cell in self.cells], float).T
        self.ways = float(np.sum(gammaln(self.n + 1) - gammaln(self.alive + 1) - gammaln(self.n - self.alive + 1)))
        of_site, of_lineage = (np.array([[cell[at] == name for name in names] for cell in self.cells], float)
                               for at, names in ((0, self.sites), (1, self.lineages)))  # fmt: skip
        self.design = np.hstack([of_site, of_lineage, np.eye(len(self.cells))])
        self.widths = [len(self.sites), len(self.lineages), len(self.cells)]

    def mode(self, point):
        """(effects, curvature, variances) where the effects are most likely, by Newton's steps."""
        variances = np.repeat(np.exp(2 * point[1:]), self.widths)
        effects = np.zeros(sum(self.widths))
        for _ in range(200):
            share = expit(point[0] + self.design @ effects)
            curvature = self.design.T @ ((self.n * share * (1 - share))[:, None] * self.design) + np.diag(1 / variances)
            step = np.linalg.solve(curvature, self.design.T @ (self.alive - self.n * share) - effects / variances)
            effects = effects + step
            if np.abs(step).max() < 1e-10:
                return effects, curvature, variances
        raise AssertionError("no mode")

    def laplace(self, point):
        effects, curvature, variances = self.mode(point)
        eta = point[0] + self.design @ effects
        height = self.alive @ eta - self.n @ np.logaddexp(0, eta) - np.sum(effects**2 / variances) / 2
        return float(height - np.log(variances).sum() / 2 - np.linalg.slogdet(curvature)[1] / 2) + self.ways

    def exact(self, point, centre, widths):
        """The likelihood by quadrature; nodes are laid around `centre` with the `widths` of the effects there."""
        nodes, weights = np.polynomial.hermite.hermgauss(NODES)
        sites, lineages = self.widths[:2]
        values = centre[: sites + lineages, None] + np.sqrt(2) * widths[: sites + lineages, None] * nodes
        deviations = np.repeat(np.exp(point[1:3]), self.widths[:2])
        logs = (
            np.log(weights) + nodes**2 + np.log(np.sqrt(2) * widths[: sites + lineages, None]) + norm.logpdf(values, 0, deviations[:, None])
        )
        reaction = np.exp(point[3]) * GRID
        of_reaction = norm.logpdf(GRID) + np.log(GRID[1] - GRID[0])
        tables = []  # of each cell: log likelihood, nodes of its site × nodes of its lineage
        for (site, lineage), alive, n in zip(self.cells, self.alive, self.n, strict=True):
            at, of = self.sites.index(site), self.lineages.index(lineage)
            eta = point[0] + values[at][:, None, None] + values[sites + of][None, :, None] + reaction
            tables.append((at, of, logsumexp(alive * eta - n * np.logaddexp(0, eta) + of_reaction, axis=2)))
        grid = np.array([*product(range(NODES), repeat=sites)])
        total = logs[np.arange(sites), grid].sum(axis=1)
        for of in range(lineages):
            inner = logs[sites + of] + sum(table[grid[:, at]] for at, own, table in tables if own == of)
            total = total + logsumexp(inner, axis=1)
        return float(logsumexp(total)) + self.ways

    def fitted(self):
        """(point by Laplace, point by quadrature): mean and the logarithms of three standard deviations."""
        loosely = {"xatol": 1e-6, "fatol": 1e-9, "maxiter": 4_000, "maxfev": 4_000}
        first = minimize(lambda point: -self.laplace(point), [0.5, -0.5, -0.5, -0.8], method="Nelder-Mead", options=loosely).x
        effects, curvature, _variances = self.mode(first)
        widths = np.sqrt(np.diag(np.linalg.inv(curvature)))
        closely = {"xatol": 1e-3, "fatol": 1e-5, "maxiter": 400}
        exact = minimize(lambda point: -self.exact(point, effects, widths), first, method="Nelder-Mead", options=closely).x
        return first, exact

    def survival(self, point):
        """{lineage: its survival as the mean over all sites, without its reaction to single ones}."""
        effects, *_rest = self.mode(point)
        sites = effects[: self.widths[0]]
        return {name: float(expit(point[0] + effects[self.widths[0] + at] + sites).mean()) for at, name in enumerate(self.lineages)}
