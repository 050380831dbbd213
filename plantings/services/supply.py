"""Where planted material comes from: planted ≤ received ≤ shipped, and every leftover accounted for."""

from django.core.exceptions import ValidationError
from django.db.models import F, Sum
from django.utils import timezone

from plantings.choices import Supply
from plantings.models import EntrySupply
from registry.choices import LedgerKind, LeftoverOutcome, ShipmentState
from registry.models import Leftover, ShipmentLine
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.lots.ledger import ledger_enter
from registry.services.shared.past_day import known_day

__all__ = ["leftover_enter", "line_unplanted", "supply_draw"]

_LEDGER_NEEDS_DAY = (
    "What is planted from own stock leaves the ledger of its lot on a day. Give the day of planting; or, if it was planted before these "
    "records began, choose that as its supply."
)


def line_unplanted(line):
    """Usable plants or seeds of a shipment line that were received and neither planted nor reported as leftover."""
    usable = line.receipt_lines.in_effect().aggregate(n=Sum(F("sound") + F("sprouted")))["n"] or 0
    planted = line.supplies.aggregate(n=Sum("count"))["n"] or 0
    left = line.leftovers.in_effect().exclude(outcome=LeftoverOutcome.HELD).aggregate(n=Sum("count"))["n"] or 0
    return usable - planted - left


@write
def supply_draw(*, actor, entry, count, on):
    """Account for `count` planted seeds or plants of an entry, by the supply its planting declares."""
    supply = entry.planting.supply
    if supply == Supply.BEFORE_RECORDS:
        return [EntrySupply.objects.create(entry=entry, count=count, before_records=True)]
    if supply == Supply.OWN_STOCK:
        day = known_day(on, _LEDGER_NEEDS_DAY)
        line = ledger_enter(
            actor=actor, lot=entry.lot, kind=LedgerKind.PLANTED, quantity=count, on=day, reason=f"planting {entry.planting.code}"
        )
        return [EntrySupply.objects.create(entry=entry, count=count, ledger_entry=line)]
    return _draw_received(entry, count)


def _draw_received(entry, count):
    partner = entry.planting.site.partner
    lines = ShipmentLine.objects.select_for_update().filter(
        lot=entry.lot, shipment__receiver=partner, shipment__state=ShipmentState.DISPATCHED
    )
    drawn, wanted = [], count
    for line in lines.order_by("shipment__dispatched_on", "id"):
        take = min(wanted, line_unplanted(line))
        if take > 0:
            drawn.append(EntrySupply.objects.create(entry=entry, count=take, shipment_line=line))
            wanted -= take
        if not wanted:
            return drawn
    raise ValidationError(
        f"Lot {entry.lot.code}: {count} to plant in {entry.planting.code}, but {partner.name} has received only "
        f"{count - wanted} usable that are not planted yet. Enter the shipment and its receipt first, or correct the count."
    )


@write
def leftover_enter(*, actor, line, outcome, count, on, note=""):
    """Record what was not planted. What came back is in the lot's ledger again."""
    line = ShipmentLine.objects.select_for_update().select_related("lot", "shipment").get(pk=line.pk)
    room = line_unplanted(line)
    if count > room:
        raise ValidationError(
            {
                "count": f"Lot {line.lot.code} of shipment {line.shipment.code}: "
                f"only {room} were received and are neither planted nor reported."
            }
        )
    leftover = Leftover(line=line, outcome=outcome, count=count, on=on, note=note, entered_by=actor, entered_at=timezone.now())
    leftover.full_clean()
    leftover.save()
    if outcome == LeftoverOutcome.RETURNED:
        ledger_enter(
            actor=actor, lot=line.lot, kind=LedgerKind.RECEIVED_BACK, quantity=count, on=on,
            shipment_line=line, reason=f"leftover of shipment {line.shipment.code}",
        )  # fmt: skip
    audit_record(actor=actor, verb="leftover.added", obj=leftover)
    return leftover
