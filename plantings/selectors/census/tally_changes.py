"""What records just stored change in the tallies of their planting, from the histories of the trees and plots they are about alone.

Each tally is a sum over trees and plots. So the difference is what those now say less what they said before, both by the functions that
count a complete planting (`planting_state`).
"""

from collections import defaultdict
from typing import NamedTuple

from django.db.models import Exists, OuterRef

from plantings.calc.census.planting_fates import histories
from plantings.calc.census.tallies import group_tallies
from plantings.calc.survival.survival import Counts
from plantings.models import CensusRound, CountedPlot, Observation, PlotCount, RoundProgress, SurvivalTally, Tree
from plantings.selectors.census.tallies import (
    RECORD_FIELDS,
    TALLIES_EDITION,
    PlantingTallies,
    by_key,
    entries_counted,
    entries_sown,
    fates_now,
    groups_of,
    lay_out,
    plots_counted,
    progress_of,
)
from registry.models.shared.among import Keys

__all__ = ["planting_change", "rounds_tallied"]


class _Row(NamedTuple):
    """A record: the one that corrects it, and its tree or plot, its round and what it says, as they are counted."""

    pk: int
    superseded_by: int | None
    values: tuple


def planting_change(planting, rounds, trees=None, plots=None):
    """PlantingTallies of differences, zeros left out, and the fates that change; None where the planting must be counted completely.

    Parameters
    ----------
    rounds : those of the planting that have tallies, as `rounds_tallied` gives them
    trees, plots : dict of {pk of a record just stored: pk of its tree, or plot}
        The caller holds the lock of the planting.

    Notes
    -----
    A record in a round that had none, and stored fates that are not what the earlier records say, ask for a complete count.
    """
    counts, causes, fates = defaultdict(Counts), {}, {}
    if trees:
        found = _trees_change(trees, rounds, planting.trees_left_out)
        if found is None:
            return None
        tree_counts, causes, fates = found
        counts.update(tree_counts)
    if plots:
        found = _plots_change(plots, rounds)
        if found is None:
            return None
        for key, difference in found:
            counts[key] += difference
    counts = {key: difference for key, difference in counts.items() if any(difference)}
    progress = progress_of(counts, rounds, entries_sown(planting.entries.filter(pk__in={entry for _, entry in counts})))
    return PlantingTallies(counts, causes, {key: difference for key, difference in progress.items() if any(difference)}, fates)


def rounds_tallied(plantings):
    """{planting pk: its rounds that have tallies, in time order}; None for them where they are not the first ones, as after a round was
    put in before them, or not of this edition. One query."""
    tallies = SurvivalTally.objects.filter(round=OuterRef("pk"))
    older = RoundProgress.objects.filter(round=OuterRef("pk")).exclude(edition=TALLIES_EDITION)
    rounds = CensusRound.objects.filter(planting__among=Keys(planting.pk for planting in plantings)).order_by("opens_on")
    rows = defaultdict(list)
    for planting, *row in rounds.annotate(has=Exists(tallies), older=Exists(older)).values_list("planting_id", "pk", "has", "older"):
        rows[planting].append(row)
    return {planting.pk: _first_tallied(rows[planting.pk]) for planting in plantings}


def _first_tallied(rows):
    tallied = [pk for pk, has, _ in rows if has]
    first = [pk for pk, _, _ in rows[: len(tallied)]]
    return None if tallied != first or any(older for _, _, older in rows) else tallied


def _trees_change(new, rounds, trees_left_out):
    """(counts, causes, fates that change) of the trees of new records."""
    keys = sorted(set(new.values()))
    trees = _read(Tree.objects.order_by("pk"), "pk", keys, ("pk", "entry_id", "replaces_id", "fate"))
    rows = _rows(Observation.objects.eligible(), "tree", keys, RECORD_FIELDS)
    if not {row.values[1] for row in rows} <= set(rounds):
        return None
    placed = [tree[:3] for tree in trees]
    pks, causes = [tree[0] for tree in trees], [""]
    entries = entries_counted(placed, trees_left_out)
    group = groups_of(placed, entries)
    before, after = (lay_out(records, pks, rounds, causes) for records in (_current_before(rows, new), _current_now(rows)))
    was, now = histories(before.status), histories(after.status)
    stored = {pk: fate for pk, _, _, fate in trees}
    if fates_now(was, pks) != stored:
        return None
    tallies, earlier = (
        group_tallies(laid_out, history, group, len(entries), len(causes)) for laid_out, history in ((after, now), (before, was))
    )
    counts, of_cause = by_key(tallies.less(earlier), rounds, entries, causes)
    return counts, of_cause, {pk: fate for pk, fate in fates_now(now, pks).items() if fate != stored[pk]}


def _plots_change(new, rounds):
    """[((round pk, entry pk), Counts)] of the plots of new counts."""
    keys = sorted(set(new.values()))
    plots = _read(CountedPlot.objects.known().order_by("pk"), "pk", keys, ("pk", "entry_id", "planted_count"))
    rows = _rows(PlotCount.objects.eligible(), "plot", keys, ("plot_id", "round_id", "alive", "dead"))
    if not {row.values[1] for row in rows} <= set(rounds):
        return None
    before, after = (
        {(plot, round_pk): (alive, dead) for plot, round_pk, alive, dead in records}
        for records in (_current_before(rows, new), _current_now(rows))
    )
    return [
        (key, now - was)
        for (key, now), (_, was) in zip(plots_counted(plots, rounds, after), plots_counted(plots, rounds, before), strict=True)
    ]


def _rows(records, by, keys, names):
    """Those of the records that are of some trees or plots, corrected ones too, oldest first."""
    records = records.order_by("observed_on", "pk")
    return [_Row(pk, successor, values) for pk, successor, *values in _read(records, by, keys, ("pk", "superseded_by", *names))]


def _current_now(rows):
    return [row.values for row in rows if row.superseded_by is None]


def _current_before(rows, new):
    return [row.values for row in rows if row.pk not in new and (row.superseded_by is None or row.superseded_by in new)]


def _read(queryset, by, keys, names):
    """Rows whose `by` is one of many keys, in the order of the queryset."""
    return list(queryset.filter(**{f"{by}__among": Keys(keys)}).values_list(*names))
