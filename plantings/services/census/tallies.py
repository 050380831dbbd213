"""Tallies per (round, entry) and the last fate of every tree: right at the end of every write, in its transaction.

A census record changes them by what its tree says now less what it said before, from the complete history of that tree, since a later
sighting can change what earlier rounds say. Whatever else touches a planting, or a difference that does not fit what is stored, counts
the planting again from all of its records.
"""

from operator import add
from typing import NamedTuple

from django.db import transaction

from plantings.calc.survival.completeness import Progress
from plantings.models import CauseTally, CensusRound, Observation, Planting, RoundProgress, SurvivalTally, Tree
from plantings.selectors.census.recount import tally_differences
from plantings.selectors.census.tallies import COUNT_FIELDS, TALLIES_EDITION, planting_state, plantings_to_recount
from plantings.selectors.census.tally_changes import planting_change
from registry.models.shared.among import Keys
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write

__all__ = ["recount_older_tallies", "tallies_add", "tallies_correct", "tallies_rebuild"]


def tallies_add(planting, *, in_rounds, trees=None, plots=None):
    """Bring the tallies up to date after census records. The caller holds the planting's lock.

    `trees` and `plots` are {pk of a record just stored: pk of its tree, or plot}, `in_rounds` the keys of their rounds. The cost goes by
    the histories of these, not by the planting.
    """
    change = planting_change(planting, trees, plots, in_rounds)
    if change is None or not _add(planting, change):
        tallies_rebuild(planting)


def tallies_rebuild(planting):
    """Count the tallies of one planting and the last fate of its trees again. The caller holds the planting's lock."""
    rounds = list(planting.rounds.order_by("opens_on").values_list("pk", flat=True))
    state = planting_state(planting, rounds)
    progress = {key: (*found, TALLIES_EDITION) for key, found in state.progress.items()}
    for table, wanted in ((_COUNTS, state.counts), (_PROGRESS, progress), (_CAUSES, {key: (n,) for key, n in state.causes.items()})):
        table.write(table.stored(round__in=rounds), wanted)
    stored = dict(planting.trees.values_list("pk", "fate"))
    _write_fates({pk: fate for pk, fate in state.fates.items() if fate != stored[pk]})


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


def _add(planting, change):
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
