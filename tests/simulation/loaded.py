"""The same figures read from the records, of a simulated programme that was loaded through its sheets."""

from dataclasses import fields

from plantings.calc.census.measurements import CANKER, HEIGHT
from plantings.calc.survival.census_choice import AGE, CensusChoice
from plantings.calc.survival.groups import LINEAGE
from plantings.imports.demo.simulated.truth import Size, Wrong, draw_truth
from plantings.selectors.survival.growth import growth_table
from plantings.selectors.survival.lifetimes import lineage_lifetimes
from plantings.selectors.survival.lineages import lineage_comparison
from plantings.selectors.survival.measured import measured_table
from plantings.selectors.survival.survival import SurvivalFilter, survival_rows
from registry.models import Person
from tests.simulation.drawn import Figures, draw, figures
from tests.simulation.intervals import pairs_of
from tests.simulation.truths import truths_of

LEVEL = "source"


def small(seed):
    """A programme with something of everything that goes wrong, and every census complete."""
    wrong = Wrong(missing=0.05, vanishing=0.2, errors=0.02, late=0.2, unlocated=0.03, unlocated_dead=0.06)
    return draw_truth(Size(sites=4, plantings=5, lineages=5, lots=7, entries=6, trees=64, rounds=2), wrong, seed)


def options(truth, seed):
    """The options of `simulate` that make this programme."""
    given = [(field.name, getattr(part, field.name)) for part in (truth.size, truth.wrong) for field in fields(part)]
    return [f"--seed={seed}", *(f"--{name.replace('_', '-')}={value}" for name, value in given)]


def loaded_figures(last) -> Figures:
    user, filters, moment = Person.objects.get(), SurvivalFilter(), CensusChoice(AGE, last)
    return Figures(
        survival_rows(user, (LINEAGE,), LEVEL, moment).rows, survival_rows(user, ("site", LINEAGE), LEVEL, moment).rows,
        lineage_comparison(user, LEVEL, moment, filters).comparison, lineage_lifetimes(user, LEVEL, filters).lives,
        growth_table(user, HEIGHT, LEVEL, filters).growth, measured_table(user, HEIGHT, (LINEAGE,), LEVEL, moment, filters).rows,
        measured_table(user, CANKER, (LINEAGE,), LEVEL, moment, filters).rows,
    )  # fmt: skip


def differences(truth, seed):
    """(number of intervals, largest difference of an estimate or an end) between the loaded programme and the one drawn in memory."""
    true = truths_of(truth)
    loaded, drawn = (
        sorted(pairs_of(truth, true, found)) for found in (loaded_figures(truth.size.rounds), figures(draw(truth, seed)))
    )  # fmt: skip
    if [one.name for one in loaded] != [one.name for one in drawn]:
        raise AssertionError("The loaded programme has other intervals than the one drawn in memory.")
    return len(drawn), max(
        abs(mine - other) for one, same in zip(loaded, drawn, strict=True) for mine, other in zip(one[1:], same[1:], strict=True)
    )
