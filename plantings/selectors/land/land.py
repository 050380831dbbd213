"""What a landowner's own page shows: what is planted on their land, who comes when, what is on its way to them.

Everything is read through the row rule of the landowner's contact, so nothing of another partner can be in it.
"""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Count, Max, Prefetch, Sum

from plantings.calc.census.codes import NOT_VISITED
from plantings.choices import TreeFate
from plantings.models import CensusRound, CountedPlot, Observation, Planting, PlantingEntry, PlotCount, Site, Tree
from plantings.selectors.census.tallies import fates_at
from plantings.selectors.plantings.complete_rounds import complete_parts, parts_not_complete
from plantings.selectors.plantings.plantings import in_role_order
from plantings.selectors.plantings.unknown_plots import planted_words
from registry.choices import MapPrivacy, ShipmentState
from registry.models import Receipt, ReceiptLine, Shipment, ShipmentLine

__all__ = ["LandPlanting", "LandShipment", "land_plantings", "land_shipments", "land_sites", "published"]


@dataclass(slots=True)
class LandPlanting:
    """One planting as its landowner sees it. `fates` are (fate, trees); `visited_on` is the last day a crew was at a tree of it.

    `under_way` says that the last round with records is not complete. The fates are then those of `complete_round`, the last complete
    one; where none is complete it is None, and they say how far that first round is.
    """

    planting: Planting
    entries: list = field(default_factory=list)
    fates: list = field(default_factory=list)
    plots: list = field(default_factory=list)
    rounds: list = field(default_factory=list)
    visited_on: date | None = None
    under_way: bool = False
    complete_round: CensusRound | None = None

    @property
    def trees(self):
        return sum(count for _fate, count in self.fates)

    @property
    def crew(self):
        return [str(person) for person in self.planting.crew.all()]


def land_sites(person):
    return list(Site.objects.for_user(person).select_related("partner").defer("boundary").order_by("code"))


def published(site):
    """The generalised position that shared maps show, as a `GeneralisedPoint`; None for a site that is on no map."""
    from plantings.calc.sites.geometry import generalise_point

    if site.longitude is None or site.partner.map_privacy == MapPrivacy.HIDDEN:
        return None
    return generalise_point(site.longitude, site.latitude)


def land_plantings(person, on):
    """The plantings of a landowner's contact, with entries, fates, counted plots and the rounds to come; nine queries, and five for
    each planting whose last round is not complete."""
    plantings = Planting.objects.for_user(person).select_related("site").prefetch_related("crew").order_by("site__code", "code")
    found = {planting.pk: LandPlanting(planting) for planting in plantings}
    _add_entries(found, person)
    order = TreeFate.values
    counts = Tree.objects.for_user(person).order_by().values_list("planting", "fate").annotate(n=Count("pk"))
    for pk, fate, count in sorted(counts, key=lambda row: order.index(row[1])):
        found[pk].fates.append((fate, count))
    visits = Observation.objects.current().for_user(person).exclude(status=NOT_VISITED).order_by()
    for pk, day in visits.values_list("tree__planting").annotate(day=Max("observed_on")):
        found[pk].visited_on = day
    _leave_out_rounds_under_way(found, person)
    _add_plots(found, person)
    for item in CensusRound.objects.for_user(person).filter(closes_on__gte=on).order_by("opens_on"):
        found[item.planting_id].rounds.append(item)
    return list(found.values())


def _leave_out_rounds_under_way(found, person):
    """Where the last round is half recorded, the fates of the last complete one: trees nobody has visited yet would read as lost."""
    parts = parts_not_complete().for_user(person).filter(sown=False).order_by("round__opens_on")
    for pk, opens_on in dict(parts.values_list("round__planting", "round__opens_on")).items():
        complete = complete_parts().filter(round__planting=pk, sown=False).select_related("round").first()
        if complete and complete.round.opens_on > opens_on:
            continue
        item = found[pk]
        item.under_way, item.complete_round = True, complete and complete.round
        if complete:
            item.fates = _fates_of_round(item.planting, complete.round_id)


def _fates_of_round(planting, round_key):
    """(fate, trees) at a round; replacements, planted since or before, at their own last record."""
    replacements = dict(planting.trees.filter(replaces__isnull=False).values_list("pk", "fate"))
    counts = Counter((fates_at(planting, round_key) | replacements).values())
    return sorted(counts.items(), key=lambda row: TreeFate.values.index(row[0]))


def _add_entries(found, person):
    """(lot code, role, how many in words) of each entry: what a landowner may know of a lot."""
    trees = dict(Tree.objects.for_user(person).order_by().values_list("entry").annotate(n=Count("pk")))
    plots = CountedPlot.objects.for_user(person).order_by().values_list("entry")
    plots = plots.annotate(n=Sum("planted_count"), all=Count("pk"), known=Count("planted_count"))
    counted = {entry: (known or 0, all_plots - known_plots) for entry, known, all_plots, known_plots in plots}
    entries = PlantingEntry.objects.for_user(person).select_related("lot", "planting")
    for entry in in_role_order(entries):
        known, unknown = counted.get(entry.pk, (0, 0))
        words = planted_words(trees.get(entry.pk, 0) + known, unknown, entry.planting.trees_left_out)
        found[entry.planting_id].entries.append((entry.lot.code, entry.get_role_display(), words))


def _add_plots(found, person):
    """(plot, planted or None where nobody knows, alive at its last count, day) of each counted plot."""
    last = {count.plot_id: count for count in PlotCount.objects.over_time().for_user(person).order_by("observed_on", "pk")}
    for plot in CountedPlot.objects.for_user(person).order_by("code"):
        count = last.get(plot.pk)
        found[plot.planting_id].plots.append(
            (plot.code, plot.planted_count, count.alive if count else None, count.observed_on if count else None)
        )


@dataclass(frozen=True, slots=True)
class LandShipment:
    """A shipment that left for a landowner: what was in it, and what no receipt accounts for yet."""

    shipment: Shipment
    lines: list
    receipts: list

    @property
    def open(self):
        return any(line.quantity > line.got for line in self.lines)


def land_shipments(person):
    """The dispatched shipments to a landowner's contact, the newest first; four queries."""
    shipments = Shipment.objects.for_user(person).filter(state=ShipmentState.DISPATCHED)
    shipments = list(shipments.prefetch_related(Prefetch("receipts", Receipt.objects.in_effect())).order_by("-dispatched_on", "code"))
    got = {}
    for line, *counts in ReceiptLine.objects.for_user(person).in_effect().values_list("line", "sound", "sprouted", "spoiled"):
        got[line] = got.get(line, 0) + sum(counts)
    lines = {}
    for line in ShipmentLine.objects.for_user(person).filter(shipment__in=shipments).select_related("lot").order_by("lot__code"):
        line.got = got.get(line.pk, 0)
        lines.setdefault(line.shipment_id, []).append(line)
    return [LandShipment(shipment, lines.get(shipment.pk, []), list(shipment.receipts.all())) for shipment in shipments]
