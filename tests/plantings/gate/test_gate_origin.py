"""Where a shipment leaves from and what it passes can be given with the county: a rule or a paper may go by it."""

import pytest
from django.urls import reverse

from registry.compliance.gate.place_codes import place_code
from registry.models import ProgrammeSetting
from registry.selectors.gate.determinations import shipment_answer
from registry.selectors.gate.questions import shipment_question
from registry.selectors.people.programme import parse_setting
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, rule

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


def rules_of(answer):
    return {finding.code for finding in answer.findings if finding.kind == "requirement"}


def test_a_rule_on_a_county_of_origin_can_be_answered(client, lead):
    rule(code="EX-BUCKS", classes=[], origins=["US-PA/Bucks"], title="Out of the county")
    shipment = draft(lead, hybrid_lot(lead), origin_region="US-PA")
    assert rules_of(shipment_answer(shipment, DAY)) == {"EX-BUCKS"}  # the county is not known
    client.force_login(lead)
    data = {"code": shipment.code, "receiver": shipment.receiver_id, "receiving_person": "A. Receiver"}
    for typed, stored, found in (("us-pa/centre county", "US-PA/Centre", set()), ("US-PA/Bucks", "US-PA/Bucks", {"EX-BUCKS"})):
        saved = client.post(reverse("shipment_edit", args=[shipment.pk]), data | {"origin_region": typed})
        assert saved.status_code == 302, saved.context["form"].errors
        shipment.refresh_from_db()
        assert shipment.origin_region == stored and rules_of(shipment_answer(shipment, DAY)) == found
    page = client.post(reverse("shipment_edit", args=[shipment.pk]), data | {"origin_region": "US-PA/Buks"})
    assert "“Buks” is not a county of US-PA. Did you mean Bucks?" in " ".join(page.context["form"].errors["origin_region"])


def test_the_county_on_the_way_can_be_given(client, lead):
    rule(code="EX-WAY", classes=[], destinations=[], transits=["US-NY/Essex"])
    lot = hybrid_lot(lead)
    client.force_login(lead)
    asked = {
        "activity": "dispatch",
        "on": DAY.isoformat(),
        "lots": f"{lot.code} = 10",
        "form": "seed",
        "region": "US-VT",
        "receiver": "A. R.",
    }

    def way(typed):
        lines = client.post(reverse("determination_ask"), asked | {"transit": typed}).context["gate"]["lines"]
        return any(line["rule"].startswith("EX-WAY") for line in lines)

    assert [way(typed) for typed in ("US-NY", "US-NY/Essex, US-MA", "US-NY/Albany")] == [True, True, False]


def test_the_home_of_the_programme_has_a_county(lead):
    shipment = draft(lead, hybrid_lot(lead))
    ProgrammeSetting.objects.create(key="home_region", value="US-VT/Chittenden", set_on=DAY)
    origin = shipment_question(shipment, DAY).origin
    assert (origin.code, origin.county, origin.county_typed) == ("US-VT", "Chittenden", True)
    assert parse_setting("home_region", "us-vt/chittenden") == "US-VT/Chittenden"


@pytest.mark.parametrize(
    ("typed", "words"), [("US-VT/", "name the county behind the stroke"), ("US-VT/Kent", "is not a county of US-VT"), ("US-QQ/X", "US-QQ")]
)
def test_a_place_that_cannot_be_is_refused_in_words(typed, words):
    with pytest.raises(ValueError, match=words):
        place_code(typed)
