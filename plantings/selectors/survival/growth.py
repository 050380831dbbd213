"""Growth of lineages, read from the records of every age that count."""

import datetime
from dataclasses import dataclass

from django.utils import timezone

from plantings.calc.census.measurements import Measurement
from plantings.calc.growth.growth import Growth
from plantings.calc.survival.census_choice import AGE
from plantings.calc.survival.groups import LINEAGE
from plantings.models import Planting
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.measured import measured_groups, value_counts
from plantings.selectors.survival.models import GrowthModels
from plantings.selectors.survival.rounds import LeftOut, OpenRound, WaitingRound, left_out, rounds_in_scope
from plantings.selectors.survival.survival import checked_groups
from plantings.selectors.survival.tallies import GroupLabels
from registry.selectors.jobs.answers import AwaitedAnswer, Question, question_of
from registry.selectors.shared.held_answers import held_until_change

__all__ = ["GrowthTable", "growth_model", "growth_table"]


@dataclass(frozen=True, slots=True)
class GrowthTable(RecordsBehind):
    """The growth of lineages at a level in one measurement, of planted trees or of sown ones; `left_out`, `not_complete` and `waiting`
    are the plantings and rounds that no figure is made from. `question` is that of models so large that a job fits them, None of any
    others; while its answer is `awaited` there are means alone, or the models of earlier records."""

    item: Measurement
    level: str
    growth: Growth
    sown: bool
    left_out: tuple[LeftOut, ...]
    not_complete: tuple[OpenRound, ...]
    waiting: tuple[WaitingRound, ...]
    as_of: datetime.date
    question: Question | None
    awaited: AwaitedAnswer | None


@held_until_change
def growth_table(user, item, level, filters, *, sown=False, at_once=True):
    """The GrowthTable of what a person may see; `level` and `filters` as in `survival_rows`, complete rounds only.

    A page that does not wait for large models asks without `at_once`, and looks at `awaited`.
    """
    return _modelled(user, item, level, filters, sown, at_once)[0]


def growth_model(user, item, level, filters, *, sown=False, say=None):
    """Its models as they are to be stored, None where the stored ones are of the same records, or small."""
    return _modelled(user, item, level, filters, sown, True, say)[1].worked_out


def _modelled(user, item, level, filters, sown, at_once, say=None):
    """(GrowthTable, GrowthModels)."""
    by = checked_groups((LINEAGE,), level)
    rounds = rounds_in_scope(user, filters)
    chosen = rounds.chosen_of_ages([age for age, _ in rounds.numbers(AGE)])
    every = {key: part for of_age in chosen.values() for key, part in of_age.items()}
    counts = list(value_counts(user, item, filters, {pk for pk, _sown in every}))
    labels = GroupLabels(by, level, filters)
    labels.learn({lot for _round, lot, *_rest in counts})
    by_age = {}
    for age, of_age in chosen.items():
        rounds_here = {pk for pk, _sown in of_age}
        groups = measured_groups([row for row in counts if row[0] in rounds_here], of_age, labels, filters)
        by_age[age] = [group for group in groups if group.sown == sown]
    choices = {"of": "growth", "item": item.field, "level": level, "sown": sown, "filters": filters.given}
    models = GrowthModels(question_of(user, Planting, choices), at_once=at_once, say=say)
    table = GrowthTable(
        item=item, level=level, growth=models.growth(by_age), sown=sown, left_out=left_out(user, filters, rounds, every),
        not_complete=rounds.not_complete(None), waiting=rounds.waiting, as_of=timezone.localdate(),
        question=models.question if models.is_large else None, awaited=models.awaited,
        **records_behind(user, rounds, every.values()),
    )  # fmt: skip
    return table, models
