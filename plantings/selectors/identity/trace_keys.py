"""What a record came from and led to, as sets of primary keys: a few queries for each step, whatever the number of trees."""

from dataclasses import dataclass, field

from plantings.models import EntrySupply, Planting, PlantingEntry, Site, Tree
from registry.models import Authorization, Lot, Partner, PedigreeTree, PollenPool, Shipment, ShipmentLine
from registry.selectors.identity.descent import ancestors, linked, lots_made_of, lots_origins, offspring, pools_joined

__all__ = ["TraceKeys", "trace_keys"]


@dataclass
class TraceKeys:
    """Primary keys met on the way from one record. `entries` is {entry: its planting}; `pools_down` are affected, not followed."""

    trees_up: set = field(default_factory=set)
    pools: set = field(default_factory=set)
    lots_up: set = field(default_factory=set)
    trees_down: set = field(default_factory=set)
    pools_down: set = field(default_factory=set)
    lots: set = field(default_factory=set)
    shipments: set = field(default_factory=set)
    plantings: set = field(default_factory=set)
    entries: dict = field(default_factory=dict)


def trace_keys(record):
    """What a lot, pedigree tree, pool, shipment, paper, partner, site, planting or forest tree came from and led to."""
    found = TraceKeys()
    _STARTS[type(record)](record, found)
    return found


# -- where it starts ------------------------------------------------------------------------------


def _from_pedigree_tree(tree, found):
    _ancestors({tree.pk}, found)
    _descend({tree.pk}, set(), found)


def _from_pool(pool, found):
    _descend(set(), {pool.pk}, found)


def _descend(trees, pools, found):
    found.trees_down = offspring(trees, pools)
    reached = trees | found.trees_down
    found.pools_down = pools_joined(reached) - pools
    _lots_down(lots_made_of(reached, pools), found)


def _from_lot(lot, found):
    _lots_up({lot.pk}, found)
    _lots_down(lots_made_of(lots={lot.pk}), found)
    found.lots.discard(lot.pk)
    found.lots_up.discard(lot.pk)


def _from_shipment(shipment, found):
    found.shipments.add(shipment.pk)
    lines = dict(shipment.lines.values_list("pk", "lot"))
    _lots_up(set(lines.values()), found)
    _supplied(set(lines), found)


def _from_planting(planting, found):
    _plantings({planting.pk}, found)


def _from_tree(tree, found):
    _entries(PlantingEntry.objects.filter(pk=tree.entry_id).values_list("pk", "planting"), found)
    _supplied_by(found)
    _lots_up({tree.entry.lot_id}, found)


def _from_site(site, found):
    _plantings(set(site.plantings.values_list("pk", flat=True)), found)


def _from_partner(partner, found):
    _plantings(set(Planting.objects.filter(site__partner=partner).values_list("pk", flat=True)), found)
    found.shipments |= set(partner.shipments.values_list("pk", flat=True))
    _lots_up(set(linked(ShipmentLine.objects, "shipment", found.shipments, "lot")), found)


def _from_paper(paper, found):
    found.shipments |= set(paper.shipments.values_list("pk", flat=True))
    lines = linked(ShipmentLine.objects, "shipment", found.shipments, "pk", "lot")
    _supplied({pk for pk, _lot in lines}, found)
    _lots_up({lot for _pk, lot in lines}, found)
    _plantings(set(paper.plantings.values_list("pk", flat=True)), found)


_STARTS = {
    PedigreeTree: _from_pedigree_tree,
    PollenPool: _from_pool,
    Lot: _from_lot,
    Shipment: _from_shipment,
    Planting: _from_planting,
    Tree: _from_tree,
    Site: _from_site,
    Partner: _from_partner,
    Authorization: _from_paper,
}


# -- steps ----------------------------------------------------------------------------------------


def _ancestors(trees, found):
    earlier, pools = ancestors(trees)
    found.trees_up |= earlier
    found.pools |= pools


def _lots_up(lots, found):
    """The lots themselves, what they were raised from and bulked of, and the parents of all these with their ancestors."""
    origins = lots_origins(lots)
    found.lots_up |= origins.lots
    found.pools |= origins.pools
    found.trees_up |= origins.trees
    _ancestors(origins.trees, found)


def _lots_down(lots, found):
    found.lots |= lots
    found.shipments |= set(linked(ShipmentLine.objects, "lot", lots, "shipment"))
    _entries(linked(PlantingEntry.objects, "lot", lots, "pk", "planting"), found)


def _entries(pairs, found):
    found.entries.update(pairs)
    found.plantings.update(found.entries.values())


def _supplied(lines, found):
    """The entries planted from these shipment lines."""
    _entries(linked(EntrySupply.objects, "shipment_line", lines, "entry", "entry__planting"), found)


def _supplied_by(found):
    """The shipments the entries were planted from."""
    supplies = EntrySupply.objects.filter(shipment_line__isnull=False)
    found.shipments |= set(linked(supplies, "entry", found.entries, "shipment_line__shipment"))


def _plantings(plantings, found):
    rows = linked(PlantingEntry.objects, "planting", plantings, "pk", "planting", "lot")
    found.plantings |= plantings
    _entries([row[:2] for row in rows], found)
    _supplied_by(found)
    _lots_up({lot for *_, lot in rows}, found)
