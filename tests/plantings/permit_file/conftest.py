"""The scenes of the permit file, for every test file in this folder."""

import pytest
from django.utils import timezone

from registry.compliance.gate.words import DISPATCH
from registry.models import Requirement
from registry.services.movements.shipments import shipment_dispatch
from registry.services.permits.authorizations import document_add
from tests import factories
from tests.plantings.permit_file.permit_scene import DAY, Scene


@pytest.fixture
def scene():
    return Scene()


@pytest.fixture
def gated(scene):
    """A rule for the one lot; a shipment released on the permit, which drew 30 for that lot alone, and its planting."""
    today = timezone.localdate()
    document_add(actor=scene.lead, paper=scene.paper, content=b"%PDF-1.7 the permit", filename="permit.pdf", title="The permit")
    scene.lot.declared_classes.create(code="test", title="Test material", rule="declared")
    Requirement.objects.create(
        code="R1", edition="2026", title="A permit to ship", source="invented", activities=[DISPATCH, "establish"], classes=["test"],
        any_of=[["permit"]],
    )  # fmt: skip
    scene.new = factories.shipment(
        actor=scene.lead, code="SH-2", receiver=scene.owner, receiving_person="R. Ceiver", done_by=["A. Holder"],
        lots=[(scene.lot, "bareroot", 30), (scene.native, "bareroot", 8)],
    )  # fmt: skip
    shipment_dispatch(actor=scene.lead, shipment=scene.new, on=today - 9 * DAY)
    return scene
