"""Whether a fitted model describes what it was fitted to: each count or mean beside what the model expects of it from all the others.

Source
------
Marshall & Spiegelhalter 2003, Stat. Med. 22:1649-1660: a count against its prediction from the others, since a prediction that has seen
the count is drawn towards it. From memory, as all sources here.
"""

from collections.abc import Sequence
from dataclasses import astuple, dataclass
from typing import NamedTuple

import numpy as np

FAR = 2.0  # standard errors
FAILS_BELOW = 0.05  # of all tests of a model together
CELLS_FEWEST = 30  # of fewer, one wrong mean was found in 1 of 100 runs, one wrong count in 55 (`tests/benchmarks/model_check.py`)
FEWEST_FOR_SKEWNESS = 8  # D'Agostino's approximation holds from there
NORMAL_CHANCE = 0.0455002639  # that a normal value lies more than two standard errors away
_NODES = 15
_ALL = 1 - 1e-9


@dataclass(frozen=True, slots=True)
class Residuals:
    """Of each cell: what the model expects from the other cells, how many standard errors it lies from that, the chance under the model
    to lie more than two away, and the two-sided p to lie as far as it does."""

    expected: np.ndarray
    errors: np.ndarray
    chance: np.ndarray
    p: np.ndarray


class Cell(NamedTuple):
    """A kind of check, or a lineage under test by its label, at a place: its trees, what was observed, and what is expected. Of counts
    these are trees alive, of a measurement means; of means `planting` is blank."""

    standard: str
    label: str
    site: str
    planting: str
    n: int
    observed: float
    expected: float


@dataclass(frozen=True, slots=True)
class FitCheck:
    """How many cells were looked at, how many lie further than two standard errors from the model, how many are expected to, and p for
    so many; the furthest cell, and its p adjusted for the number of cells; the skewness of the residuals with its p, None of counts."""

    cells: int
    beyond: int
    expected: float
    beyond_p: float
    furthest: Cell
    furthest_p: float
    skewness: float | None = None
    skewness_p: float | None = None

    @property
    def limit(self) -> float:
        """The p of one test below which it fails (Bonferroni)."""
        return FAILS_BELOW / (2 if self.skewness_p is None else 3)

    @property
    def too_many(self) -> bool:
        return self.beyond_p < self.limit

    @property
    def too_far(self) -> bool:
        return self.furthest_p < self.limit

    @property
    def is_skewed(self) -> bool:
        return self.skewness_p is not None and self.skewness_p < self.limit

    @property
    def fits(self) -> bool:
        return not (self.too_many or self.too_far or self.is_skewed)

    @property
    def can_tell(self) -> bool:
        """Whether there are enough cells that passing says something, or it fails all the same."""
        return self.cells >= CELLS_FEWEST or not self.fits

    def values(self) -> list:
        """The check as what JSON holds."""
        return [*astuple(self)]


def read_check(values: Sequence | None) -> FitCheck | None:
    """The check of `FitCheck.values`; None of None, as in answers stored before there were checks."""
    if values is None:
        return None
    *before, cell, furthest_p, skewness, skewness_p = values
    return FitCheck(*before, Cell(*cell), furthest_p, skewness, skewness_p)


def binomial_residuals(alive: Sequence[int], n: Sequence[int], logits: Sequence[float], variances: Sequence[float]) -> Residuals:
    """The residuals of counts, each predicted from the other counts.

    Parameters
    ----------
    alive, n : sequences of int, one a cell
        Trees alive and trees assessed, n 1 or more.
    logits, variances : sequences of float, one a cell
        The conditional mean and variance of the logit of each cell, given all counts.

    Returns
    -------
    Residuals
        `expected` is a share, 0 to 1.

    Notes
    -----
    A cell is taken out again without another fit: with w = n·p·(1 − p) at the mode, the logit given the other counts has the variance
    v / (1 − w·v) and the mean logit − variance·(alive − n·p). The count is then binomial about a normal logit (15 points of
    Gauss-Hermite quadrature), so that p and chances are those of whole trees, however few. The standard deviations of the model are taken
    as fitted, to this cell too.

    Source
    ------
    Vehtari, Mononen, Tolvanen, Sivula & Winther 2016, J. Mach. Learn. Res. 17(103):1-38 (leaving one out under Laplace's approximation).

    Examples
    --------
    >>> found = binomial_residuals([19, 2], [20, 20], [0.0, 0.0], [0.05, 0.05])
    >>> [float(error) for error in found.errors.round(1)], bool((found.p < 0.01).all())
    ([4.9, -4.3], True)
    """
    from scipy.special import bdtr, expit  # a heavy import, needed only where a model is fitted

    alive, n, logits, variances = (np.asarray(values, float) for values in (alive, n, logits, variances))
    share = expit(logits)
    wide = variances / (1 - np.minimum(variances * n * share * (1 - share), _ALL))
    nodes, weights = np.polynomial.hermite_e.hermegauss(_NODES)
    weights /= weights.sum()
    shares = expit((logits - wide * (alive - n * share))[:, None] + np.sqrt(wide)[:, None] * nodes)
    expected = shares @ weights
    error = np.sqrt(n * ((shares * (1 - shares)) @ weights) + n**2 * ((shares - expected[:, None]) ** 2 @ weights))
    whole = n.astype(int)[:, None]

    def at_most(count):
        return np.where(count < 0, 0.0, bdtr(np.clip(count, 0, n)[:, None], whole, shares) @ weights)

    lowest, highest = np.ceil(n * expected - FAR * error), np.floor(n * expected + FAR * error)  # the counts not further than that
    chance = np.clip(at_most(lowest - 1) + 1 - at_most(highest), 0, 1)
    tail = np.minimum(at_most(alive), 1 - at_most(alive - 1))
    return Residuals(expected, (alive - n * expected) / np.maximum(error, 1e-12), chance, np.clip(2 * tail, 0, 1))


def fit_check(residuals: Residuals, furthest: Cell, *, with_skewness: bool = False) -> FitCheck:
    """The tests of the residuals.

    Parameters
    ----------
    residuals : Residuals
        Of one cell or more.
    furthest : Cell
        The one of the smallest p (`furthest_of`).
    with_skewness : bool
        Of values that the model takes as normal.

    Notes
    -----
    So many cells beyond two standard errors: the upper tail of a Poisson number with the expected mean. The furthest cell: its p times
    the number of cells (Bonferroni). Skewness: D'Agostino's transformation. The cells share sites and lineages and the model is fitted to
    all of them, which makes the tests careful (`tests/benchmarks/model_check.py`): a right model fails in fewer than 5 of 100 cases.

    Source
    ------
    D'Agostino 1970, Biometrika 57:679-681; Poisson for rare cells that hardly depend on each other: Barbour, Holst & Janson 1992.
    """
    from scipy.special import pdtrc  # a heavy import, needed only where a model is fitted

    beyond, expected = int((np.abs(residuals.errors) > FAR).sum()), float(residuals.chance.sum())
    beyond_p = float(pdtrc(beyond - 1, expected)) if beyond else 1.0
    size = len(residuals.p)
    skewness, p = _skewness(residuals.errors) if with_skewness and size >= FEWEST_FOR_SKEWNESS else (None, None)
    return FitCheck(size, beyond, expected, beyond_p, furthest, min(1.0, size * float(residuals.p.min())), skewness, p)


def furthest_of(residuals: Residuals) -> int:
    """The cell with the smallest p; of those that share it the furthest.

    Returns
    -------
    int, from 0
        Its place.
    """
    return int(np.lexsort([-np.abs(residuals.errors), residuals.p])[0])


def normal_residuals(expected: np.ndarray, errors: np.ndarray) -> Residuals:
    """The residuals of values that are normal about what is expected of them.

    Parameters
    ----------
    expected : array of float
        In the unit of the values.
    errors : array of float, standard errors
        How far each lies from it.
    """
    from scipy.special import ndtr  # a heavy import, needed only where a model is fitted

    return Residuals(expected, errors, np.full(len(errors), NORMAL_CHANCE), 2 * ndtr(-np.abs(errors)))


def _skewness(values):
    """(skewness, two-sided p); (0, 1) where no two values differ."""
    from scipy.special import ndtr

    count, centred = len(values), values - values.mean()
    second = (centred**2).mean()
    if not second > 0:
        return 0.0, 1.0
    skewness = float((centred**3).mean() / second**1.5)
    y = skewness * np.sqrt((count + 1) * (count + 3) / (6 * (count - 2)))
    kurtosis = 3 * (count**2 + 27 * count - 70) * (count + 1) * (count + 3) / ((count - 2) * (count + 5) * (count + 7) * (count + 9))
    w2 = np.sqrt(2 * (kurtosis - 1)) - 1
    z = np.arcsinh(y / np.sqrt(2 / (w2 - 1))) / np.sqrt(np.log(w2) / 2)
    return skewness, float(2 * ndtr(-abs(z)))
