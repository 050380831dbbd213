"""How the material of lots was treated: the treatments of a lot, and those that the lots it was made of had had before it left them."""

from collections import defaultdict
from datetime import date
from typing import NamedTuple

from django.db.models import Max

from registry.calc.shared.part_dates import last_day
from registry.choices import LedgerKind
from registry.models import LedgerEntry, Lot, LotComponent, Treatment

__all__ = ["Treated", "lots_behind", "treatments_behind"]

_LEAVES_BY = (LedgerKind.SOWN, LedgerKind.SPLIT_OUT, LedgerKind.BULKED_OUT)


class Treated(NamedTuple):
    """A treatment, the code and the kind of the lot it was given to, and whether it was surely given before the material left that lot:
    of a month or a year nobody knows where the material left in it."""

    treatment: Treatment
    lot: str
    kind: str
    is_sure: bool = True


def treatments_behind(lots):
    """{lot's key: its Treated, its own first, then those of the lots it was made of, the nearest first}.

    Of entries with the same kind and first day the later one completes and replaces the earlier. What was done to a lot after the last
    day on which it gave something to the next is left out; what may have been is marked. Five queries, whatever the number of lots.
    """
    made_of = _made_of()
    lines = {lot.pk: _makers(lot.pk, made_of) for lot in lots}
    keys = {pk for line in lines.values() for pk in line}
    named = {pk: (code, kind) for pk, code, kind in Lot.objects.filter(pk__in=keys).order_by().values_list("pk", "code", "kind")}
    given = _last_given({maker for line in lines.values() for maker, into in line.items() if into})
    newest = {}
    for treatment in Treatment.objects.filter(lot__in=keys).order_by("started_on", "id"):
        newest[treatment.lot_id, treatment.kind, treatment.started_on] = treatment
    by_lot = defaultdict(list)
    for treatment in newest.values():
        by_lot[treatment.lot_id].append(treatment)
    return {
        pk: [
            Treated(treatment, *named[maker], into is None or last_day(treatment.started_on) <= given.get((maker, into), date.max))
            for maker, into in line.items()
            for treatment in by_lot[maker]
            if into is None or treatment.started_on <= given.get((maker, into), treatment.started_on)
        ]
        for pk, line in lines.items()
    }


def lots_behind(lots):
    """Keys of lots by their keys, with those of all they were raised, split or bulked from. Two queries, whatever their number."""
    made_of = _made_of()
    return {maker for lot in lots for maker in _makers(lot, made_of)}


def _made_of():
    """{lot's key: keys of the lots it was raised, split or bulked from}."""
    made_of = defaultdict(list)
    for lot, parent in Lot.objects.filter(parent__isnull=False).order_by().values_list("pk", "parent"):
        made_of[lot].append(parent)
    for bulk, component in LotComponent.objects.order_by().values_list("bulk", "component"):
        made_of[bulk].append(component)
    return made_of


def _makers(lot, made_of):
    """{key of the lot or of one it was made of: key of the next lot it went into}, the nearest first; None for the lot itself."""
    line, wave = {lot: None}, [lot]
    while wave:
        found = [(maker, into) for into in wave for maker in made_of.get(into, ()) if maker not in line]
        line.update(found)
        wave = list(dict(found))
    return line


def _last_given(makers):
    """{(lot, the lot it went into): the last day on which it gave something to it}."""
    entries = LedgerEntry.objects.in_effect().filter(lot__in=makers, kind__in=_LEAVES_BY, counterpart__isnull=False).order_by()
    rows = entries.values_list("lot", "counterpart").annotate(last=Max("on"))
    return {(lot, into): last for lot, into, last in rows}
