"""The gate on screens and at the command line."""

import re
from datetime import date
from html import unescape

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from registry.models import (
    Determination,
    MaterialClass,
)
from registry.services.movements.shipments import shipment_dispatch
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db


def test_the_command_says_what_stops_and_stores_nothing(lead, capsys):
    rule(is_example=True)
    shipment = draft(lead, hybrid_lot(lead))
    with pytest.raises(SystemExit) as stopped:
        call_command("gate", shipment.code.lower(), "--on", "2026-04-06")
    said = capsys.readouterr().out
    assert stopped.value.code == 3 and "stopped until what is missing is on file" in said
    assert "EX-R1 Hybrids into Vermont (edition 2026): missing, blocking." in said and "an example, not law" in said
    assert "Check with the local authority." in said and not Determination.objects.exists()


def test_the_command_refuses_a_wrong_day_or_code(lead):
    shipment = draft(lead, hybrid_lot(lead))
    with pytest.raises(CommandError, match="'2026-13-01' is not a day. Write it as 2026-10-12."):
        call_command("gate", shipment.code, on="2026-13-01")
    with pytest.raises(CommandError, match="There is no shipment “NOPE”"):
        call_command("gate", "NOPE")


def test_only_the_lead_gets_the_box_to_override(client, lead):
    rule()
    shipment = draft(lead, hybrid_lot(lead))
    address = reverse("shipment_dispatch", args=[shipment.pk])
    client.force_login(factories.person("coordinator"))
    page = client.get(address).content.decode()
    assert "Hybrids into Vermont" in page and "Stops" in page and 'name="override_reason"' not in page
    answer = client.post(address, {"on": "2026-04-06"})
    assert answer.status_code == 200 and "Only the programme lead can override" in answer.content.decode()
    client.force_login(lead)
    assert 'name="override_reason"' in client.get(address).content.decode()
    client.post(address, {"on": "2026-04-06", "override_reason": "the permit was read out by phone"})
    shipment.refresh_from_db()
    assert shipment.state == "dispatched"
    page = client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode()
    assert "Overridden by" in page and "the permit was read out by phone" in page
    kept = client.get(reverse("determination_detail", args=[Determination.objects.get(carried_out=True).pk])).content.decode()
    assert "It gives the same answer again." in kept


def test_an_answer_about_an_activity_is_stored_on_request(client, lead):
    rule(code="EX-INOC", activities=["inoculate"], classes=[], title="Live pathogen")
    client.force_login(lead)
    data = {"activity": "inoculate", "on": "2026-06-02", "region": "us-vt", "people": "R. Ater"}
    page = client.post(reverse("determination_ask"), data).content.decode()
    assert "Live pathogen" in page and "Store this answer" in page and not Determination.objects.exists()
    shown = re.search(r'name="shown" value="(\w+)"', page).group(1)
    address = client.post(reverse("determination_ask"), data | {"store": "yes", "shown": shown})["Location"]
    assert Determination.objects.get().carried_out is False and "Live pathogen" in client.get(address).content.decode()
    assert "not a subdivision of US" in client.post(reverse("determination_ask"), data | {"region": "US-QQ"}).content.decode()


def test_an_inoculation_without_a_lot_asks_about_the_pathogen(client, lead):
    MaterialClass.objects.create(code="pathogen", title="Live pathogen", rule="pathogen")
    rule(code="EX-PATH", activities=["inoculate", "hold"], classes=["pathogen"], destinations=["US"], title="Live plant pathogens")
    client.force_login(lead)
    data = {"activity": "inoculate", "on": "2026-06-02", "region": "US-VT", "people": "R. Ater"}
    page = client.post(reverse("determination_ask"), data).content.decode()
    assert "Live plant pathogens" in page and "Stopped until what is missing is on file" in page
    assert "a flame that is hard to see in daylight" in page and "This work is only for people of 18 years or more." in page
    held = data | {"activity": "hold"}
    assert "Live plant pathogens" not in client.post(reverse("determination_ask"), held).content.decode()
    assert "Live plant pathogens" in client.post(reverse("determination_ask"), held | {"pathogen": "on"}).content.decode()


def test_a_returned_box_is_given_back_to_the_cap_on_screen(client, lead):
    rule()
    paper = permit(lead, cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead)
    shipment = draft(lead, lot, 300)
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    client.force_login(lead)
    address = reverse("authorization_give_back", args=[paper.pk])
    data = {"lot": lot.code, "quantity": "301", "on": "2026-05-01", "subject": shipment.code, "reason": "condition 4 counts it as not used"}
    page = client.post(address, data).content.decode()
    assert f"300 of lot {lot.code} are drawn for {shipment.code}" in page and "condition 4 counts it as not used" in page
    client.post(address, data | {"quantity": "40"})
    paper.refresh_from_db()
    assert paper.drawn == 260
    assert "condition 4 counts it as not used" in client.get(reverse("authorization_detail", args=[paper.pk])).content.decode()


def test_a_transit_rule_applies_to_the_states_passed(client, lead):
    rule(code="EX-WAY", classes=[], destinations=[], transits=["US-NY"], title="Carried through")
    shipment = draft(lead, hybrid_lot(lead))
    client.force_login(lead)
    data = {"code": shipment.code, "receiver": shipment.receiver_id, "receiving_person": "A. Receiver", "transit_regions": "us-ny; US-MA"}
    assert client.post(reverse("shipment_edit", args=[shipment.pk]), data | {"transit_regions": "US-QQ"}).status_code == 200
    client.post(reverse("shipment_edit", args=[shipment.pk]), data)
    shipment.refresh_from_db()
    assert shipment.transit_regions == ["US-NY", "US-MA"]
    assert "Carried through" in client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode()


def seeds_and_seedlings(lead):
    """A draft shipment of a seed lot and of a lot of seedlings."""
    seeds = hybrid_lot(lead)
    seedlings = factories.stock_lot(actor=lead, plants=50)
    receiver = factories.partner(kind="nursery", region="US-VT")
    lines = [(seeds, "seed", 100), (seedlings, "bareroot", 20)]
    return factories.shipment(actor=lead, lots=lines, receiver=receiver, receiving_person="A. Receiver"), seeds, seedlings


def words_of(page):
    """What a page says, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", "", re.sub(r"(?s)<(script|style).*?</\1>", "", page))).split())


def test_page_and_command_say_which_lots_a_paper_covers(client, lead, capsys):
    rule(classes=[], is_example=True, verified_on=None, verified_with="", verified_by="")
    permit(lead, code="P-SEED", title="Seed into Vermont", limits={"forms": ["seed"]})
    permit(lead, code="P-OLD", title="Ended", ends_on=date(2026, 2, 1))
    shipment, seeds, seedlings = seeds_and_seedlings(lead)
    client.force_login(lead)
    page = words_of(client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode())
    with pytest.raises(SystemExit):
        call_command("gate", shipment.code)
    said = capsys.readouterr().out.splitlines()
    told = [line.strip() for line in said if line.startswith("  ")]
    assert f"Met in part by: P-SEED (lot {seeds.code})." in told and f"Not covered: lot {seedlings.code}." in told
    assert any(line.startswith("Not met by P-SEED") and f"(lot {seedlings.code})" in line for line in told)
    assert any(line.startswith("Next: ") and "P-OLD: ask the authority to renew it" in line for line in told)
    assert len(told) >= 8 and [line for line in told if line not in page] == []


def test_an_advisory_rule_can_be_met_in_part(client, lead):
    rule(classes=[], blocking=False)
    permit(lead, code="P-SEED", limits={"lots": ["NOT-THIS"]})
    permit(lead, code="P-LOT", limits={"forms": ["seed"]})
    shipment, seeds, _seedlings = seeds_and_seedlings(lead)
    client.force_login(lead)
    page = words_of(client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode())
    assert f"Met in part by: P-LOT (lot {seeds.code})." in page
