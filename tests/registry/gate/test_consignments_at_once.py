"""A certificate for one consignment is used up by one of two shipments that leave at the same moment."""

import pytest
from django.core.exceptions import ValidationError

from registry.models import Shipment
from registry.services.movements.shipments import shipment_dispatch
from tests import factories
from tests.project.test_concurrency import at_once
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db(transaction=True)


def test_of_two_shipments_at_once_one_uses_the_certificate():
    lead = factories.person("lead")
    rule(any_of=[["certificate"]])
    permit(lead, type="certificate", one_consignment=True)
    first = hybrid_lot(lead)
    lots = [first, *(factories.seed_lot(actor=lead, seeds=2000, mother=first.mother) for _ in range(5))]
    shipments = [draft(lead, lot) for lot in lots]

    def send(shipment):
        try:
            shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
        except ValidationError as error:
            return " ".join(error.messages)
        return ""

    refused = [words for words in at_once(send, shipments) if words]
    assert Shipment.objects.filter(state="dispatched").count() == 1
    assert len(refused) == 5 and all("one for this consignment" in words for words in refused)
