"""A sheet of shipments and the gate: it dispatches what may go, and says where the rest is decided."""

import pytest
from django.utils import timezone

from registry.imports.movements.shipments import ShipmentSheet
from registry.models import MaterialClass, Requirement, Shipment
from tests import factories
from tests.registry.sheets.sheet_help import load, refused

pytestmark = pytest.mark.django_db

SHIPMENT = "Shipment,Receiver (partner),Dispatched on,Person who receives it,Leaves from (ISO 3166),Lot,Form,Quantity (seeds or plants)\n"


def test_a_sheet_cannot_dispatch_against_a_stop():
    donor = factories.taxon(name="Juglans ailantifolia", role="donor")
    father = factories.pedigree_tree(taxon=donor, generation_other="donor")
    lot = factories.seed_lot(seeds=2000, mother=factories.pedigree_tree(father=father))
    MaterialClass.objects.create(code="hybrid", title="Hybrid of a donor", rule="donor_ancestry")
    Requirement.objects.create(
        code="EX-R1", edition="2026", title="Hybrids into Vermont", source="invented for this test", activities=["dispatch"],
        classes=["hybrid"], destinations=["US-VT"], any_of=[["permit"]], verified_on=factories.day(2026, 1, 1), verified_with="office",
        verified_by="us",
    )  # fmt: skip
    receiver, today = factories.partner(kind="nursery", region="US-VT"), timezone.localdate().isoformat()
    row = f"SH-9,{receiver.code},{today},A. Receiver,US-VT,{lot.code},seed,100\n"
    [problem] = refused(ShipmentSheet, SHIPMENT + row)
    assert problem.startswith(f"row 2, column 'Dispatched on': '{today}' Shipment SH-9 is stopped. ")
    assert "Hybrids into Vermont" in problem and "Give the reason in a sentence" not in problem
    assert problem.endswith("leave “Dispatched on” blank to load it as a draft, and dispatch it on its page, where the lead can decide.")
    assert not Shipment.objects.exists()
    load(ShipmentSheet, SHIPMENT + row.replace(today, ""))
    assert Shipment.objects.get(code="SH-9").state == "draft"


def test_a_line_on_file_keeps_a_quantity_that_the_sheet_does_not_give():
    lot, receiver = factories.seed_lot(seeds=2000), factories.partner(kind="nursery", region="US-VT")
    row = f"SH-9,{receiver.code},,A. Receiver,US-VT,{lot.code},seed,100\n"
    load(ShipmentSheet, SHIPMENT + row)
    load(ShipmentSheet, SHIPMENT + row.replace("A. Receiver", "B. Receiver").replace("100", ""), reason="another person")
    without = SHIPMENT.replace(",Quantity (seeds or plants)", ""), row.replace("A. Receiver", "C. Receiver").replace(",100", "")
    load(ShipmentSheet, "".join(without), reason="another person")
    shipment = Shipment.objects.get(code="SH-9")
    assert [line.quantity for line in shipment.lines.all()] == [100] and shipment.receiving_person == "C. Receiver"
