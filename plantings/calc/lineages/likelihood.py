"""The log-likelihood of a binomial mixed model over its parameters: by Laplace approximation, and by quadrature for one factor.

Source
------
Breslow & Clayton 1993, J. Am. Stat. Assoc. 88:9-25; adaptive quadrature: Pinheiro & Bates 1995, J. Comput. Graph. Stat. 4:12-35 (both from
memory).
"""

import numpy as np

from plantings.calc.lineages.penalised import Mode, Penalised

LOWEST, HIGHEST = 1e-3, 30.0  # of an SD


class Laplace:
    """The Laplace log-likelihood over (log SD of each factor, fixed effects), with its slopes. It remembers the last mode."""

    def __init__(self, cells: Penalised):
        self.cells = cells
        self.count = len(cells.factors)
        self.last = None
        self.lost = False

    def deviations(self, point):
        return np.exp(np.clip(point[: self.count], np.log(LOWEST), np.log(HIGHEST)))

    def _start(self, point, precision):
        """The mode to begin at: the last one, moved along its slope to this point."""
        if self.last is None:
            return np.zeros(self.cells.starts[-1])
        before, mode = self.last
        move = np.clip(point - before, -1, 1)
        right = 2 * self.cells.over_effects(move[: self.count]) * precision * mode.effects
        right -= self.cells.add_up(mode.weights * (self.cells.fixed @ move[self.count :]))
        return mode.effects + mode.solved.solve(right)

    def at(self, point):
        """(log-likelihood, slopes, Mode)."""
        cells, deviations = self.cells, self.deviations(point)
        precision = cells.spread(deviations)
        mode = cells.mode(point[self.count :], precision, self._start(point, precision))
        self.last, self.lost = (point.copy(), mode), not mode.converged
        solved, share = mode.solved, mode.share
        height = mode.log_likelihood - mode.penalty / 2 - cells.sizes @ np.log(deviations) - solved.log_determinant() / 2
        diagonal, variance = solved.inverse_parts()
        skew = mode.weights * (1 - 2 * share) * variance / 2
        carried = solved.solve(cells.add_up(skew))
        slopes = np.empty(len(point))
        for k in range(self.count):
            part = cells.of(k)
            own = mode.effects[part]
            inside = float(own @ own + diagonal[part].sum()) * precision[part][0] - cells.sizes[k]
            slopes[k] = inside - 2 * precision[part][0] * float(carried[part] @ own)
        through = carried[cells.rows].sum(axis=1)
        slopes[self.count :] = cells.fixed.T @ (cells.alive - cells.n * share - skew + mode.weights * through)
        return float(height), slopes, mode


class Quadrature(Laplace):
    """The same for one factor, with the integral over each effect by Gauss-Hermite quadrature around its mode."""

    def __init__(self, cells: Penalised, nodes: int):
        super().__init__(cells)
        self.nodes, weights = np.polynomial.hermite.hermgauss(nodes)
        self.log_weights = np.log(weights) + self.nodes**2

    def at(self, point: np.ndarray) -> tuple[float, np.ndarray, Mode]:
        """(log-likelihood, slopes, Mode)."""
        cells, deviation = self.cells, float(self.deviations(point)[0])
        precision = cells.spread([deviation])
        mode = cells.mode(point[1:], precision, self._start(point, precision))
        self.last, self.lost = (point.copy(), mode), not mode.converged
        codes, levels = cells.factors[0], len(precision)
        width = np.sqrt(2 / (np.bincount(codes, mode.weights, levels) + precision))
        width = np.where(cells.held, 0.0, width)
        effects = mode.effects[:, None] + width[:, None] * self.nodes
        eta = (cells.fixed @ point[1:])[:, None] + effects[codes]
        of_cells = cells.alive[:, None] * eta - cells.n[:, None] * np.logaddexp(0, eta)
        # an effect that is held at 0 has no integral: each of its points has the same value
        outer = np.where(cells.held, -np.log(len(self.nodes)), np.log(np.where(cells.held, 1, width) / deviation) - np.log(2 * np.pi) / 2)
        inner = np.where(cells.held[:, None], 0.0, self.log_weights - (effects / deviation) ** 2 / 2)
        logs = np.stack([np.bincount(codes, column, levels) for column in of_cells.T], axis=1) + inner + outer[:, None]
        highest = logs.max(axis=1, keepdims=True)
        parts = np.exp(logs - highest)
        total = parts.sum(axis=1, keepdims=True)
        chances = parts / total  # of each point, given the counts
        height = float((highest + np.log(total)).sum()) + cells.constant
        slopes = np.empty(len(point))
        slopes[0] = float((chances * ((effects / deviation) ** 2 - 1))[~cells.held].sum())
        left = cells.alive[:, None] - cells.n[:, None] / (1 + np.exp(-eta))
        slopes[1:] = cells.fixed.T @ (chances[codes] * left).sum(axis=1)
        return height, slopes, mode
