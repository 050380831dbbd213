"""The plantings and lots a person may see, as plain rows for programs."""

from collections import defaultdict

from plantings.models import Planting, PlantingEntry
from registry.models import Lot
from registry.selectors.pedigree.lineage import lot_lineages

__all__ = ["lots_counted", "lots_in_scope", "plantings_counted", "plantings_in_scope"]


def plantings_counted(user):
    return Planting.objects.for_user(user).count()


def plantings_in_scope(user, start, stop):
    """[{code, site, state, …, entries: [(lot, role)]}] from `start` to `stop`, by code; entries for who may see the lot of a tree."""
    names = ("pk", "code", "site__code", "state", "planted_on", "design", "spacing_m")
    found = list(Planting.objects.for_user(user).order_by("code").values_list(*names)[start:stop])
    entries = defaultdict(list)
    if user.may("tree.lot"):
        rows = PlantingEntry.objects.for_user(user).filter(planting__in=[row[0] for row in found]).order_by("lot__code", "role")
        for planting, lot, role in rows.values_list("planting", "lot__code", "role"):
            entries[planting].append((lot, role))
    fields = ("code", "site", "state", "planted_on", "design", "spacing_m")
    return [dict(zip(fields, rest, strict=True)) | {"entries": entries[pk]} for pk, *rest in found]


def lots_counted(user):
    return Lot.objects.for_user(user).count()


def lots_in_scope(user, start, stop):
    """[{code, kind, taxon, year, mother, family, source, line, generation}] from `start` to `stop`, by code."""
    lots = list(Lot.objects.for_user(user).select_related("taxon").order_by("code")[start:stop])
    lineages = lot_lineages(lots)
    levels = ("mother", "family", "source", "line", "generation")
    return [
        {"code": lot.code, "kind": lot.kind, "taxon": lot.taxon.name, "year": lot.year}
        | {level: getattr(lineages[lot.pk], level) for level in levels}
        for lot in lots
    ]
