"""Every place a shipment or planting touches: what is not known of a site or of who takes it in counts for the rules."""

import pytest
from django.urls import reverse

from plantings.selectors.gate.facts import planting_question
from plantings.services.sites import site_save
from registry.models import Shipment
from registry.selectors.gate.determinations import gate_ask, shipment_answer
from tests import factories
from tests.registry.gate.gate_records import DAY, permit, rule

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def rules():
    """A rule for each of two states of the United States and a province of Canada."""
    return [rule(code=f"EX-{code}", title=f"Into {code}", classes=[], destinations=[code]) for code in ("US-VT", "US-NY", "CA-ON")]


def into(answer):
    return {finding.title.removeprefix("Into ") for finding in answer.findings if finding.kind == "requirement"}


def sent(lead, receiver, site_code=""):
    lot = factories.seed_lot(actor=lead, seeds=10)
    shipment = factories.shipment(
        actor=lead, lots=[(lot, "seed", 10)], receiver=receiver, receiving_person="A. Receiver", site_code=site_code
    )
    return shipment_answer(shipment, DAY)


def test_a_site_without_a_place_is_not_in_the_state_of_its_owner(lead, rules):
    owner = factories.partner(region="US-VT")
    site = factories.site(partner=owner, longitude=None, latitude=None)
    assert into(sent(lead, owner, site.code)) == {"US-VT", "US-NY"}
    planting = factories.planting(site=site, state="planned", planted_on=None)
    for one in rules:
        one.activities = ["establish"]
        one.save()
    assert into(gate_ask(planting_question(planting, DAY)).answer) == {"US-VT", "US-NY"}
    assert planting_question(planting, DAY).destination.code == "US"


def test_a_paper_for_a_state_covers_no_site_whose_state_is_unknown(lead):
    rule(classes=[], destinations=["US-VT"])
    owner = factories.partner(kind="own", region="US-VT")
    site = factories.site(partner=owner, longitude=None, latitude=None)
    permit(lead)
    (found,) = [one for one in sent(lead, owner, site.code).findings if one.kind == "requirement"]
    assert found.status == "missing" and "not known well enough" in found.near[0].reasons[0].words
    site_save(actor=lead, site=site, jurisdiction="US-VT", reason="as the deed says")
    (found,) = [one for one in sent(lead, owner, site.code).findings if one.kind == "requirement"]
    assert found.status == "met"


def test_of_a_site_that_is_not_on_file_nothing_is_known(lead, rules):
    receiver = factories.partner(kind="nursery", region="US-VT")
    assert into(sent(lead, receiver, "ST-99")) == {"US-VT", "US-NY", "CA-ON"}
    assert into(sent(lead, receiver)) == {"US-VT"}


def test_the_form_of_a_shipment_refuses_a_site_that_is_not_on_file(client, lead):
    receiver = factories.partner(kind="nursery", region="US-VT")
    factories.site(code="ST-01", partner=receiver)
    client.force_login(lead)
    data = {"code": "SH-NEW", "receiver": receiver.pk, "receiving_person": "A. Receiver", "handling": "KEEP COOL"}
    page = client.post(reverse("shipment_add"), data | {"site_code": "ST-O1"})
    assert "No site “ST-O1” is on file" in " ".join(page.context["form"].errors["site_code"]) and not Shipment.objects.exists()
    saved = client.post(reverse("shipment_add"), data | {"site_code": "st-01"})
    assert saved.status_code == 302, saved.context["form"].errors
    assert Shipment.objects.get().site_code == "ST-01"


def test_where_nobody_knows_who_takes_it_in_every_rule_counts(lead, rules):
    owner, other = factories.partner(kind="own", region="US-VT"), factories.partner(kind="nursery")
    site = factories.site(partner=owner, jurisdiction="US-VT")
    assert into(sent(lead, other, site.code)) == {"US-VT", "US-NY", "CA-ON"}
    unplaced = factories.site(partner=factories.partner(kind="own"), jurisdiction="US-VT")
    assert into(sent(lead, unplaced.partner, unplaced.code)) == {"US-VT"}  # its own partner takes it in there


def test_a_landowner_takes_in_what_is_for_the_programmes_own_site(client, lead):
    neighbour, own = factories.partner(region="US-VT"), factories.partner(kind="own", region="US-VT")
    site = factories.site(partner=own, jurisdiction="US-VT")

    def landowner(answer):
        return next(one.status for one in answer.findings if one.kind == "landowner")

    assert landowner(sent(lead, neighbour, site.code)) == "missing"
    permit(lead, code="AGR", type="landowner", partner=neighbour, limits={"destinations": []})
    assert landowner(sent(lead, neighbour, site.code)) == "met"
    client.force_login(lead)
    asked = {"activity": "dispatch", "on": DAY.isoformat(), "site": site.code, "sent_to": neighbour.code, "receiver": "A. Receiver"}
    page = client.post(reverse("determination_ask"), asked)
    assert next(line["status"] for line in page.context["gate"]["lines"] if "landowner" in line["finding"]) == "met"


def test_a_county_is_typed_of_a_site_whose_state_is_unknown(lead):
    site = factories.site(partner=factories.partner(region="US-VT"), longitude=None, latitude=None)
    site_save(actor=lead, site=site, county="Columbia")  # in New York, where the owner does not live
    site.refresh_from_db()
    assert site.county == "Columbia" and site.jurisdiction == ""
