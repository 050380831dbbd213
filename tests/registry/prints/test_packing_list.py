"""The packing list, container labels and the warning of an identity in question."""

import pytest
from django.urls import reverse
from django.utils import timezone

from registry.models import IssuedPrint, Treatment
from registry.services.identity.questions import question_raise, question_settle
from tests import factories
from tests.prints.reading import page_texts
from tests.registry.prints.print_help import LABELS, made, orchard_lot, words

pytestmark = pytest.mark.django_db


# -- container labels ---------------------------------------------------------------------------------------


def test_labels_come_in_pairs_with_what_the_fridge_must_know(client, lead):
    lot = orchard_lot(lead)
    text = words(made(client, "lot_labels", lot, **LABELS | {"containers": "3", "sheet": "a4-2x4"}))
    assert (text.count("INSIDE"), text.count("OUTSIDE"), text.count(lot.code)) == (3, 3, 6)
    for said in ("hybrid material, B3F4", "KEEP 1–4 °C, DO NOT FREEZE", "PLANT BY 30 Jun 2027", lot.mother.code, "harvested 2 Oct 2026"):
        assert text.count(said) == 6, said


def test_a_label_gives_no_temperature_for_unknown_seed(client, lead):
    lot = factories.seed_lot(actor=lead, seeds=10)
    assert "KEEP" not in words(made(client, "lot_labels", lot, **LABELS))


def test_treated_seed_is_marked_on_every_label(client, lead):
    lot = orchard_lot(lead)
    factories.put_in(
        Treatment(
            lot=lot, kind="pesticide", started_on=factories.day(2026, 10, 5), product="Example 42", operator="O", entered_at=timezone.now()
        )
    )
    assert words(made(client, "lot_labels", lot, **LABELS)).count("PESTICIDE-TREATED: NO FOOD") == 4


@pytest.mark.parametrize(
    ("data", "field", "message"),
    [
        ({"start": "31"}, "start", "This sheet has 30 labels. Enter 1 to 30."),
        ({"start": "0"}, "start", "greater than or equal to 1"),
        ({"containers": "0"}, "containers", "greater than or equal to 1"),
        ({"containers": "251"}, "containers", "less than or equal to 250"),
        ({"sheet": "poster"}, "sheet", "not one of the available choices"),
    ],
)
def test_a_sheet_that_cannot_be_printed_is_refused_at_its_box(client, lead, data, field, message):
    lot = orchard_lot(lead)
    page = client.post(reverse("lot_labels", args=[lot.pk]), LABELS | data)
    assert message in str(page.context["form"].errors[field])
    assert page.context["form"].data["containers"] == (LABELS | data)["containers"]
    assert not IssuedPrint.objects.exists()


# -- packing list ---------------------------------------------------------------------------------------------


def test_the_packing_list_holds_what_the_box_must_say(client, lead):
    """What a box must say: general nature, quantity, origin, shipper, consignee and permit number; common practice."""
    lot = orchard_lot(lead)
    factories.put_in(
        Treatment(
            lot=lot,
            kind="hot_water",
            started_on=factories.day(2026, 10, 3),
            temperature_c=49,
            minutes=20,
            operator="O",
            entered_at=timezone.now(),
        )
    )
    receiver = factories.partner(name="Falls Farm", address="1 River Road\nFalls")
    permit = factories.authorization(type="permit", issuer="Example office", issuer_reference="X-7")
    shipment = factories.shipment(actor=lead, receiver=receiver, lots=[(lot, "seed", 240)], handling="KEEP 1–4 °C, DO NOT FREEZE")
    shipment.authorizations.add(permit)
    answer = made(client, "shipment_packing", shipment)
    inside, outside = (" ".join(text.split()) for text in page_texts(answer.content))
    assert "FOR INSIDE THE BOX" in inside and "FOR THE OUTSIDE OF THE BOX" in outside
    for text in (inside, outside):
        for said in (
            "KEEP 1–4 °C, DO NOT FREEZE, PLANT BY 30 Jun 2027", "Falls Farm, 1 River Road, Falls", "Zoë Łukasiewicz", "permit X-7 (Example office)",
            lot.code, lot.taxon.name, "B3F4", lot.mother.code, "240 seeds", "hot water", "49 °C", "Test material, not for sale or gift.",
            "Check with the local authority", "page 1 of 1",
        ):  # fmt: skip
            assert said in text, said
    shown = client.get(reverse("shipment_packing", args=[shipment.pk])).context["parts"]
    (contents,) = [part for part in shown if part["title"] == "Contents"]
    # 240 seeds of 5,000 g / 400 = 12.5 g each
    assert contents["rows"][0].cells[5][0] == "about 3.00 kg"


def test_a_paper_not_in_force_is_listed_with_its_state(client, lead):
    shipment = factories.shipment(actor=lead)
    shipment.authorizations.add(factories.authorization(issuer_reference="X-8", state="draft"))
    assert "X-8 (Example office), draft" in words(made(client, "shipment_packing", shipment))


def test_native_material_is_not_called_test_material(client, lead):
    lot = factories.stock_lot(actor=lead, plants=20, generation_other="native")
    text = words(made(client, "shipment_packing", factories.shipment(actor=lead, lots=[(lot, "container", 5)])))
    assert "Test material" not in text
    assert "No handling instructions recorded" in text and "KEEP 1–4" not in text


def test_the_earliest_use_by_of_the_lots_is_the_day_to_plant_by(client, lead):
    lots = [orchard_lot(lead, use_by=factories.day(2027, month, 1)) for month in (6, 4, 5)]
    text = words(made(client, "shipment_packing", factories.shipment(actor=lead, lots=[(lot, "seed", 5) for lot in lots])))
    assert "PLANT BY 1 Apr 2027" in text


def test_no_print_shows_a_manager_the_receivers_address(client):
    manager = factories.person("manager")
    client.force_login(manager)
    shipment = factories.shipment(actor=manager, receiver=factories.partner(address="1 River Road"))
    for route in ("shipment_packing", "shipment_health_draft"):
        assert "1 River Road" not in client.get(reverse(route, args=[shipment.pk])).content.decode()
        assert "1 River Road" not in words(made(client, route, shipment))


# -- identity in question ---------------------------------------------------------------------------------------


def test_every_print_warns_of_an_identity_in_question(client, lead):
    lot = orchard_lot(lead)
    shipment = factories.shipment(actor=lead, lots=[(lot, "seed", 5)])
    prints = (("lot_labels", lot, LABELS), ("lot_life", lot, {}), ("lot_identity_draft", lot, {}), ("shipment_packing", shipment, {}),
              ("shipment_health_draft", shipment, {}))  # fmt: skip

    def loud():
        return ["IDENTITY IN QUESTION" in words(made(client, route, record, **data)) for route, record, data in prints]

    assert loud() == [False] * 5
    question = question_raise(actor=lead, about=lot.mother, raised_on=factories.day(2026, 11), reason="Leaves of the donor")
    assert loud() == [True] * 5
    assert "Leaves of the donor" in words(made(client, "shipment_packing", shipment))
    due = [duty.text for duty in client.get(reverse("shipment_detail", args=[shipment.pk])).context["due"]]
    assert any("in question" in text and "Leaves of the donor" in text for text in due)
    question_settle(actor=lead, question=question, outcome="confirmed", text="Genotyped", on=factories.day(2026, 11, 20))
    assert loud() == [False] * 5
