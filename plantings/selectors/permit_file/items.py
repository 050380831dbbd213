"""Which shipments and plantings fall under a paper, and what became of what they carried.

Counts come from lines, supplies and tallies; single trees are never read. The number of queries is fixed.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import Count, Exists, OuterRef, Q, Sum

from plantings.models import CountedPlot, EntrySupply, Planting, PlantingEntry
from plantings.selectors.permit_file.fates import NOT_COMPLETE, Fates, fates_at_last_round
from registry.choices import DISPATCH_TAKEN_BACK, DrawKind, LeftoverOutcome, LotKind, ShipmentState
from registry.compliance.gate.words import ESTABLISH
from registry.models import AuthorizationDraw, Determination, Leftover, Receipt, ReceiptLine, Shipment, ShipmentLine
from registry.selectors.movements.leftovers import held_of, leftover_reports

__all__ = [
    "RULE",
    "Entry",
    "Items",
    "Line",
    "Supply",
    "entries_reached",
    "permit_items",
    "plantings_under",
    "shipments_under",
]

RULE = (
    "A shipment or planting is under this paper when it drew on the paper. So is one that the gate released on the paper, and one that "
    "has the paper attached. Where draws name lots, only those lots count. Without such draws, the lots of the rules that the paper met "
    "count. Without either, all lots count. What was planted from such a shipment counts, wherever it is. A dispatch that was taken back "
    "puts nothing under it."
)


class Line(NamedTuple):
    """A line of a shipment under the paper, with what its receipts and leftovers say. `arrived` is False without any receipt."""

    pk: int
    shipment_pk: int
    shipment: str
    state: str
    receiver: str
    region: str
    dispatched_on: date | None
    lot_pk: int
    lot: str
    unit: str
    form: str
    quantity: int
    sound: int
    sprouted: int
    spoiled: int
    arrived: bool
    planted: int
    returned: int
    destroyed: int
    held: int

    @property
    def sent(self):
        return self.quantity if self.state == ShipmentState.DISPATCHED else 0

    @property
    def received(self):
        return self.sound + self.sprouted + self.spoiled

    @property
    def short(self):
        return self.sent - self.received if self.arrived else 0

    @property
    def under_way(self):
        return 0 if self.arrived else self.sent

    @property
    def unreported(self):
        """Received sound or sprouted, and neither planted nor reported as left over."""
        return self.sound + self.sprouted - self.planted - self.returned - self.destroyed - self.held


class Entry(NamedTuple):
    """A lot in a planting. `under` of its `planted` came under the paper; the fates are of all of it, since no tree names its shipment.
    `unknown_plots` are counted plots whose number planted is unknown: they are in none of the numbers. Where `trees_left_out`, some planted
    trees are not on record, and the numbers are of those that are."""

    pk: int
    planting_pk: int
    planting: str
    state: str
    planted_on: date | None
    site: object
    lot_pk: int
    lot: str
    unit: str
    role: str
    under: int
    planted: int
    round: str
    as_of: date | None
    fates: Fates
    unknown_plots: int
    trees_left_out: bool

    @property
    def not_complete(self):
        """Whether its last round is still open or thinly visited."""
        return self.round.endswith(NOT_COMPLETE)


class Supply(NamedTuple):
    """How many of an entry came from a shipment line or, without one, from what `source` says."""

    entry: int
    line: int | None
    count: int
    source: str


@dataclass(frozen=True, slots=True)
class Items:
    """Everything under a paper: `lines` and `entries` in order, and the `supplies` that lead from the ones to the others."""

    lines: tuple[Line, ...]
    entries: tuple[Entry, ...]
    supplies: tuple[Supply, ...]


def shipments_under(paper):
    """The shipments under a paper, as an unevaluated queryset."""
    drawn = _drawn_by(paper).exclude(kind=DrawKind.PLANTED).values("subject")
    named = Determination.objects.in_effect().filter(authorizations=paper, shipment__isnull=False).values("shipment")
    attached = Shipment.authorizations.through.objects.filter(authorization=paper).values("shipment")
    return Shipment.objects.filter(Q(pk__in=attached) | Q(pk__in=named) | Q(code__in=drawn))


def plantings_under(paper):
    """The plantings that are themselves under a paper, whatever their shipments; an unevaluated queryset."""
    drawn = _drawn_by(paper).exclude(kind=DrawKind.SHIPPED).values("subject")
    named = Determination.objects.in_effect().filter(authorizations=paper, activity=ESTABLISH).values("subject")
    attached = Planting.authorizations.through.objects.filter(authorization=paper).values("planting")
    return Planting.objects.filter(Q(pk__in=attached) | Q(code__in=named) | Q(code__in=drawn))


def _drawn_by(paper):
    """The draws on a paper, without those of dispatches that were taken back."""
    draws = AuthorizationDraw.objects.filter(authorization=paper).order_by()
    back = draws.filter(subject=OuterRef("subject"), kind=DrawKind.RETURNED, reason__startswith=DISPATCH_TAKEN_BACK, pk__gte=OuterRef("pk"))
    return draws.filter(~Exists(back))


def permit_items(paper):
    """The Items under a paper. Twelve queries."""
    limits = _lots_named(paper)
    shipments, plantings = shipments_under(paper), plantings_under(paper)
    supplied = Q(shipment_line__shipment__in=shipments.values("pk"))
    rows = EntrySupply.objects.filter(supplied | Q(entry__planting__in=plantings.values("pk"))).order_by("pk")
    supplies = [
        Supply(entry, line, count, _source(line, ledger))
        for entry, line, count, ledger in rows.values_list("entry", "shipment_line", "count", "ledger_entry")
    ]
    lines = _lines(shipments, limits, supplies)
    entries = _entries(shipments, plantings, limits, supplies, {line.pk for line in lines})
    kept, covered = {entry.pk for entry in entries}, {line.pk for line in lines}
    direct = set(plantings.values_list("pk", flat=True))
    whole = {entry.pk for entry in entries if entry.planting_pk in direct}
    supplies = tuple(supply for supply in supplies if supply.entry in kept and (supply.line in covered or supply.entry in whole))
    return Items(lines, entries, supplies)


def _source(line, ledger):
    return "" if line else "the programme's own stock" if ledger else "before these records began"


def _lots_named(paper):
    """{code of a shipment or planting: codes of the lots that draws or answers name}; None where all its lots are meant.

    Draws come first: they are of this paper alone, where an answer may name lots that another paper covers with it.
    """
    drawn = defaultdict(set)
    for subject, lot in _drawn_by(paper).values_list("subject", "lot__code").distinct():
        drawn[subject].add(lot)
    named = {}
    answers = Determination.objects.in_effect().filter(authorizations=paper).order_by("pk")
    for subject, answer in answers.values_list("subject", "answer").iterator(chunk_size=200):
        met = [finding for finding in answer.get("findings", ()) if paper.code in finding.get("met_by", ())]
        lots = [set(finding.get("lots", ())) for finding in met]
        named[subject] = set().union(*lots) if lots and all(lots) else None
    return named | drawn


def _covers(limits, code, lot):
    named = limits.get(code)
    return named is None or lot in named


def _lines(shipments, limits, supplies):
    inside = {"line__shipment__in": shipments.values("pk")}
    counts = {name: Sum(name) for name in ("sound", "sprouted", "spoiled")}
    received = {
        line: tuple(numbers)
        for line, *numbers in ReceiptLine.objects.in_effect().filter(**inside).order_by().values_list("line").annotate(**counts)
    }
    arrived = set(Receipt.objects.in_effect().filter(shipment__in=shipments.values("pk")).order_by().values_list("shipment", flat=True))
    reports = leftover_reports(Leftover.objects.filter(**inside))
    planted = defaultdict(int)
    for supply in supplies:
        planted[supply.line] += supply.count
    rows = ShipmentLine.objects.filter(shipment__in=shipments.values("pk")).order_by(
        "shipment__dispatched_on", "shipment__code", "lot__code", "form"
    )
    found = []
    for pk, shipment, code, state, receiver, region, left_on, lot, lot_code, kind, form, quantity in rows.values_list(
        "pk", "shipment", "shipment__code", "shipment__state", "shipment__receiver__name", "shipment__receiver__region",
        "shipment__dispatched_on", "lot", "lot__code", "lot__kind", "form", "quantity",
    ):  # fmt: skip
        if _covers(limits, code, lot_code):
            left = Counter()
            for outcome, count in reports.get(pk, ()):
                left[outcome] += count
            settled = left[LeftoverOutcome.RETURNED], left[LeftoverOutcome.DESTROYED]
            sound, sprouted, spoiled = received.get(pk, (0, 0, 0))
            held = held_of(reports.get(pk, ()), sound + sprouted - planted[pk] - sum(settled))
            found.append(
                Line(
                    pk, shipment, code, state, receiver, region, left_on, lot, lot_code, _unit(kind), form, quantity,
                    sound, sprouted, spoiled, shipment in arrived, planted[pk], *settled, held,
                )
            )  # fmt: skip
    return tuple(found)


def _unit(kind):
    return "seeds" if kind == LotKind.SEED else "plants"


def entries_reached(paper):
    """Keys of the entries a paper may reach, as a subquery; which of them it covers, `permit_items` says."""
    return _reached(shipments_under(paper), plantings_under(paper))


def _reached(shipments, plantings):
    return PlantingEntry.objects.filter(
        Q(planting__in=plantings.values("pk")) | Q(supplies__shipment_line__shipment__in=shipments.values("pk"))
    ).values("pk")


def _entries(shipments, plantings, limits, supplies, lines):
    reached = _reached(shipments, plantings)
    direct = set(plantings.values_list("pk", flat=True))
    under = defaultdict(int)
    for supply in supplies:
        if supply.line in lines:
            under[supply.entry] += supply.count
    planted = dict(EntrySupply.objects.filter(entry__in=reached).order_by().values_list("entry").annotate(n=Sum("count")))
    unknown = CountedPlot.objects.unknown().filter(entry__in=reached).order_by().values_list("entry")
    unknown = dict(unknown.annotate(n=Count("pk")))
    standing = fates_at_last_round(reached)
    found = []
    rows = PlantingEntry.objects.filter(pk__in=reached).select_related("planting__site__partner", "lot")
    for entry in rows.defer("planting__site__boundary").order_by("planting__site__code", "planting__code", "lot__code", "role"):
        planting, total = entry.planting, planted.get(entry.pk, 0)
        whole = planting.pk in direct and _covers(limits, planting.code, entry.lot.code)
        of_it = total if whole else under[entry.pk]
        if not whole and not of_it:
            continue
        label, as_of, fates = standing.get(entry.pk, ("", None, Fates()))
        fates += Fates(unseen=max(0, total - fates.total))
        found.append(
            Entry(
                entry.pk, planting.pk, planting.code, planting.get_state_display(), planting.planted_on, planting.site, entry.lot_id,
                entry.lot.code, _unit(entry.lot.kind), entry.get_role_display(), of_it, total, label, as_of, fates,
                unknown.get(entry.pk, 0), planting.trees_left_out,
            )
        )  # fmt: skip
    return tuple(found)
