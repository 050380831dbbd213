"""What a box for a code offers: what fits, at most ten, and only rows of the person who types."""

import pytest
from django.urls import reverse

from registry.forms.shared.offers import OFFERS_MOST
from registry.models import PollenPool
from tests import factories
from tests.people import everyone

pytestmark = pytest.mark.django_db


def offered(client, route, box, text, *args):
    response = client.get(reverse(route, args=args), {"offer": box, "fits": text})
    assert response.status_code == 200
    return [line["code"] for line in response.json()["offers"]]


@pytest.fixture
def office(client):
    client.force_login(factories.person("coordinator"))
    return client


def test_codes_that_begin_with_the_text_come_first(office):
    for code in ("B-ELM", "ELM-2", "ELM-1", "OAK"):
        factories.pedigree_tree(code=code)
    assert offered(office, "lot_add", "mother", "elm") == ["ELM-1", "ELM-2", "B-ELM"]
    assert offered(office, "lot_add", "mother", "") == []
    assert offered(office, "lot_add", "mother", "yew") == []


def test_a_partner_is_found_by_name_and_the_offer_says_it(office):
    partner = factories.partner(name="Elmhurst school")
    [line] = office.get(reverse("duty_add"), {"offer": "partner", "fits": "elmh"}).json()["offers"]
    assert line == {"code": partner.code, "words": f"{partner.code} Elmhurst school"}


def test_the_offer_of_a_tree_says_its_generation_and_place(office):
    factories.pedigree_tree(code="ELM-1", generation_other="first cross", orchard="Mill Lot", block="A")
    [line] = office.get(reverse("lot_add"), {"offer": "mother", "fits": "elm"}).json()["offers"]
    assert line["words"] == "ELM-1 · first cross, Mill Lot, block A"


def test_the_offer_of_a_lot_says_its_kind_year_and_mother(office):
    mother = factories.pedigree_tree(code="ELM-1")
    factories.seed_lot(code="S-1", mother=mother, year=2024)
    [line] = office.get(reverse("tree_add"), {"offer": "lot", "fits": "s-1"}).json()["offers"]
    assert line["words"] == "S-1 · seed lot, 2024, mother ELM-1"


def test_a_pollen_pool_without_a_description_is_offered_as_its_code(office):
    PollenPool.objects.create(code="POOL-1", orchard="Mill Lot", flowering_year=2024)
    [line] = office.get(reverse("lot_add"), {"offer": "pollen_pool", "fits": "pool"}).json()["offers"]
    assert line["words"] == "POOL-1"


def test_no_more_than_ten_are_offered_and_the_rest_is_said(office):
    for number in range(OFFERS_MOST + 2):
        factories.pedigree_tree(code=f"ELM-{number:02}")
    told = office.get(reverse("lot_add"), {"offer": "mother", "fits": "ELM"}).json()
    assert (len(told["offers"]), told["more"]) == (OFFERS_MOST, True)


def test_only_what_the_form_would_take_is_offered(office):
    """The line of a shipment takes lots that hold something."""
    lead = factories.person("lead")
    full, empty = factories.stock_lot(actor=lead, plants=5, code="P-1"), factories.stock_lot(code="P-2")
    shipment = factories.shipment(actor=lead, receiver=factories.partner(), lots=[(full, "bareroot", 1)])
    assert empty.balance == 0
    assert offered(office, "shipment_line_add", "lot", "P-", shipment.pk) == ["P-1"]


@pytest.mark.parametrize(("who", "sees"), [("lead", ["NEAR-1", "FAR-1"]), ("volunteer", ["NEAR-1"]), ("landowner", ["NEAR-1"]),
                                           ("other volunteer", []), ("other landowner", [])])  # fmt: skip
def test_rows_of_somebody_else_are_never_offered(client, who, sees):
    people = everyone()
    factories.planting(code="NEAR-1", site=factories.site(partner=people["landowner"].partner), crew=[people["volunteer"]])
    factories.planting(code="FAR-1", site=factories.site(name="Farwell lot"))
    client.force_login(people[who])
    assert offered(client, "tree_list", "planting", "-1") == sorted(sees)
    assert offered(client, "tree_list", "planting", "farw") == (["FAR-1"] if "FAR-1" in sees else [])


@pytest.mark.parametrize("who", ["auditor", "volunteer", "landowner", "unknown role"])
def test_who_may_not_open_a_form_is_offered_nothing_by_it(client, who):
    client.force_login(everyone()[who])
    assert client.get(reverse("lot_add"), {"offer": "mother", "fits": "E"}).status_code == 403


@pytest.mark.parametrize("box", ["year", "kind", "nothing"])
def test_a_box_that_takes_no_code_offers_nothing(office, box):
    assert office.get(reverse("lot_add"), {"offer": box, "fits": "E"}).status_code == 404
