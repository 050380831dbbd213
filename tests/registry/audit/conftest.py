"""The records that `verify` looks at, the site that is backed up and the places it is restored in, for every test file in this folder."""

import pytest
from django.db import connection
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
from tests.registry.audit.backup_places import PDF, place


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


@pytest.fixture
def own_folder(settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path / "site", str(tmp_path / "site" / "files")
    settings.DATA_DIR.mkdir()
    (settings.DATA_DIR / "secret.key").write_text("the key of the site that was backed up")


@pytest.fixture
def site(own_folder):
    """A lot with a ledger, a paper with a document, a planting with a census."""
    lead = factories.person("lead", username="anna")
    document_add(actor=lead, paper=factories.authorization(actor=lead), content=PDF, filename="permit.pdf", title="Permit")
    planting = factories.planting()
    trees, census_round = factories.trees(planting, count=4, actor=lead), factories.census_round(planting)
    factories.observe(census_round, dict.fromkeys(trees, "A"), height_cm=120)
    return lead


@pytest.fixture
def empty_place(tmp_path):
    """Nothing is there, so that on PostgreSQL a restore makes the tables by migrations."""
    with place(tmp_path / "elsewhere") as made:
        yield made


@pytest.fixture
def place_with_tables(tmp_path):
    """On PostgreSQL with the tables of the newest version, for tests of what comes after them. Asked for before `site`: no records yet."""
    with place(tmp_path / "elsewhere", template=connection.settings_dict["NAME"]) as made:
        yield made
