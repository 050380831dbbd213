"""Before a destruction or a removal of flowers the gate shows the conditions of every paper the trees went under."""

import pytest
from django.urls import reverse

from plantings.models import PlantingEntry
from plantings.services.plantings import planting_establish
from registry.models import Authorization
from registry.services.movements.shipments import shipment_dispatch, shipment_line_set
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


def ask(client, **values):
    return client.post(reverse("determination_ask"), {"activity": "destroy", "on": "2026-04-06"} | values)


def read_first(page):
    return [paper.code for paper, _conditions in page.context.get("conditions", [])]


def test_before_a_destruction_the_conditions_of_its_papers_are_shown(client, lead):
    rule()
    permit(lead, code="P-1", cap_quantity=500, cap_unit="seeds", conditions="The office is told before a tree is destroyed.")
    permit(lead, code="P-2", limits={"destinations": ["US-NY"]}, conditions="Other conditions.")
    lot = hybrid_lot(lead)
    shipment = draft(lead, lot)
    shipment_line_set(actor=lead, shipment=shipment, lot=lot, form="seed", quantity=100, draw_on=["P-1"])
    shipment.authorizations.add(Authorization.objects.get(code="P-1"))
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    client.force_login(lead)
    text = ask(client, lots=lot.code).content.decode()
    assert "Read the conditions first" in text and "The office is told before a tree is destroyed." in text
    assert "Other conditions." not in text
    assert "Read the conditions first" not in ask(client, activity="hold", lots=lot.code).content.decode()


def test_the_conditions_of_a_paper_without_a_cap_are_shown(client, lead):
    rule()
    permit(lead, code="P-ALL", conditions="The office is told before a tree is destroyed.")
    lot = hybrid_lot(lead)
    shipment_dispatch(actor=lead, shipment=draft(lead, lot), on=DAY)
    client.force_login(lead)
    assert read_first(ask(client, lots=lot.code)) == ["P-ALL"]
    assert read_first(ask(client, lots=factories.seed_lot(actor=lead, seeds=5).code)) == []


def test_the_conditions_of_the_seed_the_plants_come_from_are_shown(client, lead):
    rule()
    permit(lead, code="P-SEED", conditions="Nothing raised from it is given away.")
    seed = hybrid_lot(lead)
    shipment_dispatch(actor=lead, shipment=draft(lead, seed), on=DAY)
    plants = factories.stock_lot(origin="sown", parent=seed, outside_origin="", taxon=seed.taxon)
    client.force_login(lead)
    assert read_first(ask(client, lots=plants.code)) == ["P-SEED"]


def test_of_a_site_the_conditions_of_all_that_is_planted_there_are_shown(client, lead):
    rule(activities=["establish"])
    permit(lead, code="P-PLANT", limits={"activities": ["establish"]}, conditions="Stumps are treated.")
    by_hand = permit(lead, code="P-HAND", type="notification", conditions="The office is told within 5 days.")
    owner = factories.partner(region="US-VT")
    permit(
        lead,
        code="AGR",
        type="landowner",
        partner=owner,
        limits={"destinations": [], "activities": ["establish", "destroy", "flower_removal"]},
        conditions="Brush is not left on the trail.",
    )
    planting = factories.planting(site=factories.site(partner=owner, jurisdiction="US-VT"), state="planned", planted_on=None)
    planting.authorizations.add(by_hand)
    PlantingEntry.objects.create(planting=planting, lot=hybrid_lot(lead))
    planting_establish(actor=lead, planting=planting, on=DAY)
    client.force_login(lead)
    assert read_first(ask(client, site=planting.site.code)) == ["AGR", "P-HAND", "P-PLANT"]
    assert read_first(ask(client, activity="flower_removal", site=planting.site.code)) == ["AGR", "P-HAND", "P-PLANT"]
    assert read_first(ask(client, activity="census_visit", site=planting.site.code)) == []


def test_papers_about_another_place_are_left_out(client, lead):
    rule(destinations=[])
    here, there = factories.partner(region="US-VT"), factories.partner(region="US-NY")
    for code, owner in (("AGR-VT", here), ("AGR-NY", there)):
        permit(lead, code=code, type="landowner", partner=owner, limits={"destinations": []}, conditions="The owner is told.")
    permit(lead, code="P-VT", conditions="The office in Vermont is told.")
    permit(lead, code="P-NY", limits={"destinations": ["US-NY"]}, conditions="The office in New York is told.")
    lot = hybrid_lot(lead)
    for owner in (here, there):
        shipment = draft(lead, lot, receiver=owner)
        shipment.authorizations.set(Authorization.objects.filter(code__endswith=owner.region[-2:]))
        shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    site = factories.site(partner=here, jurisdiction="US-VT")
    client.force_login(lead)
    assert read_first(ask(client, lots=lot.code, site=site.code)) == ["AGR-VT", "P-VT"]
    assert read_first(ask(client, lots=lot.code)) == ["AGR-NY", "AGR-VT", "P-NY", "P-VT"]
