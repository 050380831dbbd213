"""Lineages beside the native checks, read from the tallies of the survival table."""

import datetime
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from django.utils import timezone

from plantings.calc.lineages import model_answer
from plantings.calc.lineages.compare import Comparison, compare_lineages
from plantings.calc.survival.census_choice import AGE, SEASON, VISIT, CensusChoice
from plantings.calc.survival.groups import LINEAGE
from plantings.calc.survival.table import SurvivalRow, survival_totals
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.rounds import LeftOut, OpenRound, WaitingRound, left_out, rounds_in_scope
from plantings.selectors.survival.survival import checked_groups
from plantings.selectors.survival.tallies import GroupLabels, read_tallies
from registry.disk.kept_results import kept_result, source_digest
from registry.selectors.shared.held_answers import held_until_change

__all__ = ["LineageTable", "lineage_comparison"]


@dataclass(frozen=True, slots=True)
class LineageTable(RecordsBehind):
    """The comparison at one moment; `ages`, `years` and `visits` as in the survival table. `others` are the lineages of the other
    population: sown as seed where the planted trees are shown, and the reverse. `waiting` are rounds of which no record counts before its
    review, unless `unread_count`. `totals` are of all trees under test and of each kind of check, planted and sown. `model_made` is when
    the model of the comparison was fitted; None without one."""

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
    site_names: dict[str, str]
    as_of: datetime.date


@held_until_change
def lineage_comparison(user, level, moment, filters, *, sown=False):
    """The lineages a person may see beside the checks on their sites; `level`, `moment` and `filters` as in `survival_rows`."""
    by = checked_groups((LINEAGE,), level)
    rounds = rounds_in_scope(user, filters)
    moment = moment or rounds.default_moment()
    chosen = rounds.chosen(moment) if moment else {}
    labels = GroupLabels(by, level, filters)
    tallies = labels.tallies(read_tallies(user, filters, chosen, (moment,)), chosen)
    models = _KeptModels()
    comparison = compare_lineages(tallies.of_roles(lambda _role, _standard, is_sown: is_sown == sown), models.answer)
    return LineageTable(
        level=level, moment=moment, ages=rounds.numbers(AGE), years=rounds.numbers(SEASON), visits=rounds.numbers(VISIT),
        comparison=comparison, model_made=models.made, sown=sown,
        others=len({keys for keys, _role, standard, is_sown in tallies.kinds_present if is_sown != sown and not standard}),
        left_out=left_out(user, filters, rounds, chosen), not_complete=rounds.not_complete(moment),
        waiting=rounds.waiting, **records_behind(user, rounds, chosen.values()), totals=tuple(survival_totals(tallies)),
        site_names={part.site: part.site_name for part in chosen.values()}, as_of=timezone.localdate(),
    )  # fmt: skip


class _KeptModels:
    """Fits the model of a comparison, or reads what the same counts gave before; `made` says when that was."""

    made = None

    def answer(self, cells, labels):
        def work_out():
            answer = model_answer.model_answer(cells, labels)
            return answer and answer.values()

        values, made_at = kept_result("lineages", f"{_edition()} {labels} {cells.rests_on}", work_out)
        self.made = values and datetime.datetime.fromtimestamp(made_at, timezone.get_current_timezone())
        return model_answer.read_answer(values)


@lru_cache(maxsize=1)
def _edition():
    return source_digest(Path(model_answer.__file__).parent)
