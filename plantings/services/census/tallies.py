"""Tallies per (round, entry) and the last fate of every tree: right at the end of every write, in its transaction.

A census record changes them by what its tree says now less what it said before, from the complete history of that tree, since a later
sighting can change what earlier rounds say. Whatever else touches a planting, or a difference that does not fit what is stored, counts
the planting again from all of its records.
"""

from operator import add
from typing import NamedTuple

from django.db import transaction
from django.db.models import Count

from plantings.calc.survival.completeness import Progress
from plantings.models import CauseTally, CensusRound, Observation, Planting, RoundProgress, SurvivalTally, Tree
from plantings.selectors.census.recount import tally_differences
from plantings.selectors.census.tallies import COUNT_FIELDS, TALLIES_EDITION, planting_states, plantings_to_recount
from plantings.selectors.census.tally_changes import planting_change, rounds_tallied
from registry.models.shared.among import Keys
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write

__all__ = ["NewRecords", "recount_older_tallies", "tallies_add", "tallies_correct", "tallies_rebuild"]

_TREES_AT_ONCE = 20_000


class NewRecords(NamedTuple):
    """Census records of one planting that were just stored: the keys of their rounds, and {pk of a record: pk of its tree, or plot}."""

    planting: Planting
    in_rounds: list
    trees: dict | None = None
    plots: dict | None = None


def tallies_add(*new):
    """Bring the tallies up to date after NewRecords, one for each planting. The caller holds the locks of the plantings.

    The cost goes by the histories of the trees and plots, not by their plantings. Plantings to be counted again are counted together.
    """
    rounds = rounds_tallied([records.planting for records in new])
    tallies_rebuild(*[records.planting for records in new if not _is_added(records, rounds[records.planting.pk])])


def _is_added(records, rounds):
    """Whether the tallies of a planting took its new records as a difference. Otherwise it is to be counted again."""
    if rounds is None or not set(records.in_rounds) <= set(rounds):
        return False
    change = planting_change(records.planting, rounds, records.trees, records.plots)
    return change is not None and _add(change)


def tallies_rebuild(*plantings):
    """Count the tallies of plantings and the last fate of their trees again. The caller holds the locks of the plantings.

    A few statements for some thousand trees, however many plantings they are in.
    """
    for some in _some_at_once(plantings):
        keys = Keys(planting.pk for planting in some)
        of_all = zip(*planting_states(some).values(), strict=True)
        counts, causes, progress, fates = ({key: found for each in of_each for key, found in each.items()} for of_each in of_all)
        progress = {key: (*found, TALLIES_EDITION) for key, found in progress.items()}
        for table, wanted in ((_COUNTS, counts), (_PROGRESS, progress), (_CAUSES, {key: (n,) for key, n in causes.items()})):
            table.write(table.stored(round__planting__among=keys), wanted)
        stored = Tree.objects.filter(planting__among=keys).values_list("pk", "fate")
        _write_fates({pk: fates[pk] for pk, fate in stored if fates[pk] != fate})


def _some_at_once(plantings):
    """The plantings in lists, each of few enough trees to have all of their records in memory."""
    if len(plantings) < 2:
        return [plantings] if plantings else []
    keys = Keys(planting.pk for planting in plantings)
    trees = dict(Tree.objects.filter(planting__among=keys).order_by().values_list("planting").annotate(n=Count("pk")))
    lists, filled = [], 0
    for planting in plantings:
        if not lists or filled >= _TREES_AT_ONCE:
            lists.append([])
            filled = 0
        lists[-1].append(planting)
        filled += trees.get(planting.pk, 0)
    return lists


def tallies_correct(*, actor):
    """Count again the plantings whose stored tallies or fates differ from a recount. Returns their codes."""
    return [planting.code for planting in Planting.objects.order_by("code") if _corrected(actor, planting)]


@write
def _corrected(actor, planting):
    """Whether one planting differed and was counted again. Its audit entry ends the figures that processes hold of it."""
    locked = Planting.objects.select_for_update().get(pk=planting.pk)
    differences = tally_differences(locked)[2]
    if differences:
        tallies_rebuild(locked)
        changes = {"differences": [None, len(differences)]}
        audit_record(actor=actor, verb="planting.recounted", obj=locked, changes=changes, reason="recount --correct")
    return bool(differences)


def _add(change):
    """Store a PlantingTallies of differences. False, with nothing stored, where the stored tallies cannot have been right."""
    progress = {key: (*difference, 0) for key, difference in change.progress.items()}
    causes = {key: (difference,) for key, difference in change.causes.items()}
    writes = []
    for table, differences in ((_COUNTS, change.counts), (_PROGRESS, progress), (_CAUSES, causes)):
        if not differences:
            continue
        stored = table.stored(**{f"{name}__in": {key[place] for key in differences} for place, name in enumerate(table.key_fields)})
        wanted = {key: values for key, (_, values) in stored.items()}
        for key, difference in differences.items():
            if key not in wanted and table is not _CAUSES:
                return False
            wanted[key] = tuple(map(add, wanted.get(key, (0,) * len(difference)), difference))
            if min(wanted[key]) < 0:
                return False
            if table is _CAUSES and not any(wanted[key]):
                del wanted[key]
        writes.append((table, stored, wanted))
    for table, stored, wanted in writes:
        table.write(stored, wanted)
    _write_fates(change.fates)
    return True


def _write_fates(fates):
    """Store {tree pk: fate}."""
    by_fate = {}
    for pk, fate in fates.items():
        by_fate.setdefault(fate, []).append(pk)
    for fate, keys in by_fate.items():
        Tree.objects.filter(pk__among=Keys(keys)).update(fate=fate)


def recount_older_tallies(apps=None, **kwargs):
    """Count again what an earlier edition of the definitions counted. Runs after `migrate`, once all our tables are as the models say.

    The signal comes without `apps` when tables are only emptied.
    """
    if apps is None:
        return
    for model in (Planting, CensusRound, Tree, Observation, SurvivalTally, RoundProgress, CauseTally):
        try:
            migrated = apps.get_model(model._meta.label)
        except LookupError:
            return
        if {field.column for field in migrated._meta.fields} != {field.column for field in model._meta.fields}:
            return
    for planting in plantings_to_recount():
        with transaction.atomic():
            tallies_rebuild(Planting.objects.select_for_update().get(pk=planting.pk))


class _Table(NamedTuple):
    """A table of tallies: its model, the fields that are its key, those that are its values."""

    model: type
    key_fields: tuple
    value_fields: tuple

    @property
    def columns(self):
        return [self.model._meta.get_field(name).attname for name in self.key_fields]

    def stored(self, **where):
        """{key: (pk, values)} of stored rows."""
        rows = self.model.objects.filter(**where).order_by().values_list("pk", *self.columns, *self.value_fields)
        split = 1 + len(self.key_fields)
        return {row[1:split]: (row[0], row[split:]) for row in rows}

    def write(self, stored, wanted):
        """Make rows read by `stored` those of {key: values}: write what differs, delete what is gone."""
        gone = [pk for key, (pk, _) in stored.items() if key not in wanted]
        if gone:
            self.model.objects.filter(pk__in=gone).delete()
        names = (*self.columns, *self.value_fields)
        self.model.objects.bulk_create(
            [
                self.model(**dict(zip(names, (*key, *values), strict=True)))
                for key, values in wanted.items()
                if key not in stored or stored[key][1] != tuple(values)
            ],
            update_conflicts=True, unique_fields=list(self.key_fields), update_fields=list(self.value_fields), batch_size=500,
        )  # fmt: skip


_COUNTS = _Table(SurvivalTally, ("round", "entry"), COUNT_FIELDS)
_PROGRESS = _Table(RoundProgress, ("round", "sown"), (*Progress._fields, "edition"))
_CAUSES = _Table(CauseTally, ("round", "entry", "cause"), ("trees",))
