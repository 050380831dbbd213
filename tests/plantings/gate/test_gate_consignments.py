"""Certificates for one consignment, private land, lots under two permits, and asking about a shipment without a draft, from the records."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from registry.models import Determination, Shipment
from registry.selectors.gate.determinations import shipment_answer
from registry.services.movements.shipments import shipment_dispatch, shipment_line_set
from registry.services.permits.authorizations import authorization_save
from registry.services.shared.records import record_save
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


def ask(client, **values):
    return client.post(reverse("determination_ask"), {"activity": "dispatch", "on": "2026-04-06"} | values)


def lines(page):
    return {line["finding"]: line for line in page.context["gate"]["lines"]}


def test_a_certificate_for_one_consignment_covers_no_second_shipment(lead):
    rule(any_of=[["certificate"]])
    paper = permit(lead, type="certificate", one_consignment=True)
    lot = hybrid_lot(lead)
    first, second = draft(lead, lot), draft(lead, lot)
    assert shipment_answer(second, DAY).verdict == "covered"
    shipment_dispatch(actor=lead, shipment=first, on=DAY)
    answer = shipment_answer(second, DAY)
    (found,) = [one for one in answer.findings if one.kind == "requirement"]
    assert answer.verdict == "stop" and [reason.code for near in found.near for reason in near.reasons] == ["used"]
    assert f"shipment {first.code} has used it" in found.near[0].reasons[0].words
    paper.one_consignment = False
    paper.save()
    assert shipment_answer(second, DAY).verdict == "covered"


def test_a_shipment_that_arrives_after_the_last_day_says_so(lead):
    rule()
    permit(lead, ends_on=date(2026, 4, 7))
    shipment = draft(lead, hybrid_lot(lead), arrives_on=date(2026, 4, 9))
    titles = {finding.title for finding in shipment_answer(shipment, DAY).findings}
    assert "It arrives after the last day of a paper" in titles


def test_nothing_arrives_before_it_leaves(client, lead):
    shipment = draft(lead, hybrid_lot(lead), planned_on=DAY, arrives_on=DAY)
    shipment.arrives_on = date(2026, 4, 5)
    with pytest.raises(ValidationError, match="It cannot arrive before 6 Apr 2026, the day it leaves"):
        record_save(actor=lead, obj=shipment)
    client.force_login(lead)
    page = ask(client, on="2026-04-06", arrives_on="2026-04-05")
    assert page.context["form"].errors["arrives_on"] == ["It cannot arrive before 6 Apr 2026, the day it leaves."]


def test_two_lots_under_two_permits_are_shipped_line_by_line(client, lead):
    rule()
    for code in ("P-A", "P-B"):
        permit(lead, code=code, cap_quantity=500, cap_unit="seeds")
    first = hybrid_lot(lead)
    second = factories.seed_lot(actor=lead, seeds=900, mother=first.mother)
    shipment = draft(lead, first, 400)
    shipment_line_set(actor=lead, shipment=shipment, lot=second, form="seed", quantity=300)
    assert shipment_answer(shipment, DAY).verdict == "stop"
    client.force_login(lead)
    for lot, quantity, code in ((first, 400, "P-A"), (second, 300, "P-B")):
        client.post(
            reverse("shipment_line_add", args=[shipment.pk]), {"lot": lot.code, "form": "seed", "quantity": quantity, "draw_on": code}
        )
    assert "Goes under" in client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode()
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    drawn = {
        (draw.authorization.code, draw.lot.code, draw.quantity) for draw in Determination.objects.get().authorizations.first().draws.all()
    }
    assert drawn in ({("P-A", first.code, 400)}, {("P-B", second.code, 300)})


@pytest.mark.parametrize("activity", ["inoculate", "pesticide", "collect", "publish_location", "destroy", "flower_removal", "census_visit"])
def test_what_is_done_on_private_land_needs_its_owners_agreement(client, lead, activity):
    owner = factories.partner(region="US-VT")
    client.force_login(lead)
    page = ask(client, activity=activity, partner=owner.code)
    finding = lines(page)["Agreement with the landowner"]
    assert finding["severity"] == ("check" if activity in ("destroy", "flower_removal") else "stop")
    own = factories.partner(kind="own", region="US-VT")
    assert "Agreement with the landowner" not in lines(ask(client, activity=activity, partner=own.code))


def test_an_agreement_about_planting_covers_spraying_only_if_it_says_so(client, lead):
    owner = factories.partner(region="US-VT")
    agreement = permit(lead, code="AGR", type="landowner", partner=owner, limits={"destinations": []})
    client.force_login(lead)

    def agreed(activity):
        return lines(ask(client, activity=activity, partner=owner.code))["Agreement with the landowner"]

    beyond = ("inoculate", "pesticide", "collect", "publish_location", "destroy", "flower_removal")
    assert [agreed(activity)["status"] for activity in ("census_visit", *beyond)] == ["met"] + ["missing"] * 6
    assert "it does not list what it is for, and this is applying a pesticide" in agreed("pesticide")["near"][0][3]
    assert "AGR: enter what it is for if it says so, or have the landowner agree" in agreed("pesticide")["next_step"]
    authorization_save(actor=lead, paper=agreement, limits={"activities": ["pesticide", "destroy"]}, reason="the annex says so")
    assert [agreed(activity)["status"] for activity in ("pesticide", "destroy", "collect")] == ["met", "met", "missing"]


def test_the_gate_is_asked_about_a_shipment_without_a_draft(client, lead):
    rule()
    permit(lead, code="P-1", cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead)
    client.force_login(lead)
    asked = {"lots": f"{lot.code} = 400", "form": "seed", "region": "US-VT", "receiver": "A. Receiver", "origin": "US-NY"}
    page = ask(client, **asked)
    assert page.context["gate"]["verdict"] == "covered", page.context["form"].errors
    assert page.context["gate"]["draws"] == [f"400 seeds of lot {lot.code} under P-1"]
    assert ask(client, **asked | {"lots": f"{lot.code} = 600"}).context["gate"]["verdict"] == "stopped"
    assert "No receiver is named" in lines(ask(client, **asked | {"receiver": ""}))
    assert not Shipment.objects.exists()
    store = asked | {"activity": "dispatch", "on": "2026-04-06", "store": "yes", "shown": page.context["shown"]}
    assert client.post(reverse("determination_ask"), store).status_code == 302
    assert Determination.objects.get().question["lines"][0]["quantity"] == 400


def test_the_gate_is_asked_what_goes_under_which_of_two_permits(client, lead):
    rule()
    for code in ("P-A", "P-B"):
        permit(lead, code=code, cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead)
    client.force_login(lead)
    asked = {"form": "seed", "region": "US-VT", "receiver": "A. Receiver", "origin": "US-NY"}
    assert ask(client, **asked, lots=f"{lot.code} = 700").context["gate"]["verdict"] == "stopped"
    split = f"{lot.code} = 400 under p-a, {lot.code} = 300 under P-B"
    page = ask(client, **asked, lots=split)
    assert page.context["gate"]["verdict"] == "covered", page.context["form"].errors
    assert page.context["gate"]["draws"] == [f"400 seeds of lot {lot.code} under P-A", f"300 seeds of lot {lot.code} under P-B"]
    assert ask(client, **asked, lots=f"{lot.code} = 400 under P-A, {lot.code} = 300 UNDER P-A").context["gate"]["verdict"] == "stopped"
    either = ask(client, **asked, lots=f"{lot.code} = 400 under P-A or P-B").context["gate"]
    assert either["verdict"] == "covered" and len(either["draws"]) == 1
    store = asked | {"activity": "dispatch", "on": "2026-04-06", "lots": split, "store": "yes", "shown": page.context["shown"]}
    client.post(reverse("determination_ask"), store)
    assert [line["draw_on"] for line in Determination.objects.get().question["lines"]] == [["P-A"], ["P-B"]]


def test_asking_about_a_shipment_looks_at_the_site_and_at_who_takes_it_in(client, lead):
    for state in ("VT", "NH", "NY"):
        rule(code=f"EX-{state}", title=f"Into {state}", classes=[], destinations=[f"US-{state}"])
    owner = factories.partner(kind="own", region="US-VT")
    site = factories.site(partner=owner, jurisdiction="US-NY")
    nursery = factories.partner(kind="nursery", region="US-NH")
    client.force_login(lead)
    asked = {"lots": f"{hybrid_lot(lead).code} = 10", "form": "seed", "receiver": "A. Receiver", "origin": "US-PA"}

    def into(**values):
        return {name.removeprefix("Into ") for name in lines(ask(client, **asked | values)) if name.startswith("Into ")}

    assert into(site=site.code) == {"NY", "VT"}  # its owner's office takes it in
    assert into(site=site.code, sent_to=nursery.code) == {"NY", "NH"}
    assert into(sent_to=nursery.code) == {"NH"}
    assert into(sent_to=nursery.code, partner=owner.code) == {"NH", "VT"}
    assert into(activity="establish", site=site.code, sent_to=nursery.code) == set()  # a rule about shipments; nothing is sent


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("LOT = 40 under P-X", "No paper “P-X” is on file"),
        ("LOT = many under P-A", "“many” is not a number of seeds or plants"),
        ("= 40", "Name the lot before “40”."),
        ("= 40 under P-A", "Name the lot before “40 under P-A”."),
        ("under P-A", "Name the lot before “P-A”."),
        ("NONE under P-A", "No lot “NONE” is on file"),
    ],
)
def test_lots_that_cannot_be_read_are_refused_in_words(client, lead, typed, said):
    permit(lead, code="P-A")
    factories.seed_lot(code="LOT")
    client.force_login(lead)
    page = ask(client, lots=typed)
    assert said in " ".join(page.context["form"].errors["lots"]) and "gate" not in page.context


def test_a_form_that_does_not_fit_a_lot_is_refused_in_words(client, lead):
    seed, plants = factories.seed_lot(code="S", seeds=9), factories.stock_lot(code="P", plants=9)
    client.force_login(lead)
    page = ask(client, lots="S, P", form="bareroot")
    assert "Lot S is counted in seeds, and “bareroot seedling” does not fit it." in " ".join(page.context["form"].errors["form"])
    assert "gate" not in page.context
    for lot, form in ((seed, "pollen"), (plants, "scion"), (seed, "")):
        assert "gate" in ask(client, lots=lot.code, form=form).context


def test_the_gate_is_asked_about_a_planting_without_a_draft(client, lead):
    rule(activities=["establish"])
    permit(lead)
    site = factories.site(partner=factories.partner(kind="own", region="US-VT"), jurisdiction="US-VT")
    client.force_login(lead)
    page = ask(client, activity="establish", lots=hybrid_lot(lead).code, site=site.code)
    assert page.context["gate"]["verdict"] == "covered"


@pytest.mark.parametrize(
    ("typed", "words"), [("S = many", "“many” is not a number"), ("S = -3", "“-3” is not a number"), ("NONE", "No lot “NONE”")]
)
def test_wrong_amounts_are_refused_in_words(client, lead, typed, words):
    factories.seed_lot(code="S", seeds=9)
    client.force_login(lead)
    page = ask(client, lots=typed)
    assert words in " ".join(page.context["form"].errors["lots"]) and typed in page.content.decode()
