"""Adding up pairs over many programmes: how often an interval held the truth, with the error of that share, its width and the bias."""

from collections import defaultdict
from collections.abc import Iterable
from math import sqrt
from typing import NamedTuple

import numpy as np

from tests.simulation.intervals import Pair


class Held(NamedTuple):
    """How often an interval held the truth, 0 to 1; `error` is the standard error of that, from the spread of the programmes, since the
    intervals of one programme share sites and checks. `bias` is the mean of estimate less truth, with its standard error; `spread` the
    SD of those."""

    name: str
    number: int
    programmes: int
    share: float
    error: float
    width: float
    bias: float
    bias_error: float
    spread: float


class Sums:
    """Pairs added up by their name."""

    def __init__(self):
        self._runs = defaultdict(list)  # name: [number, held, width, error, error²] of each programme

    def add(self, pairs: Iterable[Pair]):
        run = defaultdict(lambda: np.zeros(5))
        for pair in pairs:
            miss = pair.estimate - pair.true
            run[pair.name] += (1, pair.holds, pair.high - pair.low, miss, miss**2)
        for name, values in run.items():
            self._runs[name].append(values)

    def held(self) -> list[Held]:
        return [_held(name, np.array(runs)) for name, runs in self._runs.items()]


def _held(name, runs):
    number, *totals = runs.sum(axis=0)
    share, width, bias, squares = (total / number for total in totals)
    spread = sqrt(max(0.0, squares - bias**2))
    return Held(
        name, int(number), len(runs), share, _error(runs[:, 0], runs[:, 1], share, number), width, bias,
        _error(runs[:, 0], runs[:, 3], bias, number), spread,
    )  # fmt: skip


def _error(numbers, sums, mean, total):
    """Standard error of a ratio of sums over programmes (Cochran 1977, Sampling Techniques, section 6.4, from memory)."""
    return sqrt(float(((sums - mean * numbers) ** 2).sum())) / total


def order_found(comparison, values) -> tuple[float, float, list[tuple[float, bool]]] | None:
    """(rank correlation of the order with the truth; share of the truly best quarter that is in the first quarter of the order;
    [(chance given to be in the best quarter, whether it is)]). None where nothing is in order.

    `values` are {label: true value}, greater being better.
    """
    ranked = [one for one in comparison.ranked if one.shrunk]
    if not comparison.places or len(ranked) < 3:
        return None
    true = np.array([values[one.label] for one in ranked])
    place = np.argsort(np.argsort(-true))
    best = place < comparison.places
    rank = float(np.corrcoef(place, np.arange(len(place)))[0, 1])
    chances = [(one.shrunk.best, bool(is_best)) for one, is_best in zip(ranked, best, strict=True)]
    return rank, float(best[: comparison.places].mean()), chances
