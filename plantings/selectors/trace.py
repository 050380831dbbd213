"""What a record came from and what it led to: up to the founders, down to every tree, place, person and paper.

A trace gathers sets of primary keys, one query a step, and reads the records of each set once.
"""

from dataclasses import dataclass, field
from urllib.parse import urlencode

from django.db.models import Count, Q
from django.urls import reverse

from plantings.choices import TreeFate
from plantings.models import EntrySupply, Planting, PlantingEntry, Site, Tree
from registry.models import Authorization, Lot, LotComponent, Partner, PedigreeTree, PollenPool, Shipment, ShipmentLine

__all__ = ["Group", "Trace", "TraceRow", "record_trace", "trace_rows"]


@dataclass(frozen=True, slots=True)
class TraceRow:
    code: str
    what: str
    url: str


@dataclass(frozen=True, slots=True)
class Group:
    """Records of one kind, on one side of the start."""

    title: str
    kind: str
    rows: list


@dataclass(frozen=True, slots=True)
class Trace:
    kind: str
    code: str
    url: str
    up: list
    down: list


@dataclass
class _Found:
    """Primary keys met on the way, by kind."""

    trees_up: set = field(default_factory=set)
    pools: set = field(default_factory=set)
    lots_up: set = field(default_factory=set)
    trees_down: set = field(default_factory=set)
    lots: set = field(default_factory=set)
    shipments: set = field(default_factory=set)
    plantings: set = field(default_factory=set)
    entries: set = field(default_factory=set)


def record_trace(user, record):
    """The trace of a lot, pedigree tree, pool, shipment, paper, partner, site, planting or forest tree."""
    start = _STARTS[type(record)]
    found = _Found()
    start(record, found)
    return Trace(
        type(record)._meta.verbose_name, _code(record), reverse(f"{type(record)._meta.model_name}_detail", args=[record.pk]),
        _up(user, record, found), _down(user, record, found),
    )  # fmt: skip


def trace_rows(trace):
    """A trace as rows of a sheet: side, kind, code, what."""
    start = [("start", trace.kind, trace.code, "")]
    return start + [
        (side, group.kind, row.code, row.what)
        for side, groups in (("up", trace.up), ("down", trace.down))
        for group in groups
        for row in group.rows
    ]


# -- where a trace starts -------------------------------------------------------------------------


def _from_pedigree_tree(tree, found):
    _ancestors({tree.pk}, found)
    _offspring({tree.pk}, found)
    lots = Lot.objects.filter(Q(mother__in=found.trees_down | {tree.pk}) | Q(father__in=found.trees_down | {tree.pk}))
    _lots_down(set(lots.values_list("pk", flat=True)), found)


def _from_pool(pool, found):
    _lots_down(set(pool.lots.values_list("pk", flat=True)), found)


def _from_lot(lot, found):
    _lots_up({lot.pk}, found)
    _lots_down({lot.pk}, found)
    found.lots.discard(lot.pk)
    found.lots_up.discard(lot.pk)


def _from_shipment(shipment, found):
    found.shipments.add(shipment.pk)
    lines = shipment.lines.all()
    _lots_up(set(lines.values_list("lot", flat=True)), found)
    _entries(set(EntrySupply.objects.filter(shipment_line__in=lines).values_list("entry", flat=True)), found)


def _from_planting(planting, found):
    entries = PlantingEntry.objects.filter(planting=planting)
    _entries(set(entries.values_list("pk", flat=True)), found)
    _supplied_by(found)
    _lots_up(set(entries.values_list("lot", flat=True)), found)


def _from_tree(tree, found):
    _entries({tree.entry_id}, found)
    _supplied_by(found)
    _lots_up({tree.entry.lot_id}, found)


def _from_site(site, found):
    _plantings(set(site.plantings.values_list("pk", flat=True)), found)


def _from_partner(partner, found):
    _plantings(set(Planting.objects.filter(site__partner=partner).values_list("pk", flat=True)), found)
    found.shipments |= set(partner.shipments.values_list("pk", flat=True))
    lines = ShipmentLine.objects.filter(shipment__in=found.shipments)
    _lots_up(set(lines.values_list("lot", flat=True)), found)


def _from_paper(paper, found):
    found.shipments |= set(paper.shipments.values_list("pk", flat=True))
    lines = ShipmentLine.objects.filter(shipment__in=found.shipments)
    _entries(set(EntrySupply.objects.filter(shipment_line__in=lines).values_list("entry", flat=True)), found)
    _lots_up(set(lines.values_list("lot", flat=True)), found)
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
    """Parents of parents, a generation a query; a loop in the book ends where it began."""
    wave = trees
    while wave:
        parents = set()
        for mother, father, pool in PedigreeTree.objects.filter(pk__in=wave).values_list("mother", "father", "pollen_pool"):
            parents |= {mother, father}
            found.pools.add(pool)
        wave = parents - {None} - found.trees_up - trees
        found.trees_up |= wave
    found.pools.discard(None)


def _offspring(trees, found):
    wave = trees
    while wave:
        children = PedigreeTree.objects.filter(Q(mother__in=wave) | Q(father__in=wave)).values_list("pk", flat=True)
        wave = set(children) - found.trees_down - trees
        found.trees_down |= wave


def _lots_up(lots, found):
    """The lots themselves, what they were raised from and bulked of, and the parents of all these with their ancestors."""
    wave = lots
    while wave:
        found.lots_up |= wave
        parents = set(Lot.objects.filter(pk__in=wave, parent__isnull=False).values_list("parent", flat=True))
        parts = set(LotComponent.objects.filter(bulk__in=wave).values_list("component", flat=True))
        wave = (parents | parts) - found.lots_up
    parents = set()
    for mother, father, pool in Lot.objects.filter(pk__in=found.lots_up).values_list("mother", "father", "pollen_pool"):
        parents |= {mother, father}
        found.pools.add(pool)
    parents.discard(None)
    found.trees_up |= parents
    _ancestors(parents, found)


def _lots_down(lots, found):
    wave = lots
    while wave:
        found.lots |= wave
        raised = set(Lot.objects.filter(parent__in=wave).values_list("pk", flat=True))
        bulks = set(LotComponent.objects.filter(component__in=wave).values_list("bulk", flat=True))
        wave = (raised | bulks) - found.lots
    found.shipments |= set(ShipmentLine.objects.filter(lot__in=found.lots).values_list("shipment", flat=True))
    _entries(set(PlantingEntry.objects.filter(lot__in=found.lots).values_list("pk", flat=True)), found)


def _entries(entries, found):
    found.entries |= entries
    found.plantings |= set(PlantingEntry.objects.filter(pk__in=entries).values_list("planting", flat=True))


def _plantings(plantings, found):
    entries = PlantingEntry.objects.filter(planting__in=plantings)
    found.plantings |= plantings
    found.entries |= set(entries.values_list("pk", flat=True))
    _supplied_by(found)
    _lots_up(set(entries.values_list("lot", flat=True)), found)


def _supplied_by(found):
    lines = EntrySupply.objects.filter(entry__in=found.entries, shipment_line__isnull=False)
    found.shipments |= set(lines.values_list("shipment_line__shipment", flat=True))


# -- what the page and the sheet show -------------------------------------------------------------


def _code(record):
    return str(record) if isinstance(record, Tree) else record.code


def _rows(records, what):
    return [
        TraceRow(_code(record), what(record), reverse(f"{type(record)._meta.model_name}_detail", args=[record.pk])) for record in records
    ]


def _group(title, user, model, keys, what, related=()):
    records = model.objects.for_user(user).filter(pk__in=keys).select_related(*related)
    return Group(title, model._meta.verbose_name, _rows(records, what)) if keys else None


def _up(user, record, found):
    founders = PedigreeTree.objects.for_user(user).filter(
        pk__in=found.trees_up, mother__isnull=True, father__isnull=True, pollen_pool__isnull=True
    )
    between = found.trees_up - set(founders.values_list("pk", flat=True))
    groups = [
        Group("Founders", "founder", _rows(founders.select_related("taxon"), _tree_words)) if founders else None,
        _group("Trees between", user, PedigreeTree, between, _tree_words, ("taxon",)),
        _group("Pollen pools", user, PollenPool, found.pools, lambda pool: f"{pool.orchard}, flowering {pool.flowering_year}"),
        _group("Lots it came from", user, Lot, found.lots_up, _lot_words, ("taxon", "mother")),
    ]
    return [group for group in groups if group and group.rows]


def _down(user, record, found):
    groups = [
        _group("Offspring trees", user, PedigreeTree, found.trees_down, _tree_words, ("taxon",)),
        _group("Lots", user, Lot, found.lots, _lot_words, ("taxon", "mother")),
        _group("Shipments", user, Shipment, found.shipments - _own(record, Shipment), _shipment_words, ("receiver",)),
        _group("Plantings", user, Planting, found.plantings - _own(record, Planting), _planting_words, ("site",)),
        *_places(user, record, found),
        _papers(user, record, found),
        _trees(user, record, found),
    ]
    return [group for group in groups if group and group.rows]


def _own(record, model):
    return {record.pk} if isinstance(record, model) else set()


def _tree_words(tree):
    parts = [tree.generation_code, tree.taxon.name, tree.get_status_display() if tree.status != "standing" else ""]
    return ", ".join(filter(None, parts))


def _lot_words(lot):
    return f"{lot.get_kind_display().split(' (')[0]}, {lot.generation_code or lot.taxon.name}, {lot.year or 'year not stated'}"


def _shipment_words(shipment):
    when = f" {shipment.dispatched_on:%-d %b %Y}" if shipment.dispatched_on else ""
    return f"to {shipment.receiver.name}, {shipment.get_state_display()}{when}"


def _planting_words(planting):
    return f"at {planting.site.name}, planted {planting.planted_on:%-d %b %Y}" if planting.planted_on else f"at {planting.site.name}"


def _places(user, record, found):
    sites = Site.objects.for_user(user).filter(plantings__in=found.plantings).distinct()
    people = Partner.objects.for_user(user).filter(Q(sites__in=sites) | Q(shipments__in=found.shipments)).distinct()
    yield Group(
        "Sites",
        "site",
        _rows(sites.exclude(pk__in=_own(record, Site)), lambda site: f"{site.name}, {site.jurisdiction or 'no jurisdiction found'}"),
    )
    yield Group("Partners", "partner", _rows(people.exclude(pk__in=_own(record, Partner)), lambda partner: partner.name))


def _papers(user, record, found):
    papers = Authorization.objects.for_user(user).filter(Q(shipments__in=found.shipments) | Q(plantings__in=found.plantings)).distinct()
    return Group(
        "Papers",
        "paper",
        _rows(papers.exclude(pk__in=_own(record, Authorization)), lambda paper: f"{paper.title}, {paper.get_state_display()}"),
    )


def _trees(user, record, found):
    """Trees are counted by planting and lot: a trace may touch a hundred thousand."""
    if isinstance(record, Tree):
        return None
    counts = (
        PlantingEntry.objects.for_user(user).filter(pk__in=found.entries).select_related("planting", "lot")
        .annotate(n=Count("trees"), alive=Count("trees", filter=Q(trees__fate__in=(TreeFate.ALIVE, TreeFate.RESPROUT))))
        .filter(n__gt=0).order_by("planting__code", "lot__code")
    )  # fmt: skip
    rows = [
        TraceRow(
            f"{entry.planting.code} · {entry.lot.code}", f"{entry.n:,} trees, {entry.alive:,} alive at the last round",
            f"{reverse('tree_list')}?{urlencode({'planting': entry.planting.code, 'lot': entry.lot.code})}",
        )
        for entry in counts
    ]  # fmt: skip
    return Group("Trees", "trees", rows)
