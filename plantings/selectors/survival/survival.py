"""Survival by site and lineage, read from the tallies that every census write stores."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils import timezone

from plantings.calc.survival.census_choice import AGE, SEASON, VISIT, CensusChoice
from plantings.calc.survival.groups import BY, LEVELS, LINEAGE
from plantings.calc.survival.heat import HeatWindow, heat_window
from plantings.calc.survival.rows_by_label import RowsByLabel
from plantings.calc.survival.table import SurvivalRow, in_order, survival_table_rows, survival_totals
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.rounds import LeftOut, OpenRound, SurvivalFilter, WaitingRound, left_out, rounds_in_scope
from plantings.selectors.survival.tallies import GroupLabels, read_tallies
from registry.selectors.shared.held_answers import held_until_change

__all__ = ["SurvivalTable", "checked_groups", "survival_rows"]


@dataclass(frozen=True, slots=True)
class SurvivalTable(RecordsBehind):
    """Rows at one moment.

    `ages`, `years` and `visits` are those there are, each with the number of plantings that have a usable census of it; `moment` is
    None where nothing has. `unread_of` has the unread records by (planting, sown).
    `not_complete` are the rounds that are not results yet, `waiting` those of which no record counts before its review.
    `heat` is the part of a heat table that the rows are of, else None.
    `stated_levels` are given only where the lineage is not stated at the level asked for: the levels at which it is.
    """

    by: tuple[str, ...]
    level: str
    moment: CensusChoice | None
    ages: tuple[tuple[int, int], ...]
    years: tuple[tuple[int, int], ...]
    visits: tuple[tuple[int, int], ...]
    rows: Sequence[SurvivalRow]
    totals: tuple[SurvivalRow, ...]
    left_out: tuple[LeftOut, ...]
    not_complete: tuple[OpenRound, ...]
    stated_levels: tuple[str, ...]
    site_names: dict[str, str]
    protocol_versions: tuple[str, ...]
    complete_percent: int
    unread_of: dict[tuple[str, bool], int]
    waiting: tuple[WaitingRound, ...]
    heat: HeatWindow | None
    as_of: datetime.date

    @property
    def season(self):
        """Growing seasons completed, where the table is of one age."""
        return self.moment.number if self.moment and self.moment.kind == AGE else None


@held_until_change
def survival_rows(user, by=("site", LINEAGE), level="lot", moment=None, filters=None, *, by_survival=False, heat_pages=None):
    """The survival table of the rows a person may see.

    Parameters
    ----------
    by : names out of `BY`, in the order the rows are grouped
    level : the level of lineage, out of `LEVELS`
    moment : CensusChoice; None takes the oldest age that half of the plantings have reached
    filters : SurvivalFilter
    by_survival : order each first group by survival; rows under ten trees are never ranked
    heat_pages : (page of rows, page of columns) of a heat table, from 1: only the rows of that part, without their checks

    Returns
    -------
    SurvivalTable
        Each planting enters with its last complete round of that moment; those without one are in `left_out`.
    """
    by, filters = checked_groups(by, level), filters or SurvivalFilter()
    rounds = rounds_in_scope(user, filters)
    moment = moment or rounds.default_moment()
    chosen = rounds.chosen(moment) if moment else {}
    labels = GroupLabels(by, level, filters)
    tallies = labels.tallies(read_tallies(user, filters, chosen, (moment,)), chosen)
    heat = heat_window(tallies.of_roles(lambda role, _standard, _sown: role in filters.roles), *heat_pages) if heat_pages else None
    if heat or by_survival:
        found = survival_table_rows(heat.tallies, compare=False) if heat else survival_table_rows(tallies)
        rows = tuple(in_order((row for row in found if row.role in filters.roles), by_survival))
    else:
        rows = RowsByLabel(tallies, filters.roles)
    return SurvivalTable(
        by=by,
        level=level,
        moment=moment,
        ages=rounds.numbers(AGE),
        years=rounds.numbers(SEASON),
        visits=rounds.numbers(VISIT),
        rows=rows,
        totals=tuple(row for row in survival_totals(tallies) if row.role in filters.roles),
        left_out=left_out(user, filters, rounds, chosen),
        not_complete=rounds.not_complete(moment),
        stated_levels=labels.stated_levels(tallies),
        site_names={part.site: part.site_name for part in chosen.values()},
        protocol_versions=tuple(sorted({part.protocol for part in chosen.values()} - {""})),
        complete_percent=rounds.percent,
        **records_behind(user, rounds, chosen.values()),
        unread_of=rounds.unread_of(chosen),
        waiting=rounds.waiting,
        heat=heat,
        as_of=timezone.localdate(),
    )


def checked_groups(by, level):
    """`by` as a tuple. Raises ValueError when it or the level is not one there is."""
    by = tuple(by)
    unknown = [word for word in by if word not in BY]
    if unknown or not by or len(set(by)) < len(by):
        raise ValueError(f"by is {', '.join(by) or 'empty'}: give one or more of {', '.join(BY)}, each once")
    if level not in LEVELS:
        raise ValueError(f"level is {level}: give one of {', '.join(LEVELS)}")
    return by
