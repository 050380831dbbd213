"""What was made of trees, pollen pools and lots, and what they were made of. Sets of primary keys in, sets out.

Small sets are followed with one query for each generation; once more than a few thousand trees are named, the parents of all trees are
read at once and followed in memory. Keys go into a query in chunks, so that no database limit on values is ever met.
A loop in the records ends where it began.
"""

from collections import defaultdict
from typing import NamedTuple

from django.db.models import F, Q

from registry.choices import LedgerKind
from registry.models import LedgerEntry, Lot, LotComponent, PedigreeTree, PollenPoolMember

__all__ = ["CHUNK", "LotsUp", "ancestors", "chunks", "linked", "lots_made_of", "lots_origins", "offspring", "pools_joined"]

# named at most twice in one query; the oldest SQLite Django takes allows 999 values
CHUNK = 450
_NAMED_MAX = 3_000
_READ_ALL_FROM = 10_000


def chunks(keys):
    """The keys in order, some hundreds at a time."""
    ordered = sorted(keys)
    for start in range(0, len(ordered), CHUNK):
        yield ordered[start : start + CHUNK]


def linked(queryset, lookup, keys, *fields):
    """Rows (tuples of `fields`; plain values when it is one) of `queryset` whose `lookup` is one of many keys (a set or dict).

    Beyond some ten thousand keys all rows are read and filtered here, which costs less than naming the keys in queries.
    """
    if len(keys) > _READ_ALL_FROM:
        rows = queryset.order_by().values_list(lookup, *fields)
        return [row[1] if len(fields) == 1 else row[1:] for row in rows if row[0] in keys]
    rows = []
    for chunk in chunks(keys):
        rows.extend(queryset.filter(**{f"{lookup}__in": chunk}).order_by().values_list(*fields, flat=len(fields) == 1))
    return rows


def offspring(trees, pools=()):
    """Keys of all trees descended from these trees, by mother or father, or from these pools. The trees themselves are not among them."""
    wave = set(linked(PedigreeTree.objects, "pollen_pool", pools, "pk")) - set(trees)
    found = set(wave)
    wave |= set(trees)
    while wave and len(found) + len(wave) <= _NAMED_MAX:
        children = set()
        for chunk in chunks(wave):
            children.update(PedigreeTree.objects.filter(Q(mother__in=chunk) | Q(father__in=chunk)).order_by().values_list("pk", flat=True))
        wave = children - found - set(trees)
        found |= wave
    if wave:
        _follow(wave, _children_of_all(), found, set(trees))
    return found


def ancestors(trees):
    """(keys of all ancestors of these trees, keys of the pollen pools among their fathers). The trees themselves are not among them."""
    found, pools, wave = set(), set(), set(trees)
    while wave and len(found) + len(wave) <= _NAMED_MAX:
        parents = set()
        for mother, father, pool in linked(PedigreeTree.objects, "pk", wave, "mother", "father", "pollen_pool"):
            parents |= {mother, father}
            pools.add(pool)
        wave = parents - {None} - found - set(trees)
        found |= wave
    if wave:
        parents_of = {pk: parents for pk, *parents in PedigreeTree.objects.order_by().values_list("pk", "mother", "father", "pollen_pool")}
        _follow(wave, {pk: [parent for parent in parents[:2] if parent] for pk, parents in parents_of.items()}, found, set(trees))
        pools |= {parents_of[pk][2] for pk in found}
    return found, pools - {None}


def _children_of_all():
    children = defaultdict(list)
    for pk, mother, father in PedigreeTree.objects.order_by().values_list("pk", "mother", "father"):
        if mother:
            children[mother].append(pk)
        if father:
            children[father].append(pk)
    return children


def _follow(start, links, found, left_out):
    """Add to `found` whatever the links lead to."""
    waiting = list(start)
    while waiting:
        for pk in links.get(waiting.pop(), ()):
            if pk not in found and pk not in left_out:
                found.add(pk)
                waiting.append(pk)


def pools_joined(trees):
    """Keys of the pollen pools these trees are members of."""
    return set(linked(PollenPoolMember.objects, "tree", trees, "pool"))


# -- lots: a few thousand at most, so their origins are read at once, three queries whatever the depth ---------------


class LotsUp(NamedTuple):
    """What lots were made of: `lots` with the start among them, and the parents those name."""

    lots: set
    trees: set
    pools: set


def _origins():
    """(rows of all lots as pk, mother, father, pool, parent; pairs of a lot and one mixed into it, as a component or put back)."""
    rows = Lot.objects.order_by().values_list("pk", "mother", "father", "pollen_pool", "parent")
    mixed = list(LotComponent.objects.order_by().values_list("bulk", "component"))
    put_back = (
        LedgerEntry.objects.filter(kind=LedgerKind.SPLIT_IN, counterpart__parent=F("lot")).order_by().values_list("lot", "counterpart")
    )
    return list(rows), mixed + list(put_back)


def lots_made_of(trees=frozenset(), pools=frozenset(), lots=frozenset()):
    """Keys of the lots that name these trees as mother or father or these pools as father, of `lots`, and of all
    lots raised, split or bulked from any of them, or into which a part of any was put back."""
    rows, parts = _origins()
    made = defaultdict(list)
    found = set(lots)
    for pk, mother, father, pool, parent in rows:
        if parent:
            made[parent].append(pk)
        if mother in trees or father in trees or pool in pools:
            found.add(pk)
    for bulk, component in parts:
        made[component].append(bulk)
    _follow(list(found), made, found, frozenset())
    return found


def lots_origins(lots):
    """What these lots were raised, split or bulked from, and the trees and pools that all of them name."""
    rows, parts = _origins()
    made_of = defaultdict(list)
    for pk, _mother, _father, _pool, parent in rows:
        if parent:
            made_of[pk].append(parent)
    for bulk, component in parts:
        made_of[bulk].append(component)
    found = set(lots)
    _follow(list(found), made_of, found, frozenset())
    trees, pools = set(), set()
    for pk, mother, father, pool, _parent in rows:
        if pk in found:
            trees |= {mother, father}
            pools.add(pool)
    return LotsUp(found, trees - {None}, pools - {None})
