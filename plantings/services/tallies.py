"""Tallies per (round, entry) and the last fate of every tree: rebuilt in the transaction of the write that touches them.

A planting is always rebuilt completely, from its records: a later sighting can change what earlier
rounds say, and a rebuild cannot drift as sums of differences would.
"""

from plantings.models import SurvivalTally, Tree
from plantings.selectors.census.tallies import COUNT_FIELDS, planting_state, tally_counts

__all__ = ["tallies_rebuild"]

_UPDATE_CHUNK = 900


def tallies_rebuild(planting):
    """Rebuild the tallies of one planting and the last fate of its trees. The caller holds the planting's lock."""
    tallies, tree_fates = planting_state(planting)
    _store_tallies(planting, tallies)
    changed = {}
    for pk, old in planting.trees.values_list("pk", "fate"):
        new = tree_fates[pk]
        if new != old:
            changed.setdefault(new, []).append(pk)
    for fate, keys in changed.items():
        for start in range(0, len(keys), _UPDATE_CHUNK):
            Tree.objects.filter(pk__in=keys[start : start + _UPDATE_CHUNK]).update(fate=fate)


def _store_tallies(planting, tallies):
    stored = {(tally.round_id, tally.entry_id): tally for tally in SurvivalTally.objects.filter(round__planting=planting)}
    gone = [tally.pk for key, tally in stored.items() if key not in tallies]
    if gone:
        SurvivalTally.objects.filter(pk__in=gone).delete()
    write = [
        SurvivalTally(round_id=round_pk, entry_id=entry, **counts._asdict())
        for (round_pk, entry), counts in tallies.items()
        if (round_pk, entry) not in stored or counts != tally_counts(stored[round_pk, entry])
    ]
    SurvivalTally.objects.bulk_create(
        write, update_conflicts=True, unique_fields=["round", "entry"], update_fields=COUNT_FIELDS, batch_size=500
    )
