"""The inner part of a binomial mixed model: the mode of its random effects, and sums over the matrix of second derivatives there.

One factor, that with the most levels, is eliminated: its own part of the matrix is a diagonal, so that 10,000 effects of lineage
on site cost no more than their number, and only the other factors are solved as a dense matrix.

Source
------
Penalised iteratively reweighted least squares: Breslow & Clayton 1993, J. Am. Stat. Assoc. 88:9-25 (from memory); block elimination
(Schur complement) is common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

MODE_TOLERANCE = 1e-18
_SURE = 1e-6  # a gain so small is hidden by rounding, and Newton's step is right there
_STEPS_MAX = 100
_HELD = 1e12  # 1 / variance of an effect held at 0


@dataclass(frozen=True, slots=True)
class Mode:
    """The mode of the random effects for given fixed effects and SDs.

    `effects` are all levels in the order of the factors, `share` the survival of each cell, `weights` the binomial variances there,
    `log_likelihood` the log of the binomial probability of all counts, `penalty` the sum of effect² / variance, and `solved` the
    matrix of second derivatives.
    """

    effects: np.ndarray
    share: np.ndarray
    weights: np.ndarray
    log_likelihood: float
    penalty: float
    solved: "Solved"
    converged: bool


class Penalised:
    """Counts of cells with crossed or nested random factors.

    `alive` and `n` have one number a cell, `fixed` one row a cell, `factors` one array of level numbers (0 and up) each; -1 says that
    a cell has no effect of this factor. Such cells share a level more, which is held at 0.
    """

    def __init__(self, alive: np.ndarray, n: np.ndarray, fixed: np.ndarray, factors: Sequence[np.ndarray]):
        from scipy.special import gammaln  # a heavy import, needed only where a model is fitted

        self.alive, self.n, self.fixed = np.asarray(alive, float), np.asarray(n, float), np.asarray(fixed, float)
        self.factors = [np.asarray(codes) for codes in factors]
        self.sizes = np.array([int(codes.max()) + 1 for codes in self.factors])
        widths = [size + int((codes < 0).any()) for size, codes in zip(self.sizes, self.factors, strict=True)]
        self.factors = [np.where(codes < 0, size, codes) for size, codes in zip(self.sizes, self.factors, strict=True)]
        self.starts = np.concatenate([[0], np.cumsum(widths)]).astype(int)
        self.held = np.concatenate([np.arange(width) >= size for size, width in zip(self.sizes, widths, strict=True)])
        self.rows = np.stack([codes + start for codes, start in zip(self.factors, self.starts, strict=False)], axis=1)
        self.big = int(np.argmax(widths))
        self.others = [k for k in range(len(self.factors)) if k != self.big]
        self.rest = np.concatenate([np.arange(self.starts[k], self.starts[k + 1]) for k in self.others] or [np.zeros(0, int)])
        place = np.full(self.starts[-1], 0)
        place[self.rest] = np.arange(len(self.rest))
        self.rest_rows = place[self.rows[:, self.others]]
        self.constant = float(np.sum(gammaln(self.n + 1) - gammaln(self.alive + 1) - gammaln(self.n - self.alive + 1)))

    def of(self, factor: int) -> slice:
        """Where the levels of a factor are among all effects, without the one held at 0."""
        return slice(self.starts[factor], self.starts[factor] + self.sizes[factor])

    @property
    def of_big(self) -> slice:
        """Where all levels of the large factor are."""
        return slice(self.starts[self.big], self.starts[self.big + 1])

    def over_effects(self, values: np.ndarray) -> np.ndarray:
        """One value a factor, repeated for every effect."""
        return np.repeat(np.asarray(values, float), np.diff(self.starts))

    def spread(self, deviations: np.ndarray) -> np.ndarray:
        """1 / variance of every effect."""
        return np.where(self.held, _HELD, self.over_effects(deviations) ** -2.0)

    def add_up(self, values: np.ndarray) -> np.ndarray:
        """For every effect the sum of a value over its cells."""
        return sum(np.bincount(self.rows[:, k], values, self.starts[-1]) for k in range(len(self.factors)))

    def mode(self, beta: np.ndarray, precision: np.ndarray, start: np.ndarray) -> Mode:
        """The effects that make the penalised likelihood greatest: Newton's steps, each halved until it does not lower it."""
        offset, effects = self.fixed @ beta, start
        eta = offset + effects[self.rows].sum(axis=1)
        value, share, likelihood = self._penalised(eta, effects, precision)
        for turn in range(_STEPS_MAX + 1):
            weights = self.n * share * (1 - share)
            solved = Solved(self, weights, precision)
            slope = self.add_up(self.alive - self.n * share) - precision * effects
            step = solved.solve(slope)
            gain = float(slope @ step)
            if gain < MODE_TOLERANCE or turn == _STEPS_MAX:
                break
            size = 1.0
            while True:
                tried = effects + size * step
                eta = offset + tried[self.rows].sum(axis=1)
                found, share, likelihood = self._penalised(eta, tried, precision)
                if found >= value or gain < _SURE or size < 1e-6:
                    break
                size /= 2
            effects, value = tried, found
        return Mode(effects, share, weights, likelihood, float(precision @ effects**2), solved, gain < MODE_TOLERANCE)

    def _penalised(self, eta, effects, precision):
        """(penalised log-likelihood, share of each cell, log-likelihood)."""
        small = np.exp(-np.abs(eta))
        share = np.where(eta >= 0, 1.0, small) / (1 + small)
        likelihood = float(self.alive @ eta - self.n @ (np.maximum(eta, 0) + np.log1p(small))) + self.constant
        return likelihood - float(precision @ effects**2) / 2, share, likelihood


class Solved:
    """The matrix H = Z'WZ + 1/variances at one point, ready to be solved; with `fixed`, of fixed and random effects together."""

    def __init__(self, cells: Penalised, weights: np.ndarray, precision: np.ndarray, with_fixed: bool = False):
        from scipy import sparse  # heavy imports, needed only where a model is fitted
        from scipy.linalg import cho_factor

        self.cells, self.with_fixed = cells, with_fixed
        big, rest = cells.factors[cells.big], cells.rest_rows
        size, many = cells.of_big.stop - cells.of_big.start, len(cells.rest)
        self.diagonal = np.bincount(big, weights, size) + precision[cells.of_big]
        columns = rest.shape[1]
        upper = np.zeros(many * many)
        for k in range(columns):
            for j in range(k + 1, columns):
                upper += np.bincount(rest[:, k] * many + rest[:, j], weights, many * many)
        upper = upper.reshape(many, many)
        own = precision[cells.rest] + np.bincount(rest.reshape(-1), np.repeat(weights, columns), many)
        inner = upper + upper.T + np.diag(own)
        self.across = sparse.csr_matrix(
            (np.repeat(weights, columns), (np.repeat(big, columns), rest.reshape(-1))), shape=(size, many)
        )  # fmt: skip
        if with_fixed:
            weighted = cells.fixed * weights[:, None]
            beside = np.stack([np.bincount(big, column, size) for column in weighted.T], axis=1)
            corner = np.zeros((many, weighted.shape[1]))
            for k in range(columns):
                np.add.at(corner, rest[:, k], weighted)
            inner = np.block([[inner, corner], [corner.T, cells.fixed.T @ weighted]])
            self.across = sparse.hstack([self.across, sparse.csr_matrix(beside)], format="csr")
        self.scaled = self.across.multiply(1 / self.diagonal[:, None]).tocsr()
        self.inner = inner - (self.across.T @ self.scaled).toarray()
        self._factor = cho_factor(self.inner, lower=True) if len(self.inner) else None

    def solve(self, right: np.ndarray) -> np.ndarray:
        """H⁻¹ times a vector over all effects."""
        from scipy.linalg import cho_solve

        cells, result = self.cells, np.empty(self.cells.starts[-1])
        of_big = right[cells.of_big]
        if len(cells.rest):
            result[cells.rest] = cho_solve(self._factor, right[cells.rest] - self.scaled.T @ of_big)
            of_big = of_big - self.across @ result[cells.rest]
        result[cells.of_big] = of_big / self.diagonal
        return result

    def log_determinant(self) -> float:
        """Of H."""
        inner = 2 * np.log(np.diag(self._factor[0])).sum() if self._factor else 0.0
        return float(np.log(self.diagonal).sum() + inner - self.cells.held.sum() * np.log(_HELD))

    def _inverse(self):
        from scipy.linalg import cho_solve

        return cho_solve(self._factor, np.eye(len(self.inner))) if self._factor else self.inner

    def inverse_parts(self) -> tuple[np.ndarray, np.ndarray]:
        """(the diagonal of H⁻¹ for every effect, z'H⁻¹z of every cell)."""
        cells = self.cells
        inverse = self._inverse()
        through = self.scaled @ inverse  # dense: levels of the large factor × the others
        diagonal = np.empty(cells.starts[-1])
        diagonal[cells.rest] = np.diag(inverse)
        of_big = 1 / self.diagonal + np.asarray(self.scaled.multiply(through).sum(axis=1)).reshape(-1)
        diagonal[cells.of_big] = of_big
        big = cells.factors[cells.big]
        variance = of_big[big]
        for k in range(cells.rest_rows.shape[1]):
            variance = variance - 2 * through[big, cells.rest_rows[:, k]]
            for j in range(cells.rest_rows.shape[1]):
                variance = variance + inverse[cells.rest_rows[:, k], cells.rest_rows[:, j]]
        return diagonal, variance

    def cell_variance(self) -> np.ndarray:
        """The variance of the logit of every cell, of its fixed effects and its random ones together. Needs `with_fixed`."""
        cells = self.cells
        inverse = self._inverse()
        through = self.scaled @ inverse
        big, fixed = cells.factors[cells.big], np.arange(len(cells.rest), len(inverse))
        own = 1 / self.diagonal + np.asarray(self.scaled.multiply(through).sum(axis=1)).reshape(-1)
        beside = (through[:, fixed][big] * cells.fixed).sum(axis=1)
        variance = own[big] + ((cells.fixed @ inverse[np.ix_(fixed, fixed)]) * cells.fixed).sum(axis=1) - 2 * beside
        for k in range(cells.rest_rows.shape[1]):
            rows = cells.rest_rows[:, k]
            variance += 2 * (inverse[:, fixed][rows] * cells.fixed).sum(axis=1) - 2 * through[big, rows]
            for j in range(cells.rest_rows.shape[1]):
                variance += inverse[rows, cells.rest_rows[:, j]]
        return variance

    def covariance(self, factor: int) -> np.ndarray:
        """The part of the joint inverse for the fixed effects, first, and the levels of one factor. Needs `with_fixed`."""
        cells = self.cells
        inverse = self._inverse()
        many, width = len(cells.rest), cells.fixed.shape[1]
        fixed = np.arange(many, many + width)
        if factor != cells.big:
            place = np.searchsorted(cells.rest, np.arange(cells.of(factor).start, cells.of(factor).stop))
            wanted = np.concatenate([fixed, place])
            return inverse[np.ix_(wanted, wanted)]
        through = self.scaled @ inverse
        own = self.scaled @ through.T
        own = (own + own.T) / 2 + np.diag(1 / self.diagonal)
        size = cells.sizes[factor]
        beside = -through[:size, fixed]
        return np.block([[inverse[np.ix_(fixed, fixed)], beside.T], [beside, own[:size, :size]]])
