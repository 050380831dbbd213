"""The records that `verify` looks at, for every test file in this folder."""

import pytest
from django.utils import timezone

from registry.compliance.gate.words import DISPATCH
from registry.models import (
    Requirement,
)
from registry.services.gate.draws import draw
from registry.services.identity.questions import question_raise
from registry.services.movements.shipments import shipment_dispatch
from registry.services.permits.authorizations import authorization_save, authorization_state_set, document_add
from tests import factories


@pytest.fixture
def records():
    """A paper with an amendment, two states, a document and a draw; a shipment released by the gate; a question of identity."""
    lead = factories.person("lead")
    paper = factories.authorization(actor=lead, cap_quantity=100, cap_unit="plants", state="applied", starts_on=factories.day(2025))
    paper.cap_quantity = 120
    authorization_save(actor=lead, paper=paper, from_on=factories.day(2026, 1), reason="cap raised")
    authorization_state_set(actor=lead, paper=paper, state="in_force", on=factories.day(2026, 2))
    document = document_add(actor=lead, paper=paper, content=b"%PDF-1.7 permit", filename="permit.pdf", title="Permit")
    Requirement.objects.create(
        code="R1", edition="2026", title="A permit to ship", source="invented", activities=[DISPATCH], any_of=[["permit"]]
    )
    lot = factories.stock_lot(actor=lead, plants=50)
    shipment = factories.shipment(actor=lead, lots=[(lot, "bareroot", 20)], receiver=factories.partner(kind="nursery"))
    shipment_dispatch(actor=lead, shipment=shipment, on=timezone.localdate(), override_reason="the receiver is named by telephone")
    draw(actor=lead, paper=paper, kind="planted", lot=lot, quantity=5, on=timezone.localdate(), subject="PL-1")
    question_raise(actor=lead, about=lot, raised_on=factories.day(2020), reason="label lost")
    return {"lead": lead, "paper": paper, "document": document, "lot": lot, "shipment": shipment}
