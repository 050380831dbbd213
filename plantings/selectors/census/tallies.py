"""What the records of a planting say, counted from the records: the source of every tally, and its check."""

from collections import defaultdict
from typing import NamedTuple

import numpy as np
from django.db.models import Exists, OuterRef

from plantings.calc.census.codes import UNSEEN, status_code
from plantings.calc.census.fate import Fate
from plantings.calc.census.measurements import CANKER
from plantings.calc.census.planting_fates import histories
from plantings.calc.census.plots import plot_counts
from plantings.calc.census.tallies import TreeRecords, counts_of_groups, group_tallies
from plantings.calc.survival.completeness import Progress
from plantings.calc.survival.groups import ROLES_COUNTED
from plantings.calc.survival.survival import Counts
from plantings.choices import TreeFate
from plantings.models import CensusRound, CountedPlot, Observation, Planting, PlantingEntry, PlotCount, RoundProgress, SurvivalTally, Tree
from registry.choices import LotKind
from registry.models.shared.among import Keys

__all__ = [
    "COUNT_FIELDS",
    "FATE_KEYS",
    "TALLIES_EDITION",
    "RECORD_FIELDS",
    "PlantingTallies",
    "by_key",
    "entries_counted",
    "entries_sown",
    "fates_at",
    "fates_now",
    "groups_of",
    "lay_out",
    "planting_state",
    "planting_states",
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
    """What the records of a planting say. Rounds after the last one with any record have nothing yet; replacements are not counted, and
    no tree of a planting of which some trees are not on record: the dead may be those.

    `counts` are {(round pk, entry pk): Counts}, `causes` {(round pk, entry pk, cause): trees a record says are dead or removed},
    `progress` {(round pk, sown): Progress} of test and check positions, `fates` {tree pk: TreeFate} at the last round.
    """

    counts: dict
    causes: dict
    progress: dict
    fates: dict


def planting_state(planting):
    """The PlantingTallies of a planting, counted from its records."""
    return planting_states([planting])[planting.pk]


def planting_states(plantings):
    """{planting pk: PlantingTallies}, counted from the records. A few queries, however many plantings they are."""
    keys = Keys(planting.pk for planting in plantings)
    rounds, planting_of = defaultdict(list), {}
    for planting, pk in CensusRound.objects.filter(planting__among=keys).order_by("opens_on").values_list("planting_id", "pk"):
        rounds[planting].append(pk)
        planting_of[pk] = planting
    trees, plots = (
        _by_planting(model.objects.filter(planting__among=keys).order_by("pk"), ("pk", "entry_id", last))
        for model, last in ((Tree, "replaces_id"), (CountedPlot, "planted_count"))
    )
    of_rounds = {"round__among": Keys(planting_of)}
    # without trees, or without plots, the look-up would cost seconds where a database guesses its tables small
    records, counted = defaultdict(list), defaultdict(dict)
    if trees and planting_of:
        for record in Observation.objects.counting().filter(**of_rounds).order_by("observed_on", "pk").values_list(*RECORD_FIELDS):
            records[planting_of[record[1]]].append(record)
    if plots and planting_of:
        counts = PlotCount.objects.counting().filter(**of_rounds).order_by("observed_on", "pk")
        for plot, round_pk, *found in counts.values_list("plot_id", "round_id", "alive", "dead"):
            counted[planting_of[round_pk]][plot, round_pk] = tuple(found)
    sown = entries_sown(PlantingEntry.objects.filter(planting__among=keys)) if records or counted else {}
    return {
        planting.pk: _state(
            rounds[planting.pk], trees.get(planting.pk, ()), records.pop(planting.pk, ()), plots.get(planting.pk, ()), counted[planting.pk],
            sown, planting.trees_left_out,
        )
        for planting in plantings
    }  # fmt: skip


def _by_planting(records, names):
    """{planting pk: the values of its records}."""
    found = defaultdict(list)
    for planting, *values in records.values_list("planting_id", *names):
        found[planting].append(tuple(values))
    return found


def _state(rounds, trees, records, plots, counted, sown, trees_left_out):
    """The PlantingTallies of one planting: of its rounds in time order, its trees and plots as they are read, and what was recorded."""
    causes = [""]
    laid_out = lay_out(records, [pk for pk, _, _ in trees], rounds, causes)
    used = _rounds_used(laid_out.status, rounds, counted)
    rounds, laid_out = rounds[:used], TreeRecords(*(array[:, :used] for array in laid_out))
    history = histories(laid_out.status)
    entries = entries_counted(trees, trees_left_out)
    tallies = group_tallies(laid_out, history, groups_of(trees, entries), len(entries), len(causes))
    counts, tree_causes = by_key(tallies, rounds, entries, causes)
    for key, found in plots_counted([plot for plot in plots if plot[2] is not None], rounds, counted):
        counts[key] = counts.get(key, Counts()) + found
    return PlantingTallies(counts, tree_causes, progress_of(counts, rounds, sown), fates_now(history, [pk for pk, _, _ in trees]))


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


def entries_counted(trees, trees_left_out):
    """The entries whose trees (pk, entry pk, pk of what it replaces) are counted; none where some planted trees are not on record."""
    return [] if trees_left_out else sorted({entry for _, entry, replaces in trees if replaces is None})


def groups_of(trees, entries):
    """The group of each tree (pk, entry pk, pk of what it replaces): the place of its entry, and -1 of a replacement and of a tree whose
    entry is not counted."""
    number = {entry: index for index, entry in enumerate(entries)}
    return np.array([number.get(entry, -1) if replaces is None else -1 for _, entry, replaces in trees], np.int64)


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
