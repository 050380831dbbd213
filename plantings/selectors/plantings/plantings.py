"""Reads of sites and plantings: lists with their counts, where a site lies, what a planting came from."""

from dataclasses import dataclass

from django.db.models import Count, Exists, F, IntegerField, OuterRef, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils.translation import gettext

from plantings.choices import EntryRole, TreeFate
from plantings.models import CensusRound, CountedPlot, EntrySupply, Planting, PlotCount, SurvivalTally, Tree
from plantings.selectors.plantings.complete_rounds import complete_parts, parts_not_complete
from registry.access import roles
from registry.calc.shared.links import decimal_degrees, geo_address
from registry.choices import LotKind, MapPrivacy
from registry.models import Shipment
from registry.selectors.shared.local_words import local_number

__all__ = [
    "EntryLine",
    "SitePosition",
    "entry_lines",
    "entry_shipments",
    "exact_for",
    "in_role_order",
    "last_round_words",
    "planting_shipments",
    "plantings_listed",
    "site_position",
    "tree_point_words",
    "sites_listed",
]

LEFT_OFF = "The partner asked that this place be left off shared maps. No position is shown."
STANDING = (TreeFate.ALIVE, TreeFate.RESPROUT)


def _count(queryset, by):
    """How many rows of `queryset` belong to the outer row: a sub-query, so that counts never multiply each other."""
    counted = queryset.filter(**{by: OuterRef("pk")}).order_by().values(by).annotate(n=Count("pk")).values("n")
    return Coalesce(Subquery(counted, output_field=IntegerField()), 0)


def sites_listed(queryset, user):
    """Sites with their partner and `plantings_count`: the plantings this person may see."""
    return queryset.select_related("partner").defer("boundary").annotate(plantings_count=_count(Planting.objects.for_user(user), "site"))


def plantings_listed(queryset):
    """Plantings with site and partner, `trees_count`, `planted_count`, `last_round` and whether it is `last_not_complete`; alive at the
    last complete round, `alive_count` and `sown_alive_count`; `unknown_plots`, whose number planted is unknown, are in none of these.

    Planted trees are those of lots of plants, tagged or counted, and the replacements; the others grew from seed sown in place. None
    where no census is complete yet.
    """
    tallied, apart = SurvivalTally.objects.filter(round=OuterRef("pk")), PlotCount.objects.current().filter(round=OuterRef("pk"))
    recorded = Exists(tallied) | Exists(apart.filter(plot__planted_count__isnull=True))
    last = CensusRound.objects.filter(recorded, planting=OuterRef("pk")).order_by("-opens_on")
    counted = EntrySupply.objects.filter(entry__planting=OuterRef("pk")).order_by().values("entry__planting").annotate(n=Sum("count"))
    return (
        queryset.select_related("site__partner")
        .defer("site__boundary")
        .annotate(
            trees_count=_count(Tree.objects.all(), "planting"),
            counted_trees=_last_complete(sown=False),
            counted_sown=_last_complete(sown=True),
            replacements_alive=_count(Tree.objects.filter(replaces__gt=0, fate__in=STANDING), "planting"),
            alive_count=_alive_at("counted_trees", LotKind.STOCK) + F("replacements_alive"),
            sown_alive_count=_alive_at("counted_sown", LotKind.SEED),
            planted_count=Coalesce(Subquery(counted.values("n"), output_field=IntegerField()), 0),
            unknown_plots=_count(CountedPlot.objects.unknown(), "planting"),
            last_round=Subquery(last.values("label")[:1]),
            last_key=Subquery(last.values("pk")[:1]),
            last_not_complete=Exists(parts_not_complete().filter(round=OuterRef("last_key"))),
        )
    )


def last_round_words(planting):
    """The last round with records of a planting listed, marked where the counts beside it are those of an earlier one."""
    if planting.last_not_complete:
        return gettext("%(round)s, not complete") % {"round": planting.last_round}
    return planting.last_round or ""


def _last_complete(sown):
    """The last complete round of a planting: one half recorded would read as mostly dead."""
    return Subquery(complete_parts().filter(round__planting=OuterRef("pk"), sown=sown).values("round")[:1])


def _alive_at(round_key, kind):
    """How many plants of lots of one kind lived at a round."""
    tallies = SurvivalTally.objects.filter(round=OuterRef(round_key), entry__lot__kind=kind).order_by().values("round")
    return Subquery(tallies.annotate(n=Sum("alive")).values("n"), output_field=IntegerField())


@dataclass(frozen=True, slots=True)
class SitePosition:
    """Where a site lies, as one person may know it. `note` says what was generalised."""

    longitude: float | None
    latitude: float | None
    exact: bool
    note: str = ""

    @property
    def words(self):
        if self.longitude is None:
            return ""
        places = 5 if self.exact else 2
        north = gettext("N") if self.latitude >= 0 else gettext("S")
        east = gettext("E") if self.longitude >= 0 else gettext("W")
        latitude, longitude = (local_number(f"{abs(degrees):.{places}f}") for degrees in (self.latitude, self.longitude))
        return f"{latitude}° {north}, {longitude}° {east}"

    @property
    def geo(self):
        """The address that opens it in the map of a phone; none for a generalised place, where nobody should go."""
        return geo_address(self.longitude, self.latitude) if self.exact and self.longitude is not None else ""

    @property
    def decimal(self):
        """To be copied into a map program; "" for a generalised place."""
        return decimal_degrees(self.longitude, self.latitude) if self.geo else ""


def exact_for(user):
    """True for those who see exact positions of the sites in their scope: map roles, the crew, the landowner."""
    return user.may("map.exact") or user.role in roles.OWN_ROWS_ONLY


def site_position(site, *, exact):
    """The position of a site, exact or generalised; whom it is exact for, `exact_for` says."""
    from plantings.calc.sites.geometry import generalise_point

    if site.longitude is None or exact:
        return SitePosition(site.longitude, site.latitude, exact=True)
    if site.partner.map_privacy == MapPrivacy.HIDDEN:
        return SitePosition(None, None, exact=False, note=LEFT_OFF)
    blurred = generalise_point(site.longitude, site.latitude)
    return SitePosition(blurred.lon, blurred.lat, exact=False, note=blurred.statement)


def tree_point_words(tree):
    """The point of a tree with its accuracy, for somebody who sees the exact place of its site; "" without one."""
    place = SitePosition(tree.longitude, tree.latitude, exact=True).words
    if not place or tree.accuracy_m is None:
        return place
    return gettext("%(place)s, within %(metres)s m") % {"place": place, "metres": local_number(f"{tree.accuracy_m:g}")}


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One entry of a planting: how many were planted, besides plots of an unknown number, and the words of its supply."""

    entry: object
    trees: int
    counted: int
    unknown_plots: int
    supplies: tuple

    @property
    def planted(self):
        return self.trees + self.counted

    @property
    def trees_left_out(self):
        return self.entry.planting.trees_left_out


def entry_lines(planting):
    """The entries of a planting with what was planted of them and where it came from. Four queries."""
    entries = in_role_order(planting.entries.select_related("lot"))
    trees = dict(planting.trees.order_by().values_list("entry").annotate(n=Count("pk")))
    plots = (
        planting.counted_plots.order_by()
        .values_list("entry")
        .annotate(n=Sum("planted_count"), all=Count("pk"), known=Count("planted_count"))
    )
    counted = {entry: (known or 0, all_plots - known_plots) for entry, known, all_plots, known_plots in plots}
    supplies = {}
    for supply in EntrySupply.objects.filter(entry__planting=planting).select_related("shipment_line__shipment").order_by("pk"):
        words = _supply_words(supply)
        counts = supplies.setdefault(supply.entry_id, {})
        counts[words] = counts.get(words, 0) + supply.count
    return [
        EntryLine(entry, trees.get(entry.pk, 0), *counted.get(entry.pk, (0, 0)), tuple(supplies.get(entry.pk, {}).items()))
        for entry in entries
    ]


def in_role_order(entries):
    """Entries as a design is read: test, check, buffer, filler, and by lot within each."""
    roles_in_order = EntryRole.values
    return sorted(entries, key=lambda entry: (roles_in_order.index(entry.role), entry.lot.code))


def _supply_words(supply):
    if supply.shipment_line_id:
        return gettext("shipment %(code)s") % {"code": supply.shipment_line.shipment.code}
    return gettext("the lot's own ledger") if supply.ledger_entry_id else gettext("before these records")


def planting_shipments(planting, user):
    shipments = Shipment.objects.for_user(user).filter(lines__supplies__entry__planting=planting)
    return shipments.distinct().order_by("dispatched_on", "code")


def entry_shipments(entry, user):
    """The shipments an entry was planted from; which of them one tree came from is not known."""
    return Shipment.objects.for_user(user).filter(lines__supplies__entry=entry).distinct().order_by("dispatched_on", "code")
