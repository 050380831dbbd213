"""Which trees under a paper were seen in flower: by round and entry, from the census records that say whether somebody looked."""

from typing import NamedTuple

from django.db.models import Count, Exists, OuterRef, Q

from plantings.calc.census.measurements import FLOWERS
from plantings.models import Observation
from plantings.selectors.permit_file.items import Entry, entries_reached

__all__ = ["Flowered", "flowering_under"]


class Flowered(NamedTuple):
    """An entry at a round: records that looked for flowers, by what they saw, and trees in flower that were not before."""

    entry: Entry
    round: str
    opened: object
    looked: int
    seen: dict
    first_time: int


def flowering_under(paper, entries):
    """The Flowered of every round at which somebody looked, in the order of the rounds. Two queries."""
    looked = Observation.objects.counting().filter(tree__entry__in=entries_reached(paper)).exclude(**{FLOWERS.field: FLOWERS.blank})
    by_round = ("round__opens_on", "round__label", "tree__entry")
    counts = {}
    for opened, label, entry, kind, count in looked.order_by().values_list(*by_round, FLOWERS.field).annotate(n=Count("pk")):
        counts.setdefault((opened, label, entry), {})[kind] = count
    earlier = Observation.objects.counting().in_flower().filter(tree=OuterRef("tree"))
    earlier = earlier.filter(
        Q(round__opens_on__lt=OuterRef("round__opens_on")) | Q(round__opens_on=OuterRef("round__opens_on"), pk__lt=OuterRef("pk"))
    )
    fresh = looked.in_flower().filter(~Exists(earlier)).order_by().values_list(*by_round)
    first = {tuple(key): count for *key, count in fresh.annotate(n=Count("tree", distinct=True))}
    known = {entry.pk: entry for entry in entries}
    return tuple(
        Flowered(known[entry], label, opened, sum(seen.values()), seen, first.get((opened, label, entry), 0))
        for (opened, label, entry), seen in sorted(counts.items(), key=lambda item: (item[0][0], known_code(known, item[0][2])))
        if entry in known
    )


def known_code(known, entry):
    """What rows of one round are sorted by; an entry that is not under the paper comes nowhere."""
    return (known[entry].planting, known[entry].lot) if entry in known else ("", "")
