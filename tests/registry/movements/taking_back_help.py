"""A shipment of 20 plants, what came of it and what was left over."""

from plantings.services.supply import leftover_enter
from registry.services.movements.shipments import receipt_enter
from tests import factories

LEFT, CAME = factories.day(2019, 4, 1), factories.day(2019, 4, 3)


def sent(actor, count=20, **fields):
    lot = factories.stock_lot(actor=actor, plants=50, code="P19")
    return factories.shipment(actor=actor, code="SH-1", lots=[(lot, "bareroot", count)], dispatched_on=LEFT, **fields)


def came(actor, shipment, sound, spoiled=0, on=CAME):
    return receipt_enter(
        actor=actor, shipment=shipment, received_on=on, received_by="A. Receiver", box_condition="good",
        counts={shipment.lines.get(): (sound, 0, spoiled)},
    )  # fmt: skip


def left(actor, shipment, outcome, count=4, on=CAME):
    return leftover_enter(actor=actor, line=shipment.lines.get(), outcome=outcome, count=count, on=on)
