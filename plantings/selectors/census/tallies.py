"""What the records of a planting say, counted from the records: the source of every tally, and its check."""

from collections import defaultdict
from typing import NamedTuple

import numpy as np
from django.db.models import Exists, OuterRef

from plantings.calc.census.codes import UNSEEN, status_code
from plantings.calc.census.fate import Fate, histories
from plantings.calc.census.measurements import CANKER
from plantings.calc.census.plots import plot_counts
from plantings.calc.census.tallies import TreeRecords, counts_of_groups, group_tallies
from plantings.calc.survival.completeness import Progress
from plantings.calc.survival.groups import ROLES_COUNTED
from plantings.calc.survival.survival import Counts
from plantings.choices import TreeFate
from plantings.models import CensusRound, Observation, Planting, PlotCount, RoundProgress, SurvivalTally
from registry.choices import LotKind

__all__ = [
    "COUNT_FIELDS",
    "FATE_KEYS",
    "TALLIES_EDITION",
    "RECORD_FIELDS",
    "PlantingTallies",
    "by_key",
    "entries_sown",
    "fates_at",
    "fates_now",
    "groups_of",
    "lay_out",
    "planting_state",
    "plantings_to_recount",
    "plots_counted",
    "progress_of",
    "tally_counts",
]

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
# What is counted of a record, in the order in which `lay_out` takes it.
RECORD_FIELDS = ("tree_id", "round_id", "status", "cause", CANKER.field)


class PlantingTallies(NamedTuple):
    """What the records of a planting say. Rounds after the last one with any record have nothing yet; replacements are not counted.

    `counts` are {(round pk, entry pk): Counts}, `causes` {(round pk, entry pk, cause): trees a record says are dead or removed},
    `progress` {(round pk, sown): Progress} of test and check positions, `fates` {tree pk: TreeFate} at the last round.
    """

    counts: dict
    causes: dict
    progress: dict
    fates: dict


def planting_state(planting, rounds=None):
    """The PlantingTallies of a planting, counted from its records. `rounds`: the pks of its rounds in time order, where they are known."""
    rounds = list(planting.rounds.order_by("opens_on").values_list("pk", flat=True)) if rounds is None else rounds
    trees = list(planting.trees.order_by("pk").values_list("pk", "entry_id", "replaces_id"))
    # a planting of counted plots alone has no observation: the look-up would cost seconds where a database guesses its tables small
    records = (
        Observation.objects.counting().filter(round__planting=planting).order_by("observed_on", "pk")
        if trees and rounds
        else Observation.objects.none()
    )
    causes = [""]
    laid_out = lay_out(records.values_list(*RECORD_FIELDS), [pk for pk, _, _ in trees], rounds, causes)
    plots = list(planting.counted_plots.known().values_list("pk", "entry_id", "planted_count"))
    # where nothing was sown, the look-up would cost more than all the rest
    has_plots = bool(plots) or planting.counted_plots.exists()
    plot_counts = PlotCount.objects.counting().filter(round__in=rounds) if has_plots else PlotCount.objects.none()
    counted = {
        (plot, round_pk): (alive, dead)
        for plot, round_pk, alive, dead in plot_counts.order_by("observed_on", "pk").values_list("plot_id", "round_id", "alive", "dead")
    }
    used = _rounds_used(laid_out.status, rounds, counted)
    rounds, laid_out = rounds[:used], TreeRecords(*(array[:, :used] for array in laid_out))
    history = histories(laid_out.status)
    entries = sorted({entry for _, entry, replaces in trees if replaces is None})
    tallies = group_tallies(laid_out, history, groups_of(trees, entries), len(entries), len(causes))
    counts, tree_causes = by_key(tallies, rounds, entries, causes)
    for key, found in plots_counted(plots, rounds, counted):
        counts[key] = counts.get(key, Counts()) + found
    sown = entries_sown(planting.entries) if counts else {}
    fates = fates_now(history, [pk for pk, _, _ in trees])
    return PlantingTallies(counts, tree_causes, progress_of(counts, rounds, sown), fates)


def lay_out(records, trees, rounds, causes):
    """Records, oldest first and each with the values `RECORD_FIELDS`, as TreeRecords: one line a tree, one column a round.

    Causes that are not in the list of causes yet are added to it.
    """
    status = np.zeros((len(trees), len(rounds)), np.uint8)
    canker, cause_number = np.full(status.shape, -1, np.int8), np.zeros(status.shape, np.uint8)
    columns = list(zip(*records, strict=True))
    if not columns:
        return TreeRecords(status, canker, cause_number)
    tree_pks, round_pks, codes, cause_codes, classes = columns
    said = {}  # {(status, cause): their numbers}: few differ
    for code, cause in dict.fromkeys(zip(codes, cause_codes, strict=True)):
        if cause and cause not in causes:
            causes.append(cause)
        said[code, cause] = status_code(code, cause), causes.index(cause) if cause else 0
    line, column = _numbered(trees, tree_pks), _numbered(rounds, round_pks)
    numbers = np.array([said[pair] for pair in zip(codes, cause_codes, strict=True)], np.uint8)
    # of several records of one place the last is assigned last, and stays (NumPy, "Assigning values to indexed arrays")
    status[line, column] = numbers[:, 0]
    given = np.flatnonzero(numbers[:, 1])
    cause_number[line[given], column[given]] = numbers[given, 1]
    # a class on a tree nobody saw says nothing about the disease
    looked = np.array([-1 if found is None or code in UNSEEN else found for found, code in zip(classes, codes, strict=True)], np.int8)
    given = np.flatnonzero(looked >= 0)
    canker[line[given], column[given]] = looked[given]
    return TreeRecords(status, canker, cause_number)


def _numbered(wanted, given):
    """The place in a list of each of many keys."""
    number = {key: place for place, key in enumerate(wanted)}
    return np.fromiter(map(number.__getitem__, given), np.intp, len(given))


def _rounds_used(status, rounds, counted):
    seen = np.flatnonzero(status.any(axis=0))
    return max([seen[-1] + 1 if seen.size else 0, *(rounds.index(round_pk) + 1 for round_pk in {key[1] for key in counted})])


def groups_of(trees, entries):
    """The group of each tree (pk, entry pk, pk of what it replaces): the place of its entry, and -1 of a replacement."""
    number = {entry: index for index, entry in enumerate(entries)}
    return np.array([number[entry] if replaces is None else -1 for _, entry, replaces in trees], np.int64)


def by_key(tallies, rounds, entries, causes):
    """GroupTallies of entries as ({(round pk, entry pk): Counts}, {(round pk, entry pk, cause): trees})."""
    counts = {(rounds[number], entries[group]): found for (group, number), found in counts_of_groups(tallies).items()}
    of_cause = {
        (rounds[number], entries[group], causes[cause]): int(tallies.causes[group, number, cause])
        for group, number, cause in np.argwhere(tallies.causes).tolist()
    }
    return counts, of_cause


def plots_counted(plots, rounds, counted):
    """((round pk, entry pk), Counts) of each plot (pk, entry pk, planted) at each round, from {(plot pk, round pk): (alive, dead)}."""
    for plot, entry, planted in plots:
        found = plot_counts(planted, [counted.get((plot, round_pk)) for round_pk in rounds])
        yield from (((round_pk, entry), counts) for round_pk, counts in zip(rounds, found, strict=True))


def entries_sown(entries):
    """{entry pk: whether it was sown} of those entries that are under test or checks."""
    kinds = entries.filter(role__in=ROLES_COUNTED).order_by().values_list("pk", "lot__kind")
    return {entry: kind == LotKind.SEED for entry, kind in kinds}


def progress_of(counts, rounds, sown):
    """{(round pk, sown): Progress} of the entries in `sown`. A sum of counts, so that of a difference is a difference."""
    sums = defaultdict(Counts)
    for (round_pk, entry), found in counts.items():
        if entry in sown:
            sums[round_pk, sown[entry]] += found
    progress = {}
    for of_seed in {key[1] for key in sums}:
        ended = 0
        for round_pk in rounds:
            total = sums[round_pk, of_seed]
            progress[round_pk, of_seed] = Progress(total.countable, total.assessed, total.not_visited, ended)
            ended = total.ended
    return progress


def fates_now(history, trees):
    """{tree pk: TreeFate} at the last round, of the trees of a History."""
    if not history.fate.shape[1]:
        return dict.fromkeys(trees, TreeFate.UNSEEN)
    return {pk: FATE_KEYS[fate] for pk, fate in zip(trees, history.fate[:, -1].tolist(), strict=True)}


def fates_at(planting, round_key):
    """{tree pk: TreeFate} at any one round of a planting, hindsight first. Three queries."""
    trees = list(planting.trees.order_by("pk").values_list("pk", flat=True))
    rounds = list(planting.rounds.order_by("opens_on").values_list("pk", flat=True))
    records = Observation.objects.counting().filter(round__planting=planting).order_by("observed_on", "pk")
    fates = histories(lay_out(records.values_list(*RECORD_FIELDS), trees, rounds, [""]).status).fate
    return {pk: FATE_KEYS[fate] for pk, fate in zip(trees, fates[:, rounds.index(round_key)].tolist(), strict=True)}


def plantings_to_recount():
    """Plantings whose tallies were counted by an earlier edition of the definitions."""
    current = RoundProgress.objects.filter(round=OuterRef("pk"), edition=TALLIES_EDITION)
    counted = SurvivalTally.objects.filter(round=OuterRef("pk"), entry__role__in=ROLES_COUNTED)
    return Planting.objects.filter(pk__in=CensusRound.objects.filter(Exists(counted), ~Exists(current)).order_by().values("planting"))


def tally_counts(tally):
    """A stored tally as `Counts`."""
    return Counts(*(getattr(tally, name) for name in COUNT_FIELDS))
