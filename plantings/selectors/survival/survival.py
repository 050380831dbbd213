"""Survival by site and lineage, read from the tallies that every census write stores."""

import datetime
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils import timezone

from plantings.calc.survival.census_choice import AGE, SEASON, VISIT, CensusChoice
from plantings.calc.survival.groups import BY, CHECK, LEVELS, LINEAGE, ROLES_COUNTED, TEST
from plantings.calc.survival.heat import HeatWindow, heat_window
from plantings.calc.survival.rows_by_label import RowsByLabel
from plantings.calc.survival.table import (
    COUNT_NAMES,
    DONOR,
    NATIVE,
    OTHER,
    SurvivalRow,
    Tally,
    in_order,
    survival_table_rows,
    survival_totals,
)
from plantings.models import CensusRound, SurvivalTally
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.rounds import NOT_KNOWN, LeftOut, OpenRound, SurvivalFilter, WaitingRound, left_out, rounds_in_scope
from registry.choices import LotKind, TaxonRole
from registry.models import Lot
from registry.selectors.identity.descent import linked
from registry.selectors.pedigree.lineage import NOT_STATED, OUTSIDE, lot_lineages
from registry.selectors.shared.held_answers import held_until_change
from registry.selectors.shared.raw_rows import raw_rows

__all__ = [
    "STANDARD_OF",
    "GroupLabels",
    "SurvivalTable",
    "checked_groups",
    "read_tallies",
    "survival_rows",
]

STANDARD_OF = {TaxonRole.NATIVE: NATIVE, TaxonRole.DONOR: DONOR}
_PLACE = "entry__planting__site"


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
    heat = heat_window([tally for tally in tallies if tally.role in filters.roles], *heat_pages) if heat_pages else None
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


def read_tallies(user, filters, chosen, moments, counts=COUNT_NAMES):
    """(round, lot, role, counts …) of the chosen rounds, {round: [row]}: one query where the moments are ages."""
    tallies = filters.narrow(SurvivalTally.objects.for_user(user).filter(entry__role__in=ROLES_COUNTED), _PLACE)
    fields = ("round", "entry__lot", "entry__role", *counts)
    if all(moment and moment.kind == AGE for moment in moments):
        # the rounds as a sub-query: SQLite then looks tallies up by their round and does not read those of other ages
        of_age = CensusRound.objects.filter(growing_seasons__in=[moment.number for moment in moments]).order_by().values("pk")
        rows = raw_rows(tallies.filter(round__in=of_age).order_by().values_list(*fields))
    else:
        rows = linked(tallies, "round", {round_pk for round_pk, _sown in chosen}, *fields)
    found = defaultdict(list)
    for row in rows:
        found[row[0]].append(row)
    return found


class GroupLabels:
    """Labels of lots and rounds, and what is kept out of the groups: turns stored tallies into those of `calc.survival.table`."""

    def __init__(self, by, level, filters):
        self.by, self.level, self.filters = by, level, filters
        self.lots = {}
        self.lineages = None
        self._keys = {}

    def tallies(self, read, chosen):
        """Tallies of {round: [(round, lot, role, counts …)]} in the chosen rounds."""
        self.learn({row[1] for rows in read.values() for row in rows})
        found = []
        for round_pk in dict.fromkeys(pk for pk, _sown in chosen):
            for _round, lot_pk, role, *counts in read.get(round_pk, ()):
                lot, standard, sown = self.lots[lot_pk]
                part = chosen.get((round_pk, sown))
                if part is None or self.kept_out(lot_pk, role):
                    continue
                keys = self.keys(part, lot_pk, role)
                found.append(
                    Tally(keys, role, part.site, part.planting, lot, standard if role == CHECK else "", sown, not part.why, counts)
                )
        return found

    def learn(self, lots):
        """Look up lots by their keys, once."""
        unknown = lots - self.lots.keys()
        if unknown:
            rows = linked(Lot.objects, "pk", unknown, "pk", "code", "taxon__role", "kind")
            self.lots |= {pk: (code, STANDARD_OF.get(species, OTHER), kind == LotKind.SEED) for pk, code, species, kind in rows}
        if self.lineages is None and (self.filters.lineages or (LINEAGE in self.by and self.level != "lot")):
            self.lineages = lot_lineages()

    def kept_out(self, lot_pk, role):
        """Whether a lot under test is of another lineage than the filters ask for."""
        if not self.filters.lineages or role == CHECK:
            return False
        return any(getattr(self.lineages[lot_pk], level) != label for level, label in self.filters.lineages)

    def keys(self, part, lot_pk, role):
        label = self.lineage(lot_pk, role) if LINEAGE in self.by else ""
        keys = self._keys.get((part.round, label))
        if keys is None:  # made once for a group, since a table has far more tallies than groups
            words = {"site": part.site, "planting": part.planting, "jurisdiction": part.jurisdiction or NOT_KNOWN, LINEAGE: label}
            keys = self._keys[part.round, label] = tuple([words[word] for word in self.by])
        return keys

    def lineage(self, lot_pk, role):
        """The label of a lot. A check of which the level is not stated goes by its generation, else by its lot code."""
        if self.level == "lot":
            return self.lots[lot_pk][0]
        lineage = self.lineages[lot_pk]
        label = getattr(lineage, self.level)
        if role == TEST:
            return label
        return next(word for word in (label, lineage.generation, lineage.lot) if word not in (NOT_STATED, OUTSIDE))

    def stated_levels(self, tallies):
        """The levels at which a lot under test has a lineage, where none has one at the level asked for."""
        place = self.by.index(LINEAGE) if LINEAGE in self.by else None
        if place is None or any(tally.role == TEST and tally.keys[place] != NOT_STATED for tally in tallies):
            return ()
        codes = {tally.lot for tally in tallies if tally.role == TEST}
        lineages = [self.lineages[pk] for pk, (code, _, _) in self.lots.items() if code in codes]
        return tuple(level for level in LEVELS if any(getattr(lineage, level) not in (NOT_STATED, OUTSIDE) for lineage in lineages))
