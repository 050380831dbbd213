"""The mixed model of lineages on sites: its cells from the tallies, and what it says of each lineage as shares.

Source
------
Definitions of this programme; the model is `mixed_fit`.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from plantings.calc.fits.check import Cell, FitCheck, binomial_residuals, fit_check, furthest_of
from plantings.calc.lineages.mixed_model import MixedFit, mixed_fit
from plantings.calc.results import Difference
from plantings.calc.survival.groups import TEST
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import NATIVE
from plantings.calc.survival.tallies import Tally

SITE, BLOCK, LINEAGE, REACTION = "site", "planting", "lineage", "lineage on site"
NODES = 25  # of quadrature, where one factor is left
_NORMAL_95 = 1.959964


@dataclass(frozen=True, slots=True)
class LineageCells:
    """The cells of the model: counts, the group of each, and the level of every factor. `rests_on` has all that they are made from, in an
    order of its own, so that two models of the same counts have the same text. `places` are ((kind of check, lineage), site, planting)."""

    groups: list[str]
    alive: list[int]
    n: list[int]
    design: np.ndarray
    factors: dict[str, np.ndarray]
    lineages: list[str]
    left_out: tuple[str, ...]
    rests_on: str
    places: list[tuple[tuple[str, str], str, str]]

    @property
    def work(self) -> float:
        """How much work a fit is, as the number of cells of a model that takes as long: each cell costs the same, and the matrices of the
        levels the third power of their number. 10,000 took 0.3 s on a quiet machine and 1 s on a busy one (30 Nov 2026)."""
        levels = sum(int(codes.max(initial=-1)) + 1 for name, codes in self.factors.items() if name != REACTION)
        return len(self.n) + levels**3 / 10_000

    @property
    def about(self) -> dict[str, int]:
        """What they are of, in numbers: to say what changed since an earlier model."""
        sites = int(self.factors[SITE].max(initial=-1)) + 1
        return {"lineages": len(self.lineages), "sites": sites, "trees": sum(self.n), "alive": sum(self.alive)}


def lineage_cells(tallies: Iterable[Tally]) -> LineageCells:
    """One cell for each lineage, or kind of check, in each planting with assessed trees."""
    sums: dict[tuple, list[int]] = {}
    for tally in tallies:
        counts = Counts._make(tally.counts)
        if counts.assessed:
            group = ("", tally.keys[0]) if tally.role == TEST else (tally.standard, "")
            pair = sums.setdefault((group, tally.site, tally.planting), [0, 0])
            pair[0] += counts.alive
            pair[1] += counts.assessed
    kinds: dict[str, list[int]] = {}
    for (group, _site, _planting), (alive, n) in sums.items():
        total = kinds.setdefault(group[0], [0, 0])
        total[0] += alive
        total[1] += n
    # a kind of check of which all trees live, or none, has no finite place on the logit scale
    left_out = tuple(kind for kind, (alive, n) in kinds.items() if kind and not 0 < alive < n)
    used = [kind for kind in kinds if kind not in left_out]
    cells = {place: pair for place, pair in sums.items() if place[0][0] in used}
    lineages = sorted({group[1] for group, _s, _p in cells if not group[0]})
    number = {label: code for code, label in enumerate(lineages)}
    factors = {
        SITE: _codes(site for _g, site, _p in cells),
        LINEAGE: np.array([number.get(group[1], -1) for group, _s, _p in cells]),
    }
    if len({(site, planting) for _g, site, planting in cells}) > len({site for _g, site, _p in cells}):
        factors[BLOCK] = _codes((site, planting) for _g, site, planting in cells)
    factors[REACTION] = _codes((group, site) for group, site, _p in cells)
    design = np.array([[float(group[0] == kind) for kind in used] for group, _s, _p in cells])
    alive, n = zip(*cells.values(), strict=True)
    return LineageCells([*used], list(alive), list(n), design, factors, lineages, left_out, repr(sorted(sums.items())), [*cells])


def _codes(labels):
    numbers: dict = {}
    return np.array([numbers.setdefault(label, len(numbers)) for label in labels])


def lineage_fit(cells: LineageCells, say: Callable[[], None] | None = None) -> MixedFit | None:
    """The fitted model; None where its matrices cannot be solved. `say` as in `mixed_fit`."""
    try:
        return mixed_fit(cells.alive, cells.n, cells.design, cells.factors, joint_of=(LINEAGE, SITE), nodes=NODES, say=say)
    except np.linalg.LinAlgError:  # counts that no matrix can be solved for: nothing to use
        return None


def lineage_fit_check(cells: LineageCells, fit: MixedFit) -> FitCheck:
    """Whether the fitted model describes the counts of the cells."""
    residuals = binomial_residuals(cells.alive, cells.n, fit.logits, fit.logit_variances)
    far = furthest_of(residuals)
    (standard, label), site, planting = cells.places[far]
    n = int(cells.n[far])
    cell = Cell(standard, label, site, planting, n, int(cells.alive[far]), n * float(residuals.expected[far]))
    return fit_check(residuals, cell)


@dataclass(frozen=True, slots=True)
class LineageValues:
    """Effects on the logit scale with their covariance and reliability, (share, low, high), and differences from the native check."""

    effects: np.ndarray
    covariance: np.ndarray
    reliability: np.ndarray
    shares: list[tuple[float, float, float]]
    differences: list[Difference | None]


def lineage_values(cells: LineageCells, fit: MixedFit, labels: Sequence[str]) -> LineageValues:
    """Shares over all sites of the picture, and their differences from the native check, with 95 % intervals by the delta method.

    Simulated (`tests/simulation/COVERAGE.md`): the intervals of shares held the truth in 94 to 99 of 100 cases, those of differences in 92
    to 95.
    """
    width = len(cells.groups)
    test, native = cells.groups.index(""), cells.groups.index(NATIVE) if NATIVE in cells.groups else None
    where = [cells.lineages.index(label) for label in labels]
    effects = fit.modes[LINEAGE][where]
    if LINEAGE in fit.joint:
        joint = fit.joint[LINEAGE]
    else:  # the lineages do not differ: only the fixed effects are uncertain
        joint = np.zeros((width + len(cells.lineages),) * 2)
        joint[:width, :width] = fit.joint[SITE][:width, :width] if SITE in fit.joint else np.diag(fit.fixed_errors**2)
    places = [width + code for code in where]
    site_modes = fit.modes[SITE]
    shares, differences = [], []
    for effect, place in zip(effects, places, strict=True):
        logit = fit.fixed[test] + effect
        error = np.sqrt(joint[test, test] + joint[place, place] + 2 * joint[test, place])
        share, slope = _over_sites(logit, site_modes)
        shares.append((share, *(_over_sites(logit + sign * _NORMAL_95 * error, site_modes)[0] for sign in (-1, 1))))
        if native is None:
            differences.append(None)
            continue
        check, check_slope = _over_sites(fit.fixed[native], site_modes)
        vector = np.zeros(len(joint))
        vector[[test, place, native]] = slope, slope, -check_slope
        half = _NORMAL_95 * float(np.sqrt(max(vector @ joint @ vector, 0)))
        differences.append(Difference(share - check, max(-1.0, share - check - half), min(1.0, share - check + half)))
    reliability = fit.reliability[LINEAGE][where]
    return LineageValues(effects, joint[np.ix_(places, places)], reliability, shares, differences)


def _over_sites(logit, site_modes):
    """(mean share over the sites, its slope) at a value of the logit scale."""
    share = 1 / (1 + np.exp(-(logit + site_modes)))
    return float(share.mean()), float((share * (1 - share)).mean())
