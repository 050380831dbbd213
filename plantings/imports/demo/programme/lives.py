"""The invented life of one tree, season by season: what it dies of, how it grows, what its canker does."""

from dataclasses import dataclass

from plantings.imports.demo.programme.description import DESCRIPTION
from plantings.imports.demo.programme.layout import EXTRA_ENTRY


@dataclass(frozen=True)
class Kind:
    """How the trees of one lot are made: resistance to canker 0-1 and growth against the average."""

    resistance: float
    growth: float


KINDS = {lot: Kind(**kind) for lot, kind in DESCRIPTION["lots"].items()}
_FIRST_SEASON = (("planting", 5), ("drought", 4), ("rodent", 4), ("frost", 2), ("unknown", 3))
_LATER = (("unknown", 6), ("rodent", 3), ("suppressed", 4), ("insect", 2), ("mechanical", 2))
# Chance that a tree killed so shoots again from the collar, and that its remains vanish before the visit.
_RESPROUTS = {"canker": 0.16, "deer": 0.3, "frost": 0.35, "drought": 0.12, "mechanical": 0.35, "rodent": 0.1}
_VANISHES = {"rodent": 0.35, "deer": 0.3, "planting": 0.12}
_BROWSED_OPEN = (("none", 3), ("light", 4), ("moderate", 4), ("heavy", 3))
_BROWSED_FENCED = (("none", 93), ("light", 6), ("moderate", 1))
_GROWTH_CM = (11, 24, 40, 52, 58)
_AGE_RISK = (0.35, 1.1, 1.5, 1.7, 1.8)  # canker finds larger stems more easily


class Tree:
    """One tree, alive at planting. `step` takes it through the next season."""

    def __init__(self, planted, climate, rng):
        self.planted, self.climate, self.rng, self.kind = planted, climate, rng, KINDS[planted.lot]
        two_years_old = planted.plan.year == 2022 or planted.lot == EXTRA_ENTRY
        self.height = max(12.0, rng.gauss(62, 11) if two_years_old else rng.gauss(38, 7))
        self.vigour = max(0.4, rng.gauss(1, 0.16))
        self.stoutness = rng.gauss(0.12, 0.009)
        self.diameter = 4 + self.stoutness * self.height
        self.alive, self.resprout, self.vanished, self.shoots_next = True, False, False, False
        self.canker, self.dieback, self.browse, self.cause, self.age = 0, 0, "none", "", 0
        self.reported = False  # whether a crew has written down that this stem is a resprout

    def step(self, year):
        season, self.age = self.age, self.age + 1
        if not self.alive:
            if self.shoots_next:
                self._shoot()
            elif self._chance(0.15):
                self.vanished = True
            return
        self._spread_canker(season, year)
        cause = self._killer(season, year)
        if cause:
            self._die(cause)
        else:
            self._grow(season, year)

    def _chance(self, share):
        return self.rng.random() < share

    def _spread_canker(self, season, year):
        weak = 1 - self.kind.resistance
        if self.canker == 0:
            risk = self.climate.canker * _AGE_RISK[min(season, 4)] * (0.1 + weak) * (1.3 if year == 2023 else 1)
            self.canker = int(self._chance(risk))
        elif self._chance(0.1 + 0.8 * weak):
            self.canker = min(4, self.canker + 1 + self._chance(0.5 * weak))

    def _killer(self, season, year):
        climate = self.climate
        losses = [
            (climate.establishment if season == 0 else climate.background, None),
            (climate.drought.get(year, 0), "drought"),
            (climate.frost.get(year, 0), "frost"),
            (0.07 if year <= climate.deer_until else 0, "deer"),
            (climate.root_rot if season else 0, "root_rot"),
            (0.1 if self.resprout else 0, "unknown"),
            ((0, 0, 0.05, 0.3, 0.8)[self.canker], "canker"),
        ]
        for share, cause in losses:
            if self._chance(share):
                return cause or _pick(self.rng, _LATER if season else _FIRST_SEASON)
        return ""

    def _die(self, cause):
        self.alive, self.resprout = False, False
        self.cause = "unknown" if self._chance(0.1) else cause  # as the crew will write it
        self.vanished = self._chance(_VANISHES.get(cause, 0.07))
        if not self.vanished and self._chance(_RESPROUTS.get(cause, 0)):
            self.shoots_next = True
            if self._chance(0.45):
                self._shoot()  # shot again before the visit of the same autumn

    def _shoot(self):
        self.alive, self.resprout, self.shoots_next, self.reported, self.cause = True, True, False, False, ""
        self.height, self.canker, self.dieback, self.browse = self.rng.uniform(14, 46), 0, 0, "none"
        self.diameter = 3 + self.stoutness * self.height

    def _grow(self, season, year):
        rng, climate = self.rng, self.climate
        deer, dry, frost = year <= climate.deer_until, climate.drought.get(year, 0) >= 0.04, year in climate.frost
        gain = _GROWTH_CM[min(season, 4)] * climate.growth * self.kind.growth * self.vigour * rng.uniform(0.75, 1.25)
        gain *= (1, 0.95, 0.65, 0.4, 0.2)[self.canker] * (0.5 if dry else 1) * (0.8 if self.resprout else 1)
        self.browse = _pick(rng, _BROWSED_OPEN if deer else _BROWSED_FENCED)
        if self.browse in ("moderate", "heavy"):
            gain *= 0.15
        self.dieback = rng.choice((10, 20, 30, 40, 50)) if self.canker >= 3 or (frost and self._chance(0.3)) else 0
        self.height = self.height * (1 - self.dieback / 400) + gain
        self.diameter = max(self.diameter, 4 + self.stoutness * self.height)


def _pick(rng, weighted):
    """One of ((word, weight), ...)."""
    at = rng.random() * sum(weight for _, weight in weighted)
    for word, weight in weighted:
        at -= weight
        if at < 0:
            return word
    return weighted[-1][0]
