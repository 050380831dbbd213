"""The gate before a planting is established: its own papers, caps counted once, and what was planted long ago is only recorded."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from plantings.models import EntrySupply, PlantingEntry
from plantings.services.plantings import planting_establish, planting_save
from registry.models import AuthorizationDraw, Determination
from registry.selectors.gate.determinations import shipment_answer
from registry.services.movements.shipments import shipment_dispatch
from tests import factories
from tests.registry.gate.gate_records import hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db
DAY = date(2026, 4, 20)


@pytest.fixture
def lead():
    return factories.person("lead")


def planned(lot=None, partner_kind="own", **fields):
    site = factories.site(partner=factories.partner(kind=partner_kind, region="US-VT"), jurisdiction="US-VT")
    planting = factories.planting(site=site, state="planned", planted_on=None, **fields)
    if lot:
        PlantingEntry.objects.create(planting=planting, lot=lot)
    return planting


def supplied(planting, shipment, count):
    entry = PlantingEntry.objects.get(planting=planting)
    EntrySupply.objects.create(entry=entry, count=count, shipment_line=shipment.lines.get())


def test_a_planting_without_its_paper_is_not_established(lead):
    rule(activities=["establish"])
    planting = planned(hybrid_lot(lead))
    with pytest.raises(ValidationError, match="Hybrids into Vermont"):
        planting_establish(actor=lead, planting=planting, on=DAY)
    planting.refresh_from_db()
    assert planting.state == "planned" and not Determination.objects.get().carried_out


def test_a_covered_planting_is_planted_and_its_answer_stored(lead):
    rule(activities=["establish"])
    permit(lead)
    planting = planned(hybrid_lot(lead))
    planting_establish(actor=lead, planting=planting, on=DAY)
    planting.refresh_from_db()
    kept = Determination.objects.get()
    assert (planting.state, planting.planted_on, kept.verdict, kept.subject) == ("established", DAY, "covered", planting.code)


def test_what_was_drawn_at_shipping_is_not_drawn_at_planting(lead):
    rule(activities=["dispatch", "establish"])
    paper = permit(lead, cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead)
    shipment = factories.shipment(
        actor=lead, lots=[(lot, "seed", 400)], receiver=factories.partner(kind="nursery", region="US-VT"), receiving_person="A. Receiver"
    )
    shipment_dispatch(actor=lead, shipment=shipment, on=date(2026, 4, 6))
    planting = planned(lot)
    supplied(planting, shipment, 390)
    planting_establish(actor=lead, planting=planting, on=DAY)
    paper.refresh_from_db()
    assert paper.drawn == 400 and list(AuthorizationDraw.objects.values_list("kind", "quantity")) == [("shipped", 400)]


@pytest.mark.parametrize("kind", ["landowner", "trust", "school", "agency", "nursery", "other"])
def test_planting_on_private_land_needs_an_agreement(lead, kind):
    planting = planned(hybrid_lot(lead), kind)
    with pytest.raises(ValidationError, match="Agreement with the landowner"):
        planting_establish(actor=lead, planting=planting, on=DAY)
    permit(lead, type="landowner", partner=planting.site.partner, limits={"destinations": []})
    planting_establish(actor=lead, planting=planting, on=DAY)
    assert Determination.objects.get(carried_out=True).verdict == "check"


def test_on_its_own_land_the_programme_needs_no_agreement(lead):
    planting_establish(actor=lead, planting=planned(hybrid_lot(lead), "own"), on=DAY)
    assert Determination.objects.get().question["landowner_agreement_wanted"] is False


def shipped_answer(lead, receiver, site_code):
    lot = factories.seed_lot(actor=lead, seeds=10)
    shipment = factories.shipment(
        actor=lead, lots=[(lot, "seed", 10)], receiver=receiver, receiving_person="A. Receiver", site_code=site_code
    )
    return {finding.kind: finding for finding in shipment_answer(shipment, DAY).findings}.get("landowner")


def test_an_agreement_for_one_site_does_not_cover_another(lead):
    partner = factories.partner(region="US-VT")
    for code in ("ST-A", "ST-B"):
        factories.site(code=code, partner=partner)
    permit(lead, code="AGR", type="landowner", partner=partner, limits={"destinations": ["site:ST-A"]})
    assert shipped_answer(lead, partner, "ST-A").met_by == ("AGR",)
    assert shipped_answer(lead, partner, "ST-B").status == "missing"
    assert shipped_answer(lead, partner, "").status == "missing"


def test_an_agreement_covers_only_the_sites_it_lists(lead):
    partner = factories.partner(region="US-VT")
    for code in ("ST-A", "ST-B"):
        factories.site(code=code, partner=partner)
    permit(lead, code="AGR", type="landowner", partner=partner, limits={"destinations": [], "sites": ["ST-A"]})
    assert shipped_answer(lead, partner, "ST-A").met_by == ("AGR",)
    other = shipped_answer(lead, partner, "ST-B")
    assert other.status == "missing" and "it covers site ST-A, this is site ST-B" in other.near[0].reasons[0].words


def test_a_shipment_for_a_site_needs_its_landowners_agreement(lead):
    nursery, trust = factories.partner(kind="nursery", region="US-VT"), factories.partner(kind="trust")
    factories.site(code="ST-T", partner=trust)
    factories.site(code="ST-OWN", partner=factories.partner(kind="own"))
    permit(lead, code="AGR-N", type="agreement", partner=nursery, limits={"destinations": []})
    assert shipped_answer(lead, nursery, "") is None
    assert shipped_answer(lead, nursery, "ST-OWN") is None
    assert shipped_answer(lead, nursery, "st-t").status == "missing"
    permit(lead, code="AGR-T", type="landowner", partner=trust, limits={"destinations": []})
    assert shipped_answer(lead, nursery, "ST-T").met_by == ("AGR-T",)


def test_only_a_planned_planting_is_established(lead):
    with pytest.raises(ValidationError, match="only a planned one"):
        planting_establish(actor=lead, planting=factories.planting(), on=DAY)


def test_an_edit_cannot_bypass_the_gate_for_a_recent_planting(lead):
    planting = planned()
    planting.state, planting.planted_on = "established", timezone.localdate() - timedelta(days=30)
    with pytest.raises(ValidationError, match="saved as planned first"):
        planting_save(actor=lead, planting=planting)
    planting.planted_on = timezone.localdate() - timedelta(days=31)
    assert planting_save(actor=lead, planting=planting).state == "established"


def test_the_screen_shows_the_gate_before_and_after(client, lead):
    rule(activities=["establish"])
    planting = planned(hybrid_lot(lead))
    client.force_login(lead)
    page = client.get(reverse("planting_detail", args=[planting.pk])).content.decode()
    assert "Hybrids into Vermont" in page and "Mark as planted" in page
    address = reverse("planting_establish", args=[planting.pk])
    assert "Give the reason in a sentence" in client.post(address, {"on": "2026-04-20"}).content.decode()
    client.post(address, {"on": "2026-04-20", "override_reason": "the consent was given at the meeting of 2 April"})
    page = client.get(reverse("planting_detail", args=[planting.pk])).content.decode()
    assert "Overridden by" in page and "the consent was given at the meeting of 2 April" in page


def test_the_page_shows_what_let_a_planting_go_and_the_refusal_apart(client, lead):
    rule(activities=["establish"])
    planting = planned(hybrid_lot(lead))
    with pytest.raises(ValidationError):
        planting_establish(actor=lead, planting=planting, on=DAY)
    permit(lead)
    planting_establish(actor=lead, planting=planting, on=DAY)
    client.force_login(lead)
    parts = client.get(reverse("planting_detail", args=[planting.pk])).context["parts"]
    assert [(part["title"], part["gate"]["verdict"]) for part in parts if part.get("gate")] == [("Answer of the gate", "covered")]
    (other,) = [part for part in parts if part["title"] == "Other answers of the gate"]
    assert [row.cells[1][0] for row in other["rows"]] == ["Stopped until what is missing is on file"]
