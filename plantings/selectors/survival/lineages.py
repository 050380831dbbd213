"""Lineages beside the native checks, read from the tallies of the survival table."""

import datetime
from dataclasses import dataclass

from django.utils import timezone

from plantings.calc.lineages.compare import Comparison, compare_lineages
from plantings.calc.survival.census_choice import AGE, SEASON, VISIT, CensusChoice
from plantings.calc.survival.groups import LINEAGE
from plantings.calc.survival.table import SurvivalRow, survival_totals
from plantings.models import Planting
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.models import LineageModels
from plantings.selectors.survival.rounds import LeftOut, OpenRound, WaitingRound, left_out, rounds_in_scope
from plantings.selectors.survival.survival import checked_groups
from plantings.selectors.survival.tallies import GroupLabels, read_tallies
from registry.selectors.jobs.answers import AwaitedAnswer, Question, question_of
from registry.selectors.shared.held_answers import held_until_change

__all__ = ["LineageTable", "lineage_comparison", "lineage_model"]


@dataclass(frozen=True, slots=True)
class LineageTable(RecordsBehind):
    """The comparison at one moment; `ages`, `years` and `visits` as in the survival table. `others` are the lineages of the other
    population: sown as seed where the planted trees are shown, and the reverse. `waiting` are rounds of which no record counts before its
    review, unless `unread_count`. `totals` are of all trees under test and of each kind of check, planted and sown. `model_made` is when
    the model of the comparison was fitted; None without one. `question` is that of a model so large that a job fits it, None of any other;
    while its answer is `awaited`, there is none, or that of the records of `model_made`."""

    level: str
    moment: CensusChoice | None
    ages: tuple[tuple[int, int], ...]
    years: tuple[tuple[int, int], ...]
    visits: tuple[tuple[int, int], ...]
    comparison: Comparison
    sown: bool
    others: int
    left_out: tuple[LeftOut, ...]
    not_complete: tuple[OpenRound, ...]
    waiting: tuple[WaitingRound, ...]
    totals: tuple[SurvivalRow, ...]
    model_made: datetime.datetime | None
    question: Question | None
    awaited: AwaitedAnswer | None
    site_names: dict[str, str]
    as_of: datetime.date


@held_until_change
def lineage_comparison(user, level, moment, filters, *, sown=False, at_once=True):
    """The lineages a person may see beside the checks on their sites; `level`, `moment` and `filters` as in `survival_rows`.

    A page that does not wait for a large model asks without `at_once`, and looks at `awaited`.
    """
    return _compared(user, level, moment, filters, sown, at_once)[0]


def lineage_model(user, level, moment, filters, *, sown=False, say=None):
    """The model of that comparison as it is to be stored, None where the stored one is of the same records, or nothing is fitted."""
    return _compared(user, level, moment, filters, sown, True, say)[1].worked_out


def _compared(user, level, moment, filters, sown, at_once, say=None):
    """(LineageTable, LineageModels)."""
    by = checked_groups((LINEAGE,), level)
    rounds = rounds_in_scope(user, filters)
    moment = moment or rounds.default_moment()
    chosen = rounds.chosen(moment) if moment else {}
    labels = GroupLabels(by, level, filters)
    tallies = labels.tallies(read_tallies(user, filters, chosen, (moment,)), chosen)
    choices = {"of": "lineages", "level": level, "at": moment and moment.code, "sown": sown, "filters": filters.given}
    models = LineageModels(question_of(user, Planting, choices), at_once=at_once, say=say)
    comparison = compare_lineages(tallies.of_roles(lambda _role, _standard, is_sown: is_sown == sown), models.answer)
    table = LineageTable(
        level=level, moment=moment, ages=rounds.numbers(AGE), years=rounds.numbers(SEASON), visits=rounds.numbers(VISIT),
        comparison=comparison, sown=sown,
        model_made=models.made, question=models.question if models.is_large else None, awaited=models.awaited,
        others=len({keys for keys, _role, standard, is_sown in tallies.kinds_present if is_sown != sown and not standard}),
        left_out=left_out(user, filters, rounds, chosen), not_complete=rounds.not_complete(moment),
        waiting=rounds.waiting, **records_behind(user, rounds, chosen.values()), totals=tuple(survival_totals(tallies)),
        site_names={part.site: part.site_name for part in chosen.values()}, as_of=timezone.localdate(),
    )  # fmt: skip
    return table, models
