"""What the records of a planting say, counted from the records: the source of every tally, and its check."""

from collections import defaultdict
from typing import NamedTuple

import numpy as np
from django.db.models import Exists, OuterRef

from plantings.calc.census.codes import UNSEEN, status_code
from plantings.calc.census.fate import ENDED, Fate, fate_tally, histories
from plantings.calc.census.measurements import CANKER
from plantings.calc.census.plots import plot_counts
from plantings.calc.survival.completeness import Progress
from plantings.calc.survival.groups import ROLES_COUNTED
from plantings.calc.survival.survival import Counts, counts_from_tally
from plantings.choices import TreeFate
from plantings.models import CensusRound, Observation, Planting, PlotCount, RoundProgress, SurvivalTally
from registry.choices import LotKind

__all__ = ["COUNT_FIELDS", "FATE_KEYS", "TALLIES_EDITION", "PlantingTallies", "planting_state", "plantings_to_recount", "tally_counts"]

# Add one when a definition changes what is counted: `migrate` then counts the older tallies again.
TALLIES_EDITION = 1
COUNT_FIELDS = Counts._fields
FATE_KEYS = {
    Fate.ALIVE: TreeFate.ALIVE,
    Fate.ALIVE_RESPROUT: TreeFate.RESPROUT,
    Fate.DEAD: TreeFate.DEAD,
    Fate.PRESUMED_DEAD: TreeFate.PRESUMED_DEAD,
    Fate.NOT_FOUND: TreeFate.NOT_FOUND,
    Fate.UNCLEAR: TreeFate.UNCLEAR,
    Fate.NOT_LOCATED: TreeFate.NOT_LOCATED,
    Fate.NOT_VISITED: TreeFate.NOT_VISITED,
    Fate.REMOVED: TreeFate.REMOVED,
    Fate.REMOVED_EXCLUDED: TreeFate.REMOVED,
}
_ENDED = np.array(list(ENDED.values()), np.uint8)


class PlantingTallies(NamedTuple):
    """What the records of a planting say. Rounds after the last one with any record have nothing yet; replacements are not counted.

    `counts` are {(round pk, entry pk): Counts}, `causes` {(round pk, entry pk, cause): trees a record says are dead or removed},
    `progress` {(round pk, sown): Progress} of test and check positions, `fates` {tree pk: TreeFate} at the last round.
    """

    counts: dict
    causes: dict
    progress: dict
    fates: dict


def planting_state(planting):
    """The PlantingTallies of a planting, counted from its records."""
    rounds = list(planting.rounds.order_by("opens_on").values_list("pk", flat=True))
    column = {pk: number for number, pk in enumerate(rounds)}
    trees = list(planting.trees.order_by("pk").values_list("pk", "entry_id", "replaces_id"))
    line = {pk: number for number, (pk, _, _) in enumerate(trees)}
    status = np.zeros((len(trees), len(rounds)), np.uint8)
    canker = np.full((len(trees), len(rounds)), -1, np.int8)
    causes, cause_code = [""], np.zeros(status.shape, np.uint8)
    # a planting of counted plots alone has no observation: the look-up would cost seconds where a database guesses its tables small
    records = (
        Observation.objects.counting().filter(round__planting=planting).order_by("observed_on", "pk")
        if trees
        else Observation.objects.none()
    )
    for tree, round_pk, code, cause, canker_class in records.values_list("tree_id", "round_id", "status", "cause", CANKER.field):
        place = line[tree], column[round_pk]
        status[place] = status_code(code, cause)
        if cause:
            if cause not in causes:
                causes.append(cause)
            cause_code[place] = causes.index(cause)
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
    rounds, history = rounds[:used], histories(status[:, :used])
    counts = _tally_trees(trees, rounds, history, canker[:, :used])
    for plot, entry, planted in plots:
        for round_pk, found in zip(rounds, plot_counts(planted, [counted.get((plot, n)) for n in range(used)]), strict=True):
            counts[round_pk, entry] = counts.get((round_pk, entry), Counts()) + found
    last = {pk: FATE_KEYS[history.fate[number, -1]] if used else TreeFate.UNSEEN for pk, number in line.items()}
    return PlantingTallies(counts, _tally_causes(trees, rounds, history, causes, cause_code), _progress(planting, rounds, counts), last)


def _rounds_used(status, counted):
    seen = np.flatnonzero(status.any(axis=0))
    return max([seen[-1] + 1 if seen.size else 0, *(number + 1 for _, number in counted)])


def _tally_trees(trees, rounds, history, canker):
    originals = np.array([replaces is None for _, _, replaces in trees], bool)
    entries = sorted({entry for _, entry, replaces in trees if replaces is None})
    if not entries or not rounds:
        return {}
    number = {entry: index for index, entry in enumerate(entries)}
    group = np.array([number[entry] for _, entry, replaces in trees if replaces is None])
    table, then = (fate_tally(fate[originals], group, len(entries)) for fate in (history.fate, history.fate_then))
    canker = canker[originals]
    tallies = {}
    for column, round_pk in enumerate(rounds):
        assessed = np.bincount(group[canker[:, column] >= 0], minlength=len(entries))
        cankered = np.bincount(group[canker[:, column] > CANKER.nothing], minlength=len(entries))
        for entry, index in number.items():
            tallies[round_pk, entry] = counts_from_tally(table[index, column], then[index, column], assessed[index], cankered[index])
    return tallies


def _tally_causes(trees, rounds, history, causes, cause_code):
    """The cause in the record that ended each original tree, at every round from which it counts as dead or removed."""
    entry = np.array([entry for _, entry, _ in trees], np.int64)
    original = np.array([replaces is None for _, _, replaces in trees], bool)
    tree, column = np.nonzero(np.isin(history.fate, _ENDED) & original[:, None])
    code = cause_code[tree, history.ended_by[tree, column]]
    found, counts = np.unique(np.stack((column, entry[tree], code)), axis=1, return_counts=True)
    return {
        (rounds[column], entry, causes[code]): count for (column, entry, code), count in zip(found.T.tolist(), counts.tolist(), strict=True)
    }


def _progress(planting, rounds, counts):
    """{(round pk, sown): Progress} of the entries under test and the checks."""
    sown = dict(planting.entries.filter(role__in=ROLES_COUNTED).values_list("pk", "lot__kind"))
    sums = defaultdict(Counts)
    for (round_pk, entry), found in counts.items():
        if entry in sown:
            sums[round_pk, sown[entry] == LotKind.SEED] += found
    before = dict(zip(rounds[1:], rounds, strict=False))
    return {
        (round_pk, of_seed): Progress(
            total.countable, total.assessed, total.not_visited, sums[before[round_pk], of_seed].ended if round_pk in before else 0
        )
        for (round_pk, of_seed), total in list(sums.items())
    }


def plantings_to_recount():
    """Plantings whose tallies were counted by an earlier edition of the definitions."""
    current = RoundProgress.objects.filter(round=OuterRef("pk"), edition=TALLIES_EDITION)
    counted = SurvivalTally.objects.filter(round=OuterRef("pk"), entry__role__in=ROLES_COUNTED)
    return Planting.objects.filter(pk__in=CensusRound.objects.filter(Exists(counted), ~Exists(current)).order_by().values("planting"))


def tally_counts(tally):
    """A stored tally as `Counts`."""
    return Counts(*(getattr(tally, name) for name in COUNT_FIELDS))
