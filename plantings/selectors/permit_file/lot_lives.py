"""Where lots came from: their parents, their harvest and the lots between."""

from collections import defaultdict
from typing import NamedTuple

from django.db.models import Sum

from registry.calc.shared.screen import amount_words
from registry.choices import LedgerKind, LotOrigin
from registry.models import (
    LedgerEntry,
    Lot,
    LotComponent,
)  # fmt: skip

__all__ = ["LotLife", "lot_lives"]


class LotLife(NamedTuple):
    """A lot under the paper: the words of its descent, and what became of it before it left."""

    lot: Lot
    parents: str
    harvest: str
    way: str
    gained: int
    destroyed: int


def lot_lives(lots):
    """{key of a lot: LotLife}: all lots are read at once, since an origin may lie several lots back. Three queries."""
    known = {lot.pk: lot for lot in Lot.objects.select_related("taxon", "mother", "father", "pollen_pool")}
    parts = defaultdict(list)
    for bulk, component in LotComponent.objects.order_by("component__code").values_list("bulk", "component"):
        parts[bulk].append(component)
    kinds = (LedgerKind.HARVESTED, LedgerKind.ACQUIRED, LedgerKind.RAISED, LedgerKind.DESTROYED)
    sums = defaultdict(lambda: defaultdict(int))
    for lot, kind, quantity in LedgerEntry.objects.filter(kind__in=kinds).order_by().values_list("lot", "kind").annotate(n=Sum("quantity")):
        sums[lot][kind] += quantity
    return {pk: _life(pk, known, parts, sums) for pk in lots}


def _life(pk, known, parts, sums):
    lot, way, seen = known[pk], [], {pk}
    while lot.parent_id and lot.parent_id not in seen:
        seen.add(lot.parent_id)
        way.append(lot)
        lot = known[lot.parent_id]
    parents, harvest = _begin(lot, known, parts)
    made = sums[pk]
    gained = sum(made[kind] for kind in (LedgerKind.HARVESTED, LedgerKind.ACQUIRED, LedgerKind.RAISED))
    return LotLife(
        known[pk], parents, harvest, " → ".join(_step(step) for step in reversed(way)), gained, -made[LedgerKind.DESTROYED]
    )  # fmt: skip


def _step(lot):
    return f"{lot.code} ({lot.get_origin_display()}{f', {lot.year}' if lot.year else ''})"


def _begin(lot, known, parts):
    """(mother × father, harvest) of the lot at the beginning."""
    if lot.origin == LotOrigin.HARVEST:
        father = lot.father.code if lot.father_id else f"pool {lot.pollen_pool.code}" if lot.pollen_pool_id else "father not recorded"
        return f"{lot.mother.code} × {father}", f"{lot.year}, lot {lot.code}"
    if lot.origin == LotOrigin.BULK:
        named = [_component(known[part], known, parts) for part in parts[lot.pk] if part != lot.pk]
        return f"bulk of {amount_words(len(named), 'lots')}, the mother of a tree is unknown: {', '.join(named)}", f"bulk {lot.code}"
    return lot.outside_origin, f"from outside, lot {lot.code}"


def _component(lot, known, parts):
    return lot.code if lot.origin == LotOrigin.BULK else f"{lot.code} ({_begin(lot, known, parts)[0]})"
