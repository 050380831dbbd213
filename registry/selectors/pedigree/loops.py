"""Trees and lots that are their own ancestors: through parents, members of pollen pools, parent lots and components."""

from collections import defaultdict

from registry.calc.pedigree.loops import find_loops
from registry.models import Lot, LotComponent, PedigreeTree, PollenPool, PollenPoolMember
from registry.selectors.identity.descent import linked
from registry.selectors.pedigree.tree_facts import ancestor_rows, pool_rows

__all__ = ["record_loops", "loop_words", "lot_loop", "tree_loop"]

_MODELS = {"tree": PedigreeTree, "pool": PollenPool, "lot": Lot}


def tree_loop(tree):
    """The loop a tree is in with the parents it has now, stored or not: [("tree", key), …] beginning with the tree; [] for none.

    A query a generation of its ancestors, two where pools are met.
    """
    start = ("tree", tree.pk)
    own = pool_rows({tree.pollen_pool_id} - {None})
    members = {member for pool in own.values() for member, _ in pool.members}
    rows, pools = ancestor_rows({tree.mother_id, tree.father_id, *members} - {None}, lambda row: row.pk != tree.pk)
    origins = _origins_of_trees([(row.pk, row.mother, row.father, row.pool) for row in rows.values()])
    origins |= _origins_of_pools((pool.pk, member) for pool in (own | pools).values() for member, _ in pool.members)
    origins[start] = _tree_origins(tree.mother_id, tree.father_id, tree.pollen_pool_id)
    return _through(start, origins)


def lot_loop(lot, component=None):
    """The loop a lot is in with the parent it has now, stored or not, and with one more component: as `tree_loop`."""
    start = ("lot", lot.pk)
    origins = {start: [("lot", key) for key in (lot.parent_id, component and component.pk) if key]}
    wave = {lot.pk} | {key for _, key in origins[start]}
    while wave:
        found = defaultdict(set)
        for pk, parent in linked(Lot.objects, "pk", wave - {lot.pk}, "pk", "parent"):
            found[pk] |= {parent} - {None}
        for bulk, part in linked(LotComponent.objects, "bulk", wave, "bulk", "component"):
            found[bulk].add(part)
        for pk, keys in found.items():
            origins.setdefault(("lot", pk), []).extend(("lot", key) for key in sorted(keys))
        wave = {key for keys in found.values() for key in keys if ("lot", key) not in origins}
    return _through(start, origins)


def record_loops():
    """(how many trees, pools and lots were checked, [(code of one, the loop in words)]): over all records."""
    origins = _origins_of_trees(PedigreeTree.objects.order_by("pk").values_list("pk", "mother", "father", "pollen_pool"))
    origins |= _origins_of_pools(PollenPoolMember.objects.order_by("pool", "tree").values_list("pool", "tree"))
    for pk, parent in Lot.objects.order_by("pk").values_list("pk", "parent"):
        origins["lot", pk] = [("lot", parent)] if parent else []
    for bulk, part in LotComponent.objects.order_by("bulk", "component").values_list("bulk", "component"):
        origins["lot", bulk].append(("lot", part))
    return len(origins), [loop_words(loop) for loop in find_loops(origins)]


def loop_words(loop):
    """A loop in words, by codes: “JC-06 comes from SL-K-01, SL-K-01 from JC-06”."""
    names = {}
    for kind, model in _MODELS.items():
        keys = {key for found, key in loop if found == kind}
        before = "pollen pool " if kind == "pool" else ""
        names |= {(kind, pk): f"{before}{code}" for pk, code in linked(model.objects, "pk", keys, "pk", "code")}
    steps = [f"{names[name]} from {names[origin]}" for name, origin in zip(loop, loop[1:] + loop[:1], strict=True)]
    return ", ".join(steps).replace(" from ", " comes from ", 1)


def _origins_of_trees(rows):
    return {("tree", pk): _tree_origins(*parents) for pk, *parents in rows}


def _tree_origins(mother, father, pool):
    found = [("tree", parent) for parent in (mother, father) if parent]
    return [*found, ("pool", pool)] if pool else found


def _origins_of_pools(pairs):
    origins = defaultdict(list)
    for pool, tree in pairs:
        origins["pool", pool].append(("tree", tree))
    return dict(origins)


def _through(start, origins):
    """The loop that leads back to the start, beginning there."""
    for loop in find_loops(origins, [start], at_most=1_000):
        if start in loop:
            at = loop.index(start)
            return loop[at:] + loop[:at]
    return []
