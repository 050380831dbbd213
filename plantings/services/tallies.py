"""Tallies per (round, entry) and the last fate of every tree: rebuilt in the transaction of the write that touches them.

A planting is always rebuilt completely, from its records: a later sighting can change what earlier
rounds say, and a rebuild cannot drift as sums of differences would.
"""

from django.db import transaction

from plantings.calc.survival.completeness import Progress
from plantings.models import CauseTally, CensusRound, Observation, Planting, RoundProgress, SurvivalTally, Tree
from plantings.selectors.census.tallies import COUNT_FIELDS, TALLIES_EDITION, planting_state, plantings_to_recount

__all__ = ["recount_older_tallies", "tallies_rebuild"]

_UPDATE_CHUNK = 900


def tallies_rebuild(planting):
    """Rebuild the tallies of one planting and the last fate of its trees. The caller holds the planting's lock."""
    state = planting_state(planting)
    _store(SurvivalTally, planting, ("round", "entry"), COUNT_FIELDS, state.counts)
    progress = {key: (*found, TALLIES_EDITION) for key, found in state.progress.items()}
    _store(RoundProgress, planting, ("round", "sown"), (*Progress._fields, "edition"), progress)
    _store(CauseTally, planting, ("round", "entry", "cause"), ("trees",), {key: (count,) for key, count in state.causes.items()})
    changed = {}
    for pk, old in planting.trees.values_list("pk", "fate"):
        new = state.fates[pk]
        if new != old:
            changed.setdefault(new, []).append(pk)
    for fate, keys in changed.items():
        for start in range(0, len(keys), _UPDATE_CHUNK):
            Tree.objects.filter(pk__in=keys[start : start + _UPDATE_CHUNK]).update(fate=fate)


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


def _store(model, planting, key_fields, value_fields, wanted):
    """Make the rows of a planting those of {key: values}: write what differs, delete what is gone."""
    columns = [model._meta.get_field(name).attname for name in key_fields]
    rows = model.objects.filter(round__planting=planting).order_by().values_list("pk", *columns, *value_fields)
    stored = {row[1 : 1 + len(columns)]: (row[0], row[1 + len(columns) :]) for row in rows}
    gone = [pk for key, (pk, _) in stored.items() if key not in wanted]
    if gone:
        model.objects.filter(pk__in=gone).delete()
    model.objects.bulk_create(
        [
            model(**dict(zip((*columns, *value_fields), (*key, *values), strict=True)))
            for key, values in wanted.items()
            if key not in stored or stored[key][1] != tuple(values)
        ],
        update_conflicts=True, unique_fields=list(key_fields), update_fields=list(value_fields), batch_size=500,
    )  # fmt: skip
