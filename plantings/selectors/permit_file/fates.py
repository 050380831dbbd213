"""What became of the trees of entries: the tallies at the last round of their planting, by fate."""

from typing import NamedTuple

from django.db.models import Case, Count, Exists, F, OuterRef, Value, When
from django.db.models.functions import Concat

from plantings.choices import TreeFate
from plantings.models import CensusRound, PlantingEntry, SurvivalTally, Tree
from plantings.selectors.plantings.complete_rounds import parts_not_complete

__all__ = ["FATE_COUNTS", "NOT_COMPLETE", "Fates", "fates_at_last_round", "last_tallies"]

NOT_COMPLETE = ", not complete"  # follows the label of a round that is not a result yet
# what a tally says of the fates of an entry, in the order of `Fates`, removals by their two kinds
FATE_COUNTS = (
    "alive", "resprout", "dead", "presumed_dead", "not_found", "unclear", "not_located", "not_visited", "removed", "removed_excluded",
)  # fmt: skip


class Fates(NamedTuple):
    """Trees and counted seeds of an entry by fate; `resprout` is part of `alive`, `unseen` had no census yet."""

    alive: int = 0
    resprout: int = 0
    dead: int = 0
    presumed_dead: int = 0
    not_found: int = 0
    unclear: int = 0
    not_located: int = 0
    not_visited: int = 0
    unseen: int = 0
    removed: int = 0

    @property
    def unaccounted(self):
        return self.not_found + self.unclear + self.not_located + self.not_visited

    @property
    def total(self):
        return sum(self) - self.resprout

    def __add__(self, other):
        return Fates(*(one + more for one, more in zip(self, other, strict=True)))


def last_tallies(entries, **window):
    """Tallies of these entries (a subquery of keys) at the last round with records of their planting; `window` narrows the rounds.

    `round_words` is its label, marked where it is not complete: what nobody has looked at in it yet is then among the unaccounted.
    """
    tallied = Exists(SurvivalTally.objects.filter(round=OuterRef("pk")))
    rounds = CensusRound.objects.filter(tallied, planting__in=PlantingEntry.objects.filter(pk__in=entries).values("planting"), **window)
    later = CensusRound.objects.filter(tallied, planting=OuterRef("planting"), opens_on__gt=OuterRef("opens_on"), **window)
    in_progress = Exists(parts_not_complete().filter(round=OuterRef("round")))
    words = Case(When(in_progress, then=Concat("round__label", Value(NOT_COMPLETE))), default=F("round__label"))
    return SurvivalTally.objects.filter(entry__in=entries, round__in=rounds.filter(~Exists(later)).values("pk")).annotate(round_words=words)


def fates_at_last_round(entries):
    """{entry key: (label of the last round, its first day, Fates)}: the tally of the originals, and the replacements by their own fate."""
    found = {}
    for entry, label, opens_on, *counts in last_tallies(entries).values_list("entry", "round_words", "round__opens_on", *FATE_COUNTS):
        *counts, removed, excluded = counts
        found[entry] = (label, opens_on, Fates(*counts, 0, removed + excluded))  # 0: none of a tally is unseen
    # a range, not "is not null": SQLite then takes the index of the few replacements
    replacements = Tree.objects.filter(replaces__gt=0, entry__in=entries).order_by().values_list("entry", "fate").annotate(n=Count("pk"))
    for entry, fate, count in replacements:
        label, as_of, fates = found.get(entry, ("", None, Fates()))
        found[entry] = (label, as_of, fates + _fates(fate, count))
    return found


def _fates(fate, count):
    if fate == TreeFate.RESPROUT:
        return Fates(alive=count, resprout=count)
    return Fates(**{fate: count})
