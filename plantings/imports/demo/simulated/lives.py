"""One simulated planting: which tree is of which lot, what truly became of it, and what the crew wrote down, round by round."""

from dataclasses import dataclass

import numpy as np

from plantings.imports.demo.simulated.truth import DONOR, NATIVE, PLANTED_CM, SEASON_CM, Truth

__all__ = ["Planting", "draw_planting"]

ALIVE, DEAD, NOT_LOCATED, NOT_FOUND = "A", "D", "NL", "NF"
_CAUSES = ("unknown", "drought", "rodent", "deer", "canker")


@dataclass(frozen=True, slots=True)
class Planting:
    """`lots` and `lineages` of the trees (n) as numbers; `alive` and `status`, `height_cm`, `canker`, `is_late` for tree × season (n × t).

    `alive` is the truth; `status` what was written down. `height_cm` and `canker` are of use where the status is alive.
    """

    site: int
    lots: np.ndarray
    lineages: np.ndarray
    alive: np.ndarray
    status: np.ndarray
    cause: np.ndarray
    height_cm: np.ndarray
    canker: np.ndarray
    is_late: np.ndarray


def draw_planting(truth: Truth, number: int, seed: int) -> Planting:
    """Planting `number` (from 0) of the programme; it is the same whichever others are drawn."""
    size, wrong = truth.size, truth.wrong
    random = np.random.default_rng([seed, 2, number])
    site = number % size.sites
    lots, lineages = _trees(truth, random)
    shape = (size.trees, size.rounds)
    frailty = random.normal(0, wrong.frailty_sd, size.trees)
    hazard = np.exp(truth.log_hazards(site)[lineages] + frailty[:, None])
    alive = np.cumsum(hazard, axis=1) < random.exponential(size=size.trees)[:, None]
    status = np.where(alive, ALIVE, DEAD).astype("U2")
    # nothing is left of some of the dead, from the round on in which they would have been found
    status[~alive & (random.random(size.trees) < wrong.vanishing)[:, None]] = NOT_FOUND
    mistaken = random.random(shape) < wrong.errors
    status[mistaken & alive], status[mistaken & ~alive] = DEAD, ALIVE
    status[alive & (random.random(shape) < wrong.missing)] = NOT_FOUND
    cause = random.choice(_CAUSES, size.trees)
    height_cm = _heights(random, truth.growth[lineages, site], shape)
    canker = _canker(random, truth.canker_chances(site)[lineages], shape)
    is_late = random.random(shape) < wrong.late
    status[random.random(shape) < np.where(alive, wrong.unlocated, wrong.unlocated_dead)] = NOT_LOCATED
    return Planting(
        site=site, lots=lots, lineages=lineages, alive=alive, status=status, cause=cause, height_cm=height_cm, canker=canker,
        is_late=is_late,
    )  # fmt: skip


def _trees(truth, random):
    """Lot and lineage of each tree, in planting order: every entry as often as every other, in blocks of one of each."""
    size = truth.size
    under_test = random.choice(size.lots, size.entries, replace=False)
    # lots come after each other: lot k is of lineage k modulo the lineages; the two checks have the last numbers
    entries = np.concatenate([under_test, [size.lots + truth.names.index(check) - size.lineages for check in (NATIVE, DONOR)]])
    blocks = [random.permutation(entries) for _ in range(-(-size.trees // len(entries)))]
    lots = np.concatenate(blocks)[: size.trees]
    return lots, np.where(lots < size.lots, lots % size.lineages, size.lineages + lots - size.lots)


def _heights(random, growth, shape):
    """Height at each visit: what it was, and the growth of the season, measured to the centimetre with an error of 2 cm."""
    vigour = np.maximum(0.1, np.maximum(0.3, random.normal(1, 0.2, shape[0])) + growth)
    true = PLANTED_CM + vigour[:, None] * SEASON_CM * np.arange(1, shape[1] + 1)
    return np.rint(true + random.normal(0, 2, shape)).astype(int)


def _canker(random, chance, shape):
    """Canker class 0 to 4 at each visit; it never gets better, and comes sooner where the value of the lineage is low."""
    return np.minimum(4, np.cumsum(random.random(shape) < chance[:, None], axis=1))
