"""Two people who record the same trees of a simulated planting: how far they agree, beside what is true of them."""

from collections.abc import Iterator

import numpy as np

from plantings.calc.arrival.agreement_of_classes import LINEAR, UNWEIGHTED, class_agreement
from plantings.calc.arrival.agreement_of_readings import bias_and_spread, intraclass_correlations
from plantings.imports.demo.simulated.lives import draw_planting
from plantings.imports.demo.simulated.truth import SEASON_CM
from tests.simulation.intervals import Pair
from tests.simulation.truths import class_agreement_of, status_agreement

TREES, MISTAKEN, OTHER_CLASS, MEASURED_SD, VIGOUR_SD = 60, 0.08, 0.15, 2.0, 0.2
CLASSES = range(5)


def agreement_pairs(truth, seed) -> Iterator[Pair]:
    """The pairs of the first trees of the first planting, at the last age. Both people err alike, each tree by itself."""
    drawn, random, last = draw_planting(truth, 0, seed), np.random.default_rng([seed, 9]), truth.size.rounds - 1
    alive, lineages = drawn.alive[:TREES, last], drawn.lineages[:TREES]
    first, second = (alive ^ (random.random(len(alive)) < MISTAKEN) for _ in range(2))
    expected = status_agreement(truth.survival_on(0)[lineages, last].mean(), MISTAKEN)
    yield from _kappa("kappa of statuses", class_agreement(_tuples(first, second), (False, True), UNWEIGHTED), expected)
    canker = drawn.canker[:TREES, last]
    errors = np.array([[_chance(true, written) for written in CLASSES] for true in CLASSES])
    first, second = ([int(random.choice(5, p=errors[one])) for one in canker] for _ in range(2))
    expected = class_agreement_of(_shares_of_classes(truth, lineages), errors)
    yield from _kappa("kappa of classes, linear weights", class_agreement(_tuples(first, second), CLASSES, LINEAR), expected)
    yield from _of_heights(truth, drawn, lineages, last, random)


def _of_heights(truth, drawn, lineages, last, random):
    """The heights of two people, and again as they would measure the next trees: how many of those differences lie within the limits."""
    true = drawn.height_cm[:TREES, last]
    first, second, *next_pair = (np.rint(true + random.normal(0, MEASURED_SD, len(true))) for _ in range(4))
    limits = bias_and_spread(_tuples(first, second))
    for difference in (next_pair[1] - next_pair[0]).tolist():
        yield Pair("limits of agreement, the next tree", limits.bias, limits.low, limits.high, difference)
    own = ((last + 1) * SEASON_CM) ** 2 * (VIGOUR_SD**2 + truth.growth[lineages, 0].var()) + MEASURED_SD**2 + 1 / 12
    found = intraclass_correlations(np.column_stack([first, second]).tolist()).two_way
    yield Pair("intraclass correlation", found.estimate, found.low, found.high, own / (own + MEASURED_SD**2 + 1 / 12))


def _kappa(name, found, expected):
    if found.low is not None:
        yield Pair(name, found.estimate, found.low, found.high, expected)


def _tuples(first, second):
    return list(zip(np.asarray(first).tolist(), np.asarray(second).tolist(), strict=True))


def _chance(true, written):
    """That a person writes this class: the true one, else one of its neighbours."""
    neighbours = [one for one in (true - 1, true + 1) if one in CLASSES]
    return 1 - OTHER_CLASS if written == true else OTHER_CLASS / len(neighbours) if written in neighbours else 0.0


def _shares_of_classes(truth, lineages):
    """Share of the trees in each class at the last age: as many new cankers as seasons had one, four at most."""
    seasons, counts = truth.size.rounds, np.zeros(5)
    for chance in truth.canker_chances(0)[lineages]:
        binomial = np.array([1.0])
        for _ in range(seasons):
            binomial = np.convolve(binomial, [1 - chance, chance])
        np.add.at(counts, np.minimum(np.arange(len(binomial)), 4), binomial)
    return counts / counts.sum()
