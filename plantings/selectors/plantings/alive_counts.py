"""How many trees of each planting entry are alive, from the tallies stored at write time: no scan of the trees."""

from typing import NamedTuple

from django.db.models import Exists, OuterRef

from plantings.choices import TreeFate
from plantings.models import CensusRound, EntrySupply, SurvivalTally, Tree
from registry.selectors.identity.descent import linked

__all__ = ["EntryCounts", "entry_counts", "last_rounds"]


class EntryCounts(NamedTuple):
    """Trees and seeds of counted plots planted, and how many were alive at the last round: each {entry key: count}."""

    planted: dict
    alive: dict


def last_rounds(plantings):
    """Keys of the last round with records of each of these plantings (keys)."""
    tallied = Exists(SurvivalTally.objects.filter(round=OuterRef("pk")))
    later = CensusRound.objects.filter(tallied, planting=OuterRef("planting"), opens_on__gt=OuterRef("opens_on"))
    return set(linked(CensusRound.objects.filter(tallied, ~Exists(later)), "planting", plantings, "pk"))


def entry_counts(entries):
    """The EntryCounts of {entry key: planting key}; an entry of which nothing was planted is in neither of its counts.

    Planted is the supply drawn, which `recount` proves equal to trees and counted plots. Alive is the tally of the
    planting's last round, and the replacements alive, which are in no tally.
    """
    planted, alive = {}, {}
    for entry, count in linked(EntrySupply.objects, "entry", entries, "entry", "count"):
        planted[entry] = planted.get(entry, 0) + count
    for entry, count in linked(SurvivalTally.objects, "round", last_rounds(set(entries.values())), "entry", "alive"):
        alive[entry] = count
    # a range, not "is not null": SQLite then takes the index of the few replacements and not the table of a million trees
    living = Tree.objects.filter(replaces__gt=0, fate__in=(TreeFate.ALIVE, TreeFate.RESPROUT))
    for entry in living.order_by().values_list("entry", flat=True):
        alive[entry] = alive.get(entry, 0) + 1
    return EntryCounts(planted, {entry: alive.get(entry, 0) for entry in planted})
