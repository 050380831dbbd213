"""Who acts and who holds the paper, from the records: the boxes of shipments and plantings, land that was sold."""

from datetime import date

import pytest
from django.urls import reverse

from plantings.selectors.gate.facts import planting_question
from registry.models import ProgrammeSetting
from registry.selectors.gate.determinations import gate_ask, shipment_answer
from registry.selectors.gate.questions import shipment_question
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def programme():
    return ProgrammeSetting.objects.create(key="name", value="Example Butternut Programme", set_on=DAY)


def test_a_permit_of_another_body_stops_a_shipment(lead, programme):
    rule()
    permit(lead, holder_body="Other Nursery")
    assert shipment_answer(draft(lead, hybrid_lot(lead)), DAY).verdict == "stop"


def test_the_box_for_who_sends_it_lets_a_paper_cover_that_names_people(client, lead, programme):
    rule()
    permit(lead, limits={"people": ["Ada Person"]})
    shipment = draft(lead, hybrid_lot(lead))
    assert shipment_answer(shipment, DAY).verdict == "stop"
    client.force_login(lead)
    form = client.get(reverse("shipment_edit", args=[shipment.pk])).context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "", [])}
    saved = client.post(reverse("shipment_edit", args=[shipment.pk]), data | {"done_by": "Ada Person"})
    assert saved.status_code == 302, saved.context["form"].errors
    shipment.refresh_from_db()
    assert shipment.done_by == ["Ada Person"] and shipment_question(shipment, DAY).people == ("Ada Person",)
    assert shipment_answer(shipment, DAY).verdict == "covered"
    assert "Ada Person" in client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode()


def test_the_box_for_who_plants_is_part_of_the_question(client, lead):
    planting = factories.planting(state="planned", planted_on=None)
    client.force_login(lead)
    form = client.get(reverse("planting_edit", args=[planting.pk])).context["form"]
    data = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "", [])}
    saved = client.post(reverse("planting_edit", args=[planting.pk]), data | {"done_by": "Ada Person, Ben Other"})
    assert saved.status_code == 302, saved.context["form"].errors
    planting.refresh_from_db()
    assert planting_question(planting, DAY).people == ("Ada Person", "Ben Other")


def test_an_agreement_of_the_former_owner_covers_no_sold_land(lead):
    before, now = factories.partner(region="US-VT"), factories.partner(region="US-VT")
    site = factories.site(partner=before, jurisdiction="US-VT")
    permit(lead, type="landowner", partner=before, limits={"destinations": [], "sites": [site.code]})
    planting = factories.planting(site=site, state="planned", planted_on=None)

    def landowner():
        found = gate_ask(planting_question(planting, date(2026, 4, 6))).answer.findings
        return next(one.status for one in found if one.kind == "landowner")

    assert landowner() == "met"
    site.partner = now
    site.save()
    planting.site.refresh_from_db()
    assert landowner() == "missing"
