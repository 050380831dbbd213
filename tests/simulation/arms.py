"""The programmes that coverage is looked at in: what each is like, and one run of it."""

from dataclasses import dataclass, replace

import numpy as np

from plantings.calc.survival.groups import TEST
from plantings.imports.demo.simulated.truth import NATIVE, Size, Wrong, draw_truth
from tests.simulation.adding_up import order_found
from tests.simulation.drawn import draw, figures, one_site_lives
from tests.simulation.intervals import life_pairs, pairs_of
from tests.simulation.model import model_pairs
from tests.simulation.second import agreement_pairs
from tests.simulation.truths import truths_of


@dataclass(frozen=True, slots=True)
class Arm:
    """`size` and `wrong` as in `simulate`. `late` says that the late sheets are not in yet; `skipped` that every second planting lacks
    the census of age 2; `alike` that all lineages are as the native check; `second` that two people record the same trees, and that counts are
    drawn from the mixed model too; `brief` that
    growth and the life tables of single sites are left out."""

    name: str
    size: Size
    wrong: Wrong
    late: bool = False
    skipped: bool = False
    alike: bool = False
    second: bool = False
    brief: bool = False


def _size(sites=8, lineages=8, trees=20, rounds=3):
    """`trees` of each lineage and check on each site."""
    return Size(sites, sites, lineages, lineages, lineages, trees * (lineages + 2), rounds)


_FOUND = Wrong(missing=0.0, vanishing=0.0, late=0.0)
ARMS = (
    Arm("all trees found", _size(), _FOUND, second=True),
    Arm("4 sites", _size(sites=4), _FOUND),
    Arm("16 sites", _size(sites=16), _FOUND),
    Arm("5 trees a site", _size(trees=5), _FOUND),
    Arm("lineages react much to sites", _size(), replace(_FOUND, interaction_sd=0.6), brief=True),
    Arm("20 lineages", _size(lineages=20), replace(_FOUND, lineage_sd=0.3)),
    Arm("2 sites", _size(sites=2), _FOUND),
    Arm("10 % not located, at random", _size(), replace(_FOUND, unlocated=0.1, unlocated_dead=0.1), brief=True),
    Arm("30 % not located, at random", _size(), replace(_FOUND, unlocated=0.3, unlocated_dead=0.3)),
    Arm("10 % not located, the dead three times as often", _size(), replace(_FOUND, unlocated=0.06, unlocated_dead=0.18), brief=True),
    Arm("30 % not located, the dead three times as often", _size(), replace(_FOUND, unlocated=0.18, unlocated_dead=0.54), brief=True),
    Arm("10 % of the living not found", _size(), replace(_FOUND, missing=0.1), brief=True),
    Arm("30 % of the living not found", _size(), replace(_FOUND, missing=0.3), brief=True),
    Arm("20 % of the records still to come", _size(), replace(_FOUND, late=0.2), late=True, brief=True),
    Arm("2 % of the statuses wrong", _size(), replace(_FOUND, errors=0.02), brief=True),
    Arm("every second planting lacks a census", _size(rounds=4), _FOUND, skipped=True),
    Arm("no lineage differs from the native check", _size(), replace(_FOUND, interaction_sd=0.0), alike=True, brief=True),
    Arm("none differs on average, each reacts to sites", _size(), replace(_FOUND, interaction_sd=0.4), alike=True, brief=True),
)


def run(arm: Arm, seed: int):
    """(pairs, order found or None, [(name of a test, its p)]) of one programme."""
    truth = draw_truth(arm.size, arm.wrong, seed)
    if arm.alike:
        truth = replace(truth, values=np.full_like(truth.values, truth.values[truth.names.index(NATIVE)]))
    skipped = {(number, 2) for number in range(0, arm.size.plantings, 2)} if arm.skipped else ()
    drawn = draw(truth, seed, without_late=arm.late, skipped=skipped)
    found, true = figures(drawn, grown=not arm.brief), truths_of(truth)
    pairs = [*pairs_of(truth, true, found, drawn)]
    if not arm.brief:
        places = {name: number for number, name in enumerate(truth.names)}
        pairs += life_pairs(one_site_lives(drawn, "SM-0001"), true.on_site[0], places, true, "on one site")
    if arm.second:
        pairs += [*agreement_pairs(truth, seed), *model_pairs(seed)]
    order = None if arm.alike else order_found(found.comparison, dict(zip(truth.names, truth.values, strict=True)))
    return pairs, order, _tests(found) if arm.alike else []


def _tests(found):
    """The p of each test of one lineage, so that the lineages of a programme are not counted as separate ones; and the smallest of those
    adjusted for the number of lineages."""
    rows = [one for one in (*found.comparison.ranked, *found.comparison.unranked) if one.row.role == TEST]
    lives = found.lives.lineages
    every = {
        "odds (Cochran–Mantel–Haenszel)": rows[0].odds and rows[0].odds.p,
        "odds, adjusted (Holm), smallest of a page": min((one.odds_holm for one in rows if one.odds_holm is not None), default=None),
        "the sites agree (Breslow–Day)": rows[0].odds and rows[0].odds.alike_p,
        "lives (log-rank, by site)": lives[0].test and lives[0].test.p,
        "lives, early deaths": lives[0].early and lives[0].early.p,
        "lives, adjusted (Holm), smallest of a page": min((one.holm for one in lives if one.holm is not None), default=None),
        "ratio of hazards the same at all ages": lives[0].hazard.constant_p,
    }
    return [(name, p) for name, p in every.items() if p is not None]
