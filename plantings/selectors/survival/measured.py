"""One measurement by the groups of the survival table, read from the records that count."""

import datetime
from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef, Q
from django.utils import timezone

from plantings.calc.census.codes import ALIVE
from plantings.calc.census.measurements import Measurement
from plantings.calc.survival.census_choice import AGE, SEASON, VISIT, CensusChoice
from plantings.calc.survival.groups import CHECK, ROLES_COUNTED
from plantings.calc.survival.measured import MeasuredGroup, MeasuredRow, measured_rows
from plantings.models import Observation
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.rounds import LeftOut, OpenRound, WaitingRound, left_out, rounds_in_scope
from plantings.selectors.survival.survival import checked_groups
from plantings.selectors.survival.tallies import GroupLabels
from registry.selectors.shared.held_answers import are_held, held_by_part, held_until_change

__all__ = ["MeasuredTable", "measured_groups", "measured_table", "value_counts"]

_AT_ONCE = 900


@dataclass(frozen=True, slots=True)
class MeasuredTable(RecordsBehind):
    """Rows of one measurement at one moment; `ages`, `years` and `visits` as in the survival table."""

    item: Measurement
    by: tuple[str, ...]
    level: str
    moment: CensusChoice | None
    ages: tuple[tuple[int, int], ...]
    years: tuple[tuple[int, int], ...]
    visits: tuple[tuple[int, int], ...]
    rows: tuple[MeasuredRow, ...]
    left_out: tuple[LeftOut, ...]
    not_complete: tuple[OpenRound, ...]
    waiting: tuple[WaitingRound, ...]
    site_names: dict[str, str]
    as_of: datetime.date


@held_until_change
def measured_table(user, item, by, level, moment, filters):
    """The values of a measurement on trees recorded alive, of the rows a person may see.

    `by`, `level`, `moment` and `filters` are those of `survival_rows`. Each planting enters with its last complete round of that
    moment, each tree with its last record of that round that counts.
    """
    by = checked_groups(by, level)
    rounds = rounds_in_scope(user, filters)
    moment = moment or rounds.default_moment()
    chosen = rounds.chosen(moment) if moment else {}
    labels = GroupLabels(by, level, filters)
    counts = list(value_counts(user, item, filters, {pk for pk, _sown in chosen}))
    labels.learn({lot for _round, lot, *_rest in counts})
    groups = measured_groups(counts, chosen, labels, filters)
    return MeasuredTable(
        item=item, by=by, level=level, moment=moment, ages=rounds.numbers(AGE), years=rounds.numbers(SEASON), visits=rounds.numbers(VISIT),
        rows=tuple(measured_rows(item, groups)), site_names={part.site: part.site_name for part in chosen.values()},
        left_out=left_out(user, filters, rounds, chosen), not_complete=rounds.not_complete(moment), waiting=rounds.waiting,
        as_of=timezone.localdate(), **records_behind(user, rounds, chosen.values()),
    )  # fmt: skip


def measured_groups(counts, chosen, labels, filters):
    """The MeasuredGroups of `value_counts` in the chosen rounds; `labels` has learned their lots."""
    groups = []
    for round_pk, lot, role, value, trees in counts:
        _code, standard, sown = labels.lots[lot]
        part = chosen.get((round_pk, sown))
        if part is not None and role in filters.roles and not labels.kept_out(lot, role):
            standard = standard if role == CHECK else ""
            groups.append(MeasuredGroup(labels.keys(part, lot, role), role, standard, sown, part.site, part.planting, value, trees))
    return groups


def value_counts(user, item, filters, rounds):
    """(round, lot, role, value, number of trees) of the records that count."""
    if are_held():
        for rows in _values_of_plantings(user, item).values():
            yield from (row for row in rows if row[0] in rounds)
        return
    keys = sorted(rounds)
    records, path = _records(user, item)
    for start in range(0, len(keys), _AT_ONCE):
        some = filters.narrow(records, "tree__planting__site").filter(round__in=keys[start : start + _AT_ONCE]).order_by()
        yield from some.values_list("round", "tree__entry__lot", "tree__entry__role", path).annotate(trees=Count("pk"))


@held_by_part(Observation)
def _values_of_plantings(user, plantings, item):
    """{key of a planting: rows of `value_counts`} of all rounds. One query, grouped by the database."""
    records, path = _records(user, item)
    records = records if plantings is None else records.filter(round__planting__in=plantings)
    found = defaultdict(list)
    names = ("round__planting", "round", "tree__entry__lot", "tree__entry__role", path)
    for planting, *row in records.order_by(*names).values_list(*names).annotate(trees=Count("pk")):
        found[planting].append(tuple(row))
    return dict(found)


def _records(user, item):
    """(the records with a value of a measurement that count, where the value is)."""
    later = Q(observed_on__gt=OuterRef("observed_on")) | Q(observed_on=OuterRef("observed_on"), pk__gt=OuterRef("pk"))
    same = Observation.objects.counting().filter(later, round=OuterRef("round"), tree=OuterRef("tree"))
    records = Observation.objects.for_user(user).counting().filter(status__in=ALIVE, tree__entry__role__in=ROLES_COUNTED)
    records = records.filter(~Exists(same))
    if item.is_own:
        return records.filter(own_values__has_key=item.field), f"own_values__{item.field}"
    return records.exclude(**{item.field: item.blank}), item.field
