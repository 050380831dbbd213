"""The tallies and measured groups of a simulated programme, without sheets and without a database.

The trees are those that `simulate` writes into its sheets, and their fates and counts are made by the functions that make the stored tallies.
"""

from typing import NamedTuple

import numpy as np

from plantings.calc.census.fate import Status
from plantings.calc.census.measurements import CANKER, HEIGHT
from plantings.calc.census.planting_fates import histories
from plantings.calc.census.tallies import TreeRecords, counts_of_groups, group_tallies
from plantings.calc.growth.growth import Growth, growth_of
from plantings.calc.lifetimes.lineage_lives import Lives, lineage_lives
from plantings.calc.lineages.compare import Comparison, compare_lineages
from plantings.calc.survival import groups
from plantings.calc.survival.measured import MeasuredGroup, MeasuredRow, measured_rows
from plantings.calc.survival.table import SurvivalRow, survival_table_rows
from plantings.calc.survival.tallies import Tally
from plantings.imports.demo.simulated.lives import ALIVE, draw_planting
from plantings.imports.demo.simulated.truth import DONOR, NATIVE

STANDARDS = {NATIVE: groups.NATIVE, DONOR: groups.DONOR}


class Figures(NamedTuple):
    """What the pages of results show of one programme at its last age, and over its ages."""

    rows: list[SurvivalRow]
    on_sites: list[SurvivalRow]
    comparison: Comparison
    lives: Lives
    growth: Growth
    heights: list[MeasuredRow]
    cankers: list[MeasuredRow]


class Drawn(NamedTuple):
    """{age: tallies}, {age: measured groups} of height and of canker, and {site: [(lineages, truly alive at each age)]} of its plantings."""

    tallies: dict[int, list[Tally]]
    heights: dict[int, list[MeasuredGroup]]
    cankers: dict[int, list[MeasuredGroup]]
    lived: dict[int, list[tuple[np.ndarray, np.ndarray]]]


def draw(truth, seed, *, without_late=False, skipped=()):
    """Every planting of a programme, each census complete. `skipped` are (planting, age) without a census."""
    drawn = Drawn(*({age: [] for age in range(1, truth.size.rounds + 1)} for _ in range(3)), {})
    for number in range(truth.size.plantings):
        planting = draw_planting(truth, number, seed)
        drawn.lived.setdefault(planting.site, []).append((planting.lineages, planting.alive))
        seasons = [season for season in range(truth.size.rounds) if (number, season + 1) not in skipped]
        status = np.where(planting.is_late & without_late, "NONE", planting.status)[:, seasons]
        _add_planting(drawn, truth, number, planting, status, seasons)
    return drawn


def _add_planting(drawn, truth, number, planting, status, seasons):
    names, codes = np.unique(status, return_inverse=True)
    codes = np.array([Status[name] for name in names], np.uint8)[codes].reshape(status.shape)
    seen = status == ALIVE
    canker = np.where(seen, planting.canker[:, seasons], -1).astype(np.int8)
    lots, group = np.unique(planting.lots, return_inverse=True)
    tallies = group_tallies(TreeRecords(codes, canker, np.zeros_like(codes)), histories(codes), group, len(lots), 1)
    site, code = f"SM-{planting.site + 1:04d}", f"SMP-{number + 1:05d}"
    lineage = dict(zip(planting.lots.tolist(), planting.lineages.tolist(), strict=True))
    kinds = [_kind(truth.names[lineage[lot]]) for lot in lots.tolist()]
    for (place, at), counts in counts_of_groups(tallies).items():
        keys, role, standard = kinds[place]
        drawn.tallies[seasons[at] + 1].append(Tally(keys, role, site, code, str(lots[place]), standard, False, True, counts))
    for values, by_age in ((planting.height_cm, drawn.heights), (planting.canker, drawn.cankers)):
        for at, season in enumerate(seasons):
            found = {}
            for place, value in zip(group[seen[:, at]].tolist(), values[seen[:, at], season].tolist(), strict=True):
                found[place, value] = found.get((place, value), 0) + 1
            by_age[season + 1] += [
                MeasuredGroup(*kinds[place], False, site, code, value, trees) for (place, value), trees in sorted(found.items())
            ]


def _kind(name):
    return ((name,), groups.CHECK, STANDARDS[name]) if name in STANDARDS else ((name,), groups.TEST, "")


def figures(drawn: Drawn, grown: bool = True) -> Figures:
    """The figures by the functions that the pages call; without growth where that is not asked for, since it takes a third of the time."""
    last = max(drawn.tallies)
    tallies = drawn.tallies[last]
    on_sites = [tally._replace(keys=(tally.site, *tally.keys)) for tally in tallies]
    return Figures(
        survival_table_rows(tallies), survival_table_rows(on_sites), compare_lineages(tallies), lineage_lives(drawn.tallies),
        growth_of(drawn.heights if grown else {}), measured_rows(HEIGHT, drawn.heights[last]), measured_rows(CANKER, drawn.cankers[last]),
    )  # fmt: skip


def one_site_lives(drawn: Drawn, site: str) -> Lives:
    """The life tables of one site, as the page of small pictures by site has them."""
    return lineage_lives({age: [tally for tally in tallies if tally.site == site] for age, tallies in drawn.tallies.items()})


__all__ = ["STANDARDS", "Drawn", "Figures", "draw", "figures", "one_site_lives"]
