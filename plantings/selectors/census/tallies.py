"""What the records of a planting say, counted from the records: the source of every tally, and its check."""

import numpy as np

from plantings.calc.census.codes import UNSEEN, status_code
from plantings.calc.census.fate import Fate, fate_tally, fates
from plantings.calc.census.measurements import CANKER
from plantings.calc.census.plots import plot_counts
from plantings.calc.survival.survival import Counts, counts_from_tally
from plantings.choices import TreeFate
from plantings.models import Observation, PlotCount

__all__ = ["COUNT_FIELDS", "FATE_KEYS", "planting_state", "tally_counts"]

COUNT_FIELDS = Counts._fields
FATE_KEYS = {
    Fate.ALIVE: TreeFate.ALIVE,
    Fate.ALIVE_RESPROUT: TreeFate.RESPROUT,
    Fate.DEAD: TreeFate.DEAD,
    Fate.PRESUMED_DEAD: TreeFate.PRESUMED_DEAD,
    Fate.NOT_FOUND: TreeFate.NOT_FOUND,
    Fate.NOT_LOCATED: TreeFate.NOT_LOCATED,
    Fate.NOT_VISITED: TreeFate.NOT_VISITED,
    Fate.REMOVED: TreeFate.REMOVED,
    Fate.REMOVED_EXCLUDED: TreeFate.REMOVED,
}


def planting_state(planting):
    """What the records of a planting say, counted from the records.

    Returns ({(round pk, entry pk): Counts}, {tree pk: TreeFate}). Rounds after the last one with any
    record have no tally yet; replacements are in no tally.
    """
    rounds = list(planting.rounds.order_by("opens_on").values_list("pk", flat=True))
    column = {pk: number for number, pk in enumerate(rounds)}
    trees = list(planting.trees.order_by("pk").values_list("pk", "entry_id", "replaces_id"))
    line = {pk: number for number, (pk, _, _) in enumerate(trees)}
    status = np.zeros((len(trees), len(rounds)), np.uint8)
    canker = np.full((len(trees), len(rounds)), -1, np.int8)
    # a planting of counted plots alone has no observation: the look-up would cost seconds where a database guesses its tables small
    records = (
        Observation.objects.current().filter(round__planting=planting).order_by("observed_on", "pk")
        if trees
        else Observation.objects.none()
    )
    for tree, round_pk, code, cause, canker_class in records.values_list("tree_id", "round_id", "status", "cause", CANKER.field):
        place = line[tree], column[round_pk]
        status[place] = status_code(code, cause)
        if canker_class is not None and code not in UNSEEN:  # a class on a tree nobody saw says nothing about the disease
            canker[place] = canker_class
    plots = list(planting.counted_plots.values_list("pk", "entry_id", "planted_count"))
    counted = {}
    for plot, round_pk, alive, dead in (
        PlotCount.objects.current().filter(round__planting=planting).order_by("observed_on", "pk")
        .values_list("plot_id", "round_id", "alive", "dead")
    ):  # fmt: skip
        counted[plot, column[round_pk]] = (alive, dead)
    used = _rounds_used(status, counted)
    rounds, status, canker = rounds[:used], status[:, :used], canker[:, :used]
    fate = fates(status)
    tallies = _tally_trees(trees, rounds, fate, canker)
    for plot, entry, planted in plots:
        for round_pk, counts in zip(rounds, plot_counts(planted, [counted.get((plot, n)) for n in range(used)]), strict=True):
            tallies[round_pk, entry] = tallies.get((round_pk, entry), Counts()) + counts
    last = {pk: FATE_KEYS[fate[number, -1]] if used else TreeFate.UNSEEN for pk, number in line.items()}
    return tallies, last


def _rounds_used(status, counted):
    seen = np.flatnonzero(status.any(axis=0))
    return max([seen[-1] + 1 if seen.size else 0, *(number + 1 for _, number in counted)])


def _tally_trees(trees, rounds, fate, canker):
    originals = np.array([replaces is None for _, _, replaces in trees], bool)
    entries = sorted({entry for _, entry, replaces in trees if replaces is None})
    if not entries or not rounds:
        return {}
    number = {entry: index for index, entry in enumerate(entries)}
    group = np.array([number[entry] for _, entry, replaces in trees if replaces is None])
    table = fate_tally(fate[originals], group, len(entries))
    canker = canker[originals]
    tallies = {}
    for column, round_pk in enumerate(rounds):
        assessed = np.bincount(group[canker[:, column] >= 0], minlength=len(entries))
        cankered = np.bincount(group[canker[:, column] > CANKER.nothing], minlength=len(entries))
        for entry, index in number.items():
            tallies[round_pk, entry] = counts_from_tally(table[index, column], assessed[index], cankered[index])
    return tallies


def tally_counts(tally):
    """A stored tally as `Counts`."""
    return Counts(*(getattr(tally, name) for name in COUNT_FIELDS))
