"""What is true in a simulated programme: its size, what goes wrong in it, and how every lineage really lives and grows.

A tree of lineage i on site j lives through season t with the chance exp(−exp(b_t + s_j − v_i − g_ij + f)): b falls from the season of
planting on, s is the site, v the value of the lineage, g how this lineage does on this site beside the others, f the frailty of the
tree. All but b are normal with mean 0, so that the truth is known and the order of the lineages with it. The form is the grouped-time
proportional hazards model (Prentice and Gloeckler 1978, Biometrics 34:57–67); its numbers are ours. Height and cankers are drawn apart
from survival: a season adds its centimetres times 1 + lineage + site + lineage on site, and the chance of a new canker in a season is
higher on some sites than on others.
"""

from dataclasses import dataclass, fields

import numpy as np

__all__ = ["NATIVE", "DONOR", "Size", "Truth", "Wrong", "draw_truth"]

NATIVE, DONOR = "native check", "donor check"
MOST_ROUNDS = 100  # one a year, the last in 2025: lots have a year of this or the last century

# log of the cumulative hazard of a season at a middle site: the first is the worst
_FIRST_SEASON, _LATER_SEASONS = np.log(-np.log(0.86)), np.log(-np.log(0.95))
_CHECK_VALUES = {NATIVE: -0.6, DONOR: 0.9}
PLANTED_CM, SEASON_CM = 40, 38
_CANKER_MOST = 0.25  # chance of a new canker in a season, of a lineage without any resistance on a middle site
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(40)


@dataclass(frozen=True, slots=True)
class Size:
    """How much is simulated. Each planting has `entries` lots under test, drawn from all, beside both checks; the trees are shared out."""

    sites: int = 12
    plantings: int = 12
    lineages: int = 8
    lots: int = 16
    entries: int = 8
    trees: int = 160
    rounds: int = 4

    def __post_init__(self):
        for field in fields(self):
            if getattr(self, field.name) < 1:
                raise ValueError(f"{field.name} is {getattr(self, field.name)}. Give 1 or more.")
        if self.rounds > MOST_ROUNDS:
            raise ValueError(f"{self.rounds} rounds are too many. Give at most {MOST_ROUNDS}.")
        if self.plantings < self.sites:
            raise ValueError(f"{self.plantings} plantings cannot be on {self.sites} sites. Give as many plantings as sites, or more.")
        if self.lots < self.lineages:
            raise ValueError(f"{self.lots} lots cannot be of {self.lineages} lineages. Give as many lots as lineages, or more.")
        if self.entries > self.lots:
            raise ValueError(f"A planting cannot have {self.entries} of {self.lots} lots. Give fewer entries, or more lots.")
        if self.trees < self.entries + len(_CHECK_VALUES):
            raise ValueError(f"{self.trees} trees are too few for {self.entries} lots and both checks. Give more trees.")


@dataclass(frozen=True, slots=True)
class Wrong:
    """How unlike lineages, sites and trees are (standard deviations on the log of the hazard), and what goes wrong (shares of records).

    `missing`: a tree alive that the crew does not find. `vanishing`: a dead tree of which nothing is left. `errors`: a tree written down
    as dead that lives, or the reverse. `late`: a record that comes in later, with the second census sheet. `unlocated`: a living tree
    whose position nobody finds, and `unlocated_dead` a dead one; where both are alike, trees are missing at random. `growth_sd` is of
    lineages and of sites, as a share of the growth of a season, and half as much of a lineage on a site; `pressure_sd` is of the sites, on
    the logit of the chance of a canker.
    """

    lineage_sd: float = 0.5
    site_sd: float = 0.5
    interaction_sd: float = 0.2
    frailty_sd: float = 0.4
    missing: float = 0.02
    vanishing: float = 0.15
    errors: float = 0.0
    late: float = 0.05
    unlocated: float = 0.0
    unlocated_dead: float = 0.0
    growth_sd: float = 0.1
    pressure_sd: float = 0.5

    def __post_init__(self):
        for name in ("lineage_sd", "site_sd", "interaction_sd", "frailty_sd", "growth_sd", "pressure_sd"):
            if not 0 <= getattr(self, name) <= 5:
                raise ValueError(f"{name} is {getattr(self, name)}. Give a number from 0 to 5.")
        for name in ("missing", "vanishing", "errors", "late", "unlocated", "unlocated_dead"):
            if not 0 <= getattr(self, name) < 1:
                raise ValueError(f"{name} is {getattr(self, name)}. Give a share from 0 to below 1.")


@dataclass(frozen=True, slots=True)
class Truth:
    """What was drawn: `values` (lineages with both checks, n), `sites` (m), `interactions` (n × m), `base` (log hazard of each season);
    `growth` (n × m) as a share of the growth of a season, of which `growth_values` (n) are the lineages' own; `pressures` (m)."""

    size: Size
    wrong: Wrong
    names: tuple[str, ...]
    values: np.ndarray
    sites: np.ndarray
    interactions: np.ndarray
    base: np.ndarray
    growth_values: np.ndarray
    growth: np.ndarray
    pressures: np.ndarray

    def log_hazards(self, site: int) -> np.ndarray:
        """Log of the cumulative hazard of every lineage in every season on one site, without frailty (lineages × seasons)."""
        return self.base[None, :] + self.sites[site] - (self.values + self.interactions[:, site])[:, None]

    def survival_on(self, site: int) -> np.ndarray:
        """Share of each lineage truly alive after each season on one of these sites, over the frailty of its trees (lineages × seasons).

        Gauss–Hermite quadrature over the frailty with 40 nodes.
        """
        return _over_normal(self.log_hazards(site), self.wrong.frailty_sd)

    def survival(self) -> np.ndarray:
        """Mean of the true survival over these sites (lineages × seasons)."""
        return np.mean([self.survival_on(site) for site in range(self.size.sites)], axis=0)

    def survival_anywhere(self) -> np.ndarray:
        """Mean of the true survival over all sites there could be (lineages × seasons): what an interval over sites is to hold."""
        wrong = self.wrong
        spread = np.sqrt(wrong.site_sd**2 + wrong.interaction_sd**2 + wrong.frailty_sd**2)
        return _over_normal(self.base[None, :] - self.values[:, None], spread)

    def heights_anywhere(self) -> np.ndarray:
        """Mean height in cm of each lineage after each season over all sites there could be (lineages × seasons)."""
        return PLANTED_CM + SEASON_CM * (1 + self.growth_values[:, None]) * np.arange(1, self.size.rounds + 1)

    def canker_chances(self, site: int) -> np.ndarray:
        """The chance that a tree of each lineage gets a canker, or a worse one, in a season on one site."""
        return _canker_chances(self.values, self.pressures[site])

    def clear_on(self, site: int) -> np.ndarray:
        """Share of the trees of each lineage without a canker after each season on one site (lineages × seasons)."""
        return (1 - self.canker_chances(site)[:, None]) ** np.arange(1, self.size.rounds + 1)

    def clear_anywhere(self) -> np.ndarray:
        """The same over all sites there could be."""
        free = 1 - _canker_chances(self.values[:, None], self.wrong.pressure_sd * _NODES)
        return free[:, None, :] ** np.arange(1, self.size.rounds + 1)[:, None] @ (_WEIGHTS / _WEIGHTS.sum())


def _canker_chances(values, pressures):
    middle = _CANKER_MOST / (1 + np.exp(2 * values))
    return 1 / (1 + (1 - middle) / middle * np.exp(-pressures))


def _over_normal(log_hazards, spread):
    """Survival from log hazards (lineages × seasons), over a normal that moves all seasons of a tree alike."""
    cumulated = np.cumsum(np.exp(log_hazards), axis=1)
    return np.exp(-cumulated[:, :, None] * np.exp(spread * _NODES)) @ (_WEIGHTS / _WEIGHTS.sum())


def draw_truth(size: Size, wrong: Wrong, seed: int) -> Truth:
    """The truth of one simulated programme. The same arguments give the same truth."""
    random = np.random.default_rng([seed, 1])
    names = (*(f"Source {number:03d}" for number in range(1, size.lineages + 1)), *_CHECK_VALUES)
    values = np.concatenate([random.normal(0, wrong.lineage_sd, size.lineages), list(_CHECK_VALUES.values())])
    sites = random.normal(0, wrong.site_sd, size.sites)
    interactions = random.normal(0, wrong.interaction_sd, (len(names), size.sites))
    base = np.full(size.rounds, _LATER_SEASONS)
    base[0] = _FIRST_SEASON
    growth_values = np.concatenate([random.normal(0, wrong.growth_sd, size.lineages), np.zeros(len(_CHECK_VALUES))])
    growth = growth_values[:, None] + random.normal(0, wrong.growth_sd, size.sites)
    growth = growth + random.normal(0, wrong.growth_sd / 2, growth.shape)
    pressures = random.normal(0, wrong.pressure_sd, size.sites)
    return Truth(size, wrong, names, values, sites, interactions, base, growth_values, growth, pressures)
