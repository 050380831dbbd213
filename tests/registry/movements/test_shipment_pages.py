"""Shipments and receipts on screen. Numbers are sums done by hand: common practice, no source."""

import pytest
from django.urls import reverse

from registry.models import AuditEntry, ProgrammeSetting, Receipt, Shipment
from registry.selectors.movements.shipments import shipment_duties, shipment_lines, shipment_words
from registry.services.movements.shipments import receipt_enter
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def coordinator(client):
    person = factories.person("coordinator")
    client.force_login(person)
    return person


def part(page, title):
    return next(section for section in page.context["parts"] if section["title"] == title)


def labels(page):
    """What can be done here; the trace, which every coded record offers, left aside."""
    return [label for label, url in page.context["actions"] if not url.startswith(reverse("trace"))]


def sent(actor, count=20, on=None, **fields):
    lot = factories.stock_lot(actor=actor, plants=50)
    return factories.shipment(actor=actor, lots=[(lot, "bareroot", count)], dispatched_on=on or factories.day(2019, 4, 1), **fields)


def received(shipment, actor, sound, sprouted=0, spoiled=0, on=None):
    return receipt_enter(
        actor=actor, shipment=shipment, received_on=on or factories.day(2019, 4, 3), received_by="A", box_condition="good",
        counts={shipment.lines.get(): (sound, sprouted, spoiled)},
    )  # fmt: skip


def duties_on(shipment, day):
    return [(duty.severity, duty.text) for duty in shipment_duties(shipment, shipment_lines(shipment), day)]


def test_a_shipment_goes_from_draft_to_dispatch(client, coordinator):
    lot = factories.stock_lot(actor=coordinator, plants=300, code="P19")
    receiver, paper = factories.partner(kind="nursery"), factories.authorization()
    data = {
        "code": "SH-1",
        "receiver": receiver.pk,
        "receiving_person": "A. Receiver",
        "handling": "KEEP 1–4 °C",
        "authorizations": [paper.pk],
    }
    address = client.post(reverse("shipment_add"), data)["Location"]
    shipment = Shipment.objects.get(code="SH-1")
    assert (address, list(shipment.authorizations.all())) == (reverse("shipment_detail", args=[shipment.pk]), [paper])
    assert labels(client.get(address)) == ["Add a lot", "Change the shipment", "Cancel the shipment"]
    client.post(reverse("shipment_line_add", args=[shipment.pk]), {"lot": "p19", "form": "bareroot", "quantity": "240"})
    assert labels(client.get(address))[0] == "Dispatch 240 plants"
    dispatch = reverse("shipment_dispatch", args=[shipment.pk])
    page = client.get(dispatch)
    assert (page.context["submit_label"], page.context["text"]) == ("Dispatch 240 plants", f"To {receiver.name}: 240 of P19.")
    assert "Check with the local authority" in page.content.decode()
    client.post(dispatch, {"on": "2020-04-06"})
    shipment.refresh_from_db()
    lot.refresh_from_db()
    assert (shipment.state, shipment.dispatched_on, lot.balance) == ("dispatched", factories.day(2020, 4, 6), 60)
    assert labels(client.get(address)) == [
        "Enter a receipt", "Print the packing list", "Change the shipment", "Take the dispatch back",
        "Print a draft for a phytosanitary certificate",
    ]  # fmt: skip


def test_dispatching_more_than_a_lot_holds_is_refused(client, coordinator):
    lot = factories.stock_lot(actor=coordinator, plants=10, code="P19", on=factories.day(2019, 3))
    shipment = factories.shipment(actor=coordinator, lots=[(lot, "bareroot", 10)])
    shipment.lines.update(quantity=12)  # drafted while the lot held more
    page = client.get(reverse("shipment_detail", args=[shipment.pk]))
    assert [duty.text for duty in page.context["due"]] == ["Lot P19 holds 10 plants; this shipment takes 12."]
    answer = client.post(reverse("shipment_dispatch", args=[shipment.pk]), {"on": "2019-04-01"})
    assert "Lot P19 holds 10 plants on 1 Apr 2019" in answer.content.decode()
    shipment.refresh_from_db()
    assert shipment.state == "draft"


def test_a_line_is_replaced_and_taken_out_of_a_draft_only(client, coordinator):
    lot = factories.stock_lot(actor=coordinator, plants=50, code="P19")
    shipment = factories.shipment(actor=coordinator, lots=[(lot, "bareroot", 12)])
    add = reverse("shipment_line_add", args=[shipment.pk])
    client.post(add, {"lot": "P19", "form": "bareroot", "quantity": "15"})
    assert [line.quantity for line in shipment.lines.all()] == [15]
    assert "does not fit it" in client.post(add, {"lot": "P19", "form": "seed", "quantity": "15"}).content.decode()
    remove = reverse("shipment_line_remove", args=[shipment.lines.get().pk])
    assert client.post(remove)["Location"] == reverse("shipment_detail", args=[shipment.pk])
    assert not shipment.lines.exists()
    gone = sent(coordinator)
    page = client.post(reverse("shipment_line_remove", args=[gone.lines.get().pk]))
    assert "only a draft can be changed" in page.content.decode()
    assert gone.lines.exists()


def test_a_cancelled_shipment_stays_on_file_with_its_reason(client, coordinator):
    shipment = factories.shipment(actor=coordinator)
    address = reverse("shipment_cancel", args=[shipment.pk])
    assert "reason" in client.post(address, {}).context["form"].errors
    client.post(address, {"reason": "Road closed"})
    page = client.get(reverse("shipment_detail", args=[shipment.pk]))
    assert (page.context["state"], labels(page)) == ("cancelled", [])
    assert AuditEntry.objects.get(verb="shipment.cancelled").reason == "Road closed"


def test_only_papers_and_note_of_a_sent_shipment_change(client, coordinator):
    shipment, other, paper = sent(coordinator), factories.partner(), factories.authorization()
    receiver = shipment.receiver
    client.post(
        reverse("shipment_edit", args=[shipment.pk]),
        {"code": "NEW", "receiver": other.pk, "note": "late paper", "authorizations": [paper.pk]},
    )
    shipment.refresh_from_db()
    assert (shipment.receiver, shipment.note, list(shipment.authorizations.all())) == (receiver, "late paper", [paper])
    assert shipment.code != "NEW"


@pytest.mark.parametrize(
    ("day", "severity"), [(factories.day(2019, 4, 15), "info"), (factories.day(2019, 4, 16), "late")]
)  # the 14 days are common practice, no source
def test_a_shipment_without_a_receipt_is_late_after_14_days(coordinator, day, severity):
    shipment = sent(coordinator)
    (duty,) = duties_on(shipment, day)
    assert duty[0] == severity
    if severity == "late":
        assert duty[1] == "No receipt 15 days after it left. Its arrival is not confirmed."


def test_what_is_short_is_counted_over_all_receipts(client, coordinator):
    shipment = sent(coordinator, count=20)
    received(shipment, coordinator, sound=10, sprouted=2, spoiled=1)
    (balance,) = shipment_lines(shipment)
    assert (balance.received, balance.short) == (13, 7)
    code = balance.line.lot.code
    assert duties_on(shipment, factories.day(2019, 5)) == [
        ("odd", f"Lot {code}: 7 plants short. Shipped 20, in receipts 13."), ("odd", f"Lot {code}: 1 plant arrived spoiled."),
    ]  # fmt: skip
    received(shipment, coordinator, sound=7, on=factories.day(2019, 4, 9))
    (balance,) = shipment_lines(shipment)
    assert (balance.sound, balance.sprouted, balance.spoiled, balance.short) == (17, 2, 1, 0)


def test_a_list_adds_up_the_lines_and_not_the_receipts(client, coordinator):
    shipment = sent(coordinator, count=20)
    received(shipment, coordinator, sound=10)
    received(shipment, coordinator, sound=5, on=factories.day(2019, 4, 9))
    (row,) = client.get(reverse("shipment_list")).context["rows"]
    assert (row.cells[5][0], row.cells[2][0]) == (20, "2 receipts")


def test_seeds_and_plants_are_not_added_up(coordinator):
    seed, stock = factories.seed_lot(actor=coordinator, seeds=100), factories.stock_lot(actor=coordinator, plants=1)
    shipment = factories.shipment(actor=coordinator, lots=[(seed, "seed", 100), (stock, "container", 1)])
    assert shipment_words(shipment_lines(shipment)) == "100 seeds and 1 plant"


def receipt_data(shipment, **fields):
    line = shipment.lines.get().pk
    data = {"received_on": "2019-04-03", "received_by": "A. Holder", "box_condition": "good", "temperature_c": "3.5"}
    return data | {f"sound_{line}": "18", f"sprouted_{line}": "0", f"spoiled_{line}": "1"} | fields


def test_a_landowner_sends_the_receipt_of_their_own_shipment(client):
    owner = factories.person("landowner")
    shipment = sent(factories.person(), receiver=owner.partner)
    client.force_login(owner)
    address = reverse("receipt_add", args=[shipment.pk])
    page = client.get(address)
    assert page.context["grid"]["rows"][0]["place"] == "20 plants"
    assert page.context["form"].fields["temperature_c"].unit == "°C"
    answer = client.post(address, receipt_data(shipment), follow=True)
    code = shipment.lines.get().lot.code
    assert f"Short: 1 plant of {code}." in answer.content.decode()
    receipt = Receipt.objects.get()
    assert (receipt.entered_by, receipt.temperature_c, receipt.lines.get().sound) == (owner, 3.5, 18)


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"sound": ""}, "This field is required"),
        ({"sound": "eighteen"}, "whole number"),
        ({"sound": "20"}, "21 received in all, but 20 were shipped"),
        ({"received_on": "2019-03-31"}, "it cannot arrive before"),
        ({"box_condition": ""}, "This field is required"),
    ],
)
def test_a_refused_receipt_says_why_and_loses_nothing_typed(client, coordinator, typed, message):
    shipment = sent(coordinator)
    line = shipment.lines.get().pk
    data = receipt_data(
        shipment, note="wet corner", **{f"{name}_{line}" if name == "sound" else name: value for name, value in typed.items()}
    )
    page = client.post(reverse("receipt_add", args=[shipment.pk]), data)
    assert message in page.content.decode()
    assert "wet corner" in page.content.decode()
    assert not Receipt.objects.exists()


def test_a_landowner_reads_no_balance_and_no_drafts_of_others(client):
    owner, lead = factories.person("landowner"), factories.person("lead")
    lot = factories.stock_lot(actor=lead, plants=100, code="P19")
    mine, _other = (
        factories.shipment(actor=lead, receiver=receiver, code=code, lots=[(lot, "bareroot", 60)])
        for code, receiver in (("SH-1", owner.partner), ("SH-2", factories.partner()))
    )
    promised = "Drafts promise 120 plants of lot P19 (SH-1 60 and SH-2 60); it holds 100."
    for reader, said in ((lead, [promised]), (owner, [])):
        client.force_login(reader)
        page = client.get(reverse("shipment_detail", args=[mine.pk]))
        assert [duty.text for duty in page.context["due"]] == said
        assert ("SH-2" in page.content.decode()) == bool(said)


def test_a_landowner_sees_only_their_shipments_and_working_links(client):
    owner = factories.person("landowner")
    paper = factories.authorization(code="AU-OWN")
    mine, other = sent(factories.person(), receiver=owner.partner), sent(factories.person())
    mine.authorizations.add(paper)
    received(mine, factories.person(), sound=20)
    client.force_login(owner)
    assert [row.cells[0][0] for row in client.get(reverse("shipment_list")).context["rows"]] == [mine.code]
    assert client.get(reverse("shipment_detail", args=[other.pk])).status_code == 404
    page = client.get(reverse("shipment_detail", args=[mine.pk]))
    tables = [part(page, title) for title in ("What is in it", "Receipts", "Papers it goes under")]
    addresses = [url for table in tables for row in table["rows"] for _value, _align, url, _kind in row.cells if url]
    addresses += [url for _label, _value, url in page.context["facts"] if url] + [url for _label, url in page.context["actions"]]
    addresses += [step["url"] for step in page.context["chain"] if step.get("url")]
    assert addresses
    assert {address: client.get(address).status_code for address in addresses} == dict.fromkeys(addresses, 200)
    assert "AU-OWN" in page.content.decode()


def test_the_packing_list_holds_what_the_box_must_say(client, coordinator):
    mother = factories.pedigree_tree(code="KW-1")
    lot = factories.seed_lot(
        actor=coordinator, seeds=50, code="S19", mother=mother, year=2019, backcrosses=3, intercrosses=2, on=factories.day(2019)
    )
    receiver = factories.partner(name="Falls Farm", address="1 River Road")
    paper = factories.authorization(type="certificate", issuer="Example office", issuer_reference="X-7")
    shipment = factories.shipment(actor=coordinator, receiver=receiver, lots=[(lot, "seed", 50)], handling="KEEP 1–4 °C, DO NOT FREEZE")
    shipment.authorizations.add(paper)
    text = client.get(reverse("shipment_packing", args=[shipment.pk])).content.decode()
    for words in (
        "KEEP 1–4 °C, DO NOT FREEZE",
        "Falls Farm, 1 River Road",
        "certificate X-7 (Example office)",
        "S19",
        "B3F3",
        mother.taxon.name,
        "50",
    ):
        assert words in text, words
    assert "Test material, not for sale or gift." in text


def test_the_packing_list_of_a_manager_has_no_address(client):
    manager = factories.person("manager")
    client.force_login(manager)
    shipment = factories.shipment(actor=manager, receiver=factories.partner(address="1 River Road"))
    assert "1 River Road" not in client.get(reverse("shipment_packing", args=[shipment.pk])).content.decode()


def test_the_programme_sets_when_a_receipt_is_late(coordinator):
    values = {"owner": "A. Lead", "set_on": factories.day(2019), "basis": "example"}
    ProgrammeSetting.objects.create(key="receipt_days", value="3", **values)
    shipment = sent(coordinator)
    assert [duties_on(shipment, factories.day(2019, 4, day))[0][0] for day in (4, 5)] == ["info", "late"]
