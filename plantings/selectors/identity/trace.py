"""What a record came from and what it led to: up to the founders, down to every tree, place, person and paper.

A group counts all its records and shows the first rows; the sheet has all of them. Trees are counted by entry from stored tallies
(`entry_counts`), because a trace may lead to a million of them.
"""

from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from plantings.models import Planting, PlantingEntry, Site, Tree
from plantings.selectors.identity.trace_keys import trace_keys
from plantings.selectors.plantings.alive_counts import entry_counts
from plantings.selectors.plantings.unknown_plots import planted_words
from registry.calc.shared.screen import amount_words, day_words
from registry.models import Authorization, IssuedPrint, Lot, Partner, PedigreeTree, PollenPool, Shipment
from registry.selectors.identity.descent import CHUNK, chunks, linked
from registry.selectors.permits.as_of import papers_on

__all__ = [
    "ROWS_SHOWN",
    "Group",
    "Trace",
    "TraceRow",
    "authorizations_of",
    "prints_naming",
    "partners_of",
    "record_impact",
    "record_trace",
    "trace_rows",
]

ROWS_SHOWN = 200


@dataclass(frozen=True, slots=True)
class TraceRow:
    code: str
    what: str
    url: str


@dataclass(frozen=True, slots=True)
class Group:
    """Records of one kind, on one side of the start: the first `rows` of `total`."""

    title: str
    kind: str
    rows: list
    total: int
    words: str = ""

    @property
    def note(self):
        first = f"The first {len(self.rows):,} of {self.total:,}; the sheet has all of them." if len(self.rows) < self.total else ""
        return " ".join(filter(None, (self.words, first)))


@dataclass(frozen=True, slots=True)
class Trace:
    kind: str
    code: str
    url: str
    up: list
    down: list


def record_trace(user, record, rows_max=ROWS_SHOWN):
    """The trace of a lot, pedigree tree, pool, shipment, paper, partner, site, planting or forest tree.

    Each group has the first `rows_max` rows of the records this person may see; all of them when it is None.
    """
    found = trace_keys(record)
    gather = _Gather(user, record, found, rows_max)
    return Trace(
        type(record)._meta.verbose_name, _code(record), reverse(f"{type(record)._meta.model_name}_detail", args=[record.pk]),
        gather.up(), gather.down(),
    )  # fmt: skip


def record_impact(user, record, rows_max=ROWS_SHOWN):
    """The groups of what a tree, lot, pool or shipment affects: all that a letter would have to name if its identity were wrong."""
    found = trace_keys(record)
    if isinstance(record, Shipment):
        found.lots = set(record.lines.values_list("lot", flat=True))
    return _Gather(user, record, found, rows_max).down()


def trace_rows(trace):
    """A trace as rows of a sheet: side, kind, code, what."""
    start = [("start", trace.kind, trace.code, "")]
    return start + [
        (side, group.kind, row.code, row.what)
        for side, groups in (("up", trace.up), ("down", trace.down))
        for group in groups
        for row in group.rows
    ]


def _code(record):
    return str(record) if isinstance(record, Tree) else record.code


# -- what plantings and shipments lead to ----------------------------------------------------------


def partners_of(sites, shipments):
    """Keys of the partners on whose land these sites lie or who received these shipments."""
    return set(linked(Site.objects, "pk", sites, "partner")) | set(linked(Shipment.objects, "pk", shipments, "receiver"))


def authorizations_of(shipments, plantings):
    """Keys of the papers these shipments travelled on or these plantings are under."""
    return set(linked(Authorization.objects, "shipments", shipments, "pk")) | set(
        linked(Authorization.objects, "plantings", plantings, "pk")
    )


def prints_naming(*, trees=(), lots=(), shipments=()):
    """Keys of the prints that name any of these."""
    named = (("trees", trees), ("lots", lots), ("shipments", shipments))
    return {pk for lookup, keys in named for pk in linked(IssuedPrint.objects, lookup, keys, "pk")}


# -- the groups ------------------------------------------------------------------------------------


class _Gather:
    """Turns the keys of a trace into the groups one person may see."""

    def __init__(self, user, record, found, rows_max):
        self.user, self.record, self.found, self.rows_max = user, record, found, rows_max

    def up(self):
        found = self.found
        founders = set(
            linked(
                PedigreeTree.objects.filter(mother__isnull=True, father__isnull=True, pollen_pool__isnull=True), "pk", found.trees_up, "pk"
            )
        )
        return self.filled(
            self.group("Founders", PedigreeTree, founders, _tree_words, ("taxon",), kind="founder"),
            self.group("Trees between", PedigreeTree, found.trees_up - founders, _tree_words, ("taxon",)),
            self.group("Pollen pools", PollenPool, found.pools, _pool_words),
            self.group("Lots it came from", Lot, found.lots_up, _lot_words, ("taxon", "mother")),
        )

    def down(self):
        found = self.found
        sites = set(linked(Planting.objects, "pk", found.plantings, "site"))
        papers = authorizations_of(found.shipments, found.plantings)
        prints = self.prints() if self.user.may("issued.view") else set()
        return self.filled(
            self.group("Offspring trees", PedigreeTree, found.trees_down, _tree_words, ("taxon",)),
            self.group(
                "Pollen pools it shed into", PollenPool, found.pools_down, _pool_words,
                words="Affected as one of their pollen parents. Their lots are not followed: the father is the pool.",
            ),
            self.group("Lots", Lot, found.lots, _lot_words, ("taxon", "mother")),
            self.group("Shipments", Shipment, self.others(Shipment, found.shipments), _shipment_words, ("receiver",)),
            self.group("Plantings", Planting, self.others(Planting, found.plantings), _planting_words, ("site",)),
            self.group("Sites", Site, self.others(Site, sites), _site_words),
            self.group("Partners", Partner, self.others(Partner, partners_of(sites, found.shipments)), lambda partner: partner.name),
            self.group("Papers", Authorization, self.others(Authorization, papers), _paper_words, kind="paper"),
            self.group("Prints handed out", IssuedPrint, prints, _print_words, kind="print"),
            self.trees(),
        )  # fmt: skip

    def prints(self):
        """Keys of the prints that name the record itself or anything below it."""
        found, own = self.found, {self.record.pk}
        return prints_naming(
            trees=found.trees_down | (own if isinstance(self.record, PedigreeTree) else set()),
            lots=found.lots | (own if isinstance(self.record, Lot) else set()),
            shipments=found.shipments,
        )

    def others(self, model, keys):
        """Without the record the trace starts at."""
        return keys - {self.record.pk} if isinstance(self.record, model) else keys

    @staticmethod
    def filled(*groups):
        return [group for group in groups if group and group.total]

    def group(self, title, model, keys, what, related=(), *, kind="", words=""):
        if not keys:
            return None
        order = _in_order(model.objects.for_user(self.user), keys)
        shown = order if self.rows_max is None else order[: self.rows_max]
        records = _records(model, shown, related)
        if model is Authorization:
            records = papers_on(records, timezone.localdate())
        rows = [TraceRow(_label(record), what(record), _url(record)) for record in records]
        return Group(title, kind or model._meta.verbose_name, rows, len(order), words)

    def trees(self):
        """Trees by planting and lot: counted, never listed."""
        if isinstance(self.record, Tree):
            return None
        standing = entry_counts(self.found.entries)
        order = _in_order(PlantingEntry.objects.for_user(self.user).order_by("planting__code", "lot__code", "pk"), standing.planted)
        shown = order if self.rows_max is None else order[: self.rows_max]
        whole = [key for key in order if key not in standing.trees_left_out]
        planted, alive = (sum(map(counts.get, whole)) for counts in (standing.planted, standing.alive))
        without = sum(standing.planted[key] for key in whole if key in standing.open)
        words = f"{planted:,} planted, {alive:,} alive at the last complete census"
        words += f" (of {without:,} no census is complete)" if without else ""
        unknown = sum(standing.unknown_plots.get(key, 0) for key in order)
        words += f", besides an unknown number in {amount_words(unknown, 'plots')}" if unknown else ""
        if len(whole) < len(order):
            words += f", besides {planted_words(sum(standing.planted[key] for key in {*order} - {*whole}), 0, trees_left_out=True)}"
        rows = [_entry_row(entry, standing) for entry in _records(PlantingEntry, shown, ("planting", "lot"))]
        return Group("Trees", "trees", rows, len(order), f"{words}, by planting and lot.")


def _in_order(queryset, keys):
    """The `keys` that are rows of `queryset`, in its order. Many keys are looked up among all rows, not named in the query."""
    if len(keys) <= CHUNK:
        return list(queryset.filter(pk__in=list(keys)).values_list("pk", flat=True))
    return [pk for pk in queryset.values_list("pk", flat=True) if pk in keys]


def _records(model, order, related):
    """Records in the order of their keys."""
    records = {}
    for chunk in chunks(order):
        records.update(model._base_manager.select_related(*related).in_bulk(chunk))
    return [records[pk] for pk in order]


def _label(record):
    return getattr(record, "code", "") or str(record)


def _url(record):
    return reverse(f"{record._meta.model_name}_detail", args=[record.pk])


# -- the words of a row ----------------------------------------------------------------------------


def _entry_row(entry, standing):
    return TraceRow(
        f"{entry.planting.code} · {entry.lot.code}", _standing_words(entry, standing),
        f"{reverse('tree_list')}?{urlencode({'planting': entry.planting.code, 'lot': entry.lot.code})}",
    )  # fmt: skip


def _standing_words(entry, standing):
    return standing.words(entry.pk, f" as {entry.role}")


def _tree_words(tree):
    parts = [tree.generation_code, tree.taxon.name, tree.get_status_display() if tree.status != "standing" else ""]
    return ", ".join(filter(None, parts))


def _pool_words(pool):
    return f"{pool.orchard}, flowering {pool.flowering_year}"


def _lot_words(lot):
    return f"{lot.get_kind_display().split(' (')[0]}, {lot.generation_code or lot.taxon.name}, {lot.year or 'year not stated'}"


def _shipment_words(shipment):
    when = f" {day_words(shipment.dispatched_on)}" if shipment.dispatched_on else ""
    return f"to {shipment.receiver.name}, {shipment.get_state_display()}{when}"


def _planting_words(planting):
    return f"at {planting.site.name}, planted {day_words(planting.planted_on)}" if planting.planted_on else f"at {planting.site.name}"


def _site_words(site):
    return f"{site.name}, {site.jurisdiction or 'no jurisdiction found'}"


def _paper_words(paper):
    return f"{paper.title}, {paper.get_state_display()}"


def _print_words(issued):
    return f"{issued.get_kind_display()}, {day_words(issued.entered_at)}"
