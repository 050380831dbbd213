"""How many trees of each planting entry are alive, from the tallies stored at write time: no scan of the trees."""

from typing import NamedTuple

from plantings.choices import TreeFate
from plantings.models import EntrySupply, SurvivalTally, Tree
from plantings.selectors.plantings.complete_rounds import last_counted
from plantings.selectors.plantings.unknown_plots import planted_words, unknown_plots
from registry.choices import LotKind
from registry.selectors.identity.descent import linked

__all__ = ["EntryCounts", "alive_words", "entry_counts"]


class EntryCounts(NamedTuple):
    """Trees and seeds of counted plots planted, and how many were alive: each {entry key: count}.

    `open` are the keys of entries without a complete census, of which more may be alive. `unknown_plots` are those of plots whose number
    planted is unknown: `planted` has these entries too, without such plots. `trees_left_out` are the keys of entries of plantings of which
    some trees are not on record: `planted` is what is on record of them, and nothing is said of how many are alive.
    """

    planted: dict
    alive: dict
    open: set
    unknown_plots: dict
    trees_left_out: set

    def words(self, entry, middle=""):
        """What was planted of an entry and how much is alive, `middle` between the two."""
        planted, plots = self.planted[entry], self.unknown_plots.get(entry, 0)
        if entry in self.trees_left_out:
            return planted_words(planted, plots, trees_left_out=True)
        said = f"{planted_words(planted, plots)}{middle}"
        return f"{said}, {alive_words(self.alive[entry], entry in self.open)}" if planted or not plots else said


def entry_counts(entries):
    """The EntryCounts of {entry key: planting key}; an entry of which nothing was planted is in neither of its counts.

    Planted is the supply drawn, which `recount` proves equal to trees and counted plots. Alive is the tally of the planting's last
    complete round, and the replacements alive, which are in no tally. A round half recorded would read as mostly dead; it counts only
    where none is complete.
    """
    planted, alive, left_out = {}, {}, set()
    for entry, count, is_left_out in linked(EntrySupply.objects, "entry", entries, "entry", "count", "entry__planting__trees_left_out"):
        planted[entry] = planted.get(entry, 0) + count
        left_out.update((entry,) if is_left_out else ())
    without_number = unknown_plots(entries)
    planted |= {entry: 0 for entry in without_number if entry not in planted}
    chosen, complete = last_counted(set(entries.values())), set()
    tallies = linked(SurvivalTally.objects, "round", {pk for pk, _sown in chosen}, "round", "entry", "entry__lot__kind", "alive")
    for round_pk, entry, kind, count in tallies:
        part = (round_pk, kind == LotKind.SEED)
        if part in chosen:
            alive[entry] = count
            complete.update((entry,) if chosen[part] else ())
    # a range, not "is not null": SQLite then takes the index of the few replacements and not the table of a million trees
    living = Tree.objects.filter(replaces__gt=0, fate__in=(TreeFate.ALIVE, TreeFate.RESPROUT))
    for entry in living.order_by().values_list("entry", flat=True):
        alive[entry] = alive.get(entry, 0) + 1
    alive = {entry: alive.get(entry, 0) for entry in planted}
    return EntryCounts(planted, alive, planted.keys() - complete, without_number, left_out)


def alive_words(count, is_open):
    """How many are alive, in words."""
    return f"{count:,} alive as far as recorded (no census is complete)" if is_open else f"{count:,} alive at the last complete census"
