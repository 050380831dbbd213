"""Drafts that together take more than a lot holds say so; a number above the balance is refused in words."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from registry.imports.movements.shipments import ShipmentSheet
from registry.models import ShipmentLine
from registry.services.movements.shipments import shipment_cancel, shipment_line_set
from tests import factories
from tests.registry.sheets.sheet_help import refused

pytestmark = pytest.mark.django_db
BOTH = "Drafts promise 120 seeds of lot S-1 (SH-1 70 and SH-2 50); it holds 100."


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def lot(lead):
    return factories.seed_lot(actor=lead, code="S-1", seeds=100)


def draft(lead, lot, code, quantity):
    return factories.shipment(actor=lead, code=code, lots=[(lot, "seed", quantity)])


def page(client, name, record):
    return client.get(reverse(name, args=[record.pk])).content.decode()


def test_two_drafts_that_take_too_much_say_so_on_lot_and_shipments(client, lead, lot):
    first, second = draft(lead, lot, "SH-1", 70), draft(lead, lot, "SH-2", 50)
    client.force_login(lead)
    assert BOTH in page(client, "lot_detail", lot)
    for shipment in (first, second):
        text = page(client, "shipment_detail", shipment)
        assert "Drafts promise 120 seeds of lot S-1" in text and "it holds 100." in text
    shipment_cancel(actor=lead, shipment=second, reason="not wanted")
    assert "Drafts promise" not in page(client, "lot_detail", lot) + page(client, "shipment_detail", first)


def test_drafts_within_the_balance_say_nothing(client, lead, lot):
    draft(lead, lot, "SH-1", 70), draft(lead, lot, "SH-2", 30)
    client.force_login(lead)
    assert "Drafts promise" not in page(client, "lot_detail", lot)


def test_a_number_above_the_balance_is_refused_in_words(client, lead, lot):
    draft(lead, lot, "SH-1", 70)
    other = factories.shipment(actor=lead, code="SH-2")
    client.force_login(lead)
    for typed, words in (("101", "101"), ("1999999999", "1,999,999,999")):
        answer = client.post(reverse("shipment_line_add", args=[other.pk]), {"lot": "S-1", "form": "seed", "quantity": typed})
        said = " ".join(answer.context["form"].errors["quantity"])
        assert said.startswith(f"Lot S-1 holds 100 seeds, so a shipment cannot take {words}. Drafts already take 70 (SH-1).")
        assert f'value="{typed}"' in answer.content.decode()
    assert ShipmentLine.objects.count() == 1


def test_a_sheet_refuses_a_number_above_the_balance(lead, lot):
    partner = factories.partner()
    head = "Shipment,Receiver (partner),Lot,Form,Quantity (seeds or plants)\n"
    (problem,) = refused(ShipmentSheet, head + f"SH-1,{partner.code},S-1,seed,101\n")
    assert "Lot S-1 holds 100 seeds, so a shipment cannot take 101." in problem


def test_a_line_on_file_stays_when_the_lot_has_less_today(lead, lot):
    shipment = draft(lead, lot, "SH-1", 70)
    lot.balance = 60
    lot.save()
    shipment_line_set(actor=lead, shipment=shipment, lot=lot, form="seed", quantity=70)
    with pytest.raises(ValidationError, match="holds 60 seeds"):
        shipment_line_set(actor=lead, shipment=shipment, lot=lot, form="seed", quantity=71)


def test_one_draft_that_takes_more_than_is_left_says_so_on_its_lot(client, lead, lot):
    draft(lead, lot, "SH-1", 70)
    client.force_login(lead)
    assert "promises" not in page(client, "lot_detail", lot)
    lot.balance = 60
    lot.save()
    assert "Draft SH-1 promises 70 seeds of lot S-1; it holds 60." in page(client, "lot_detail", lot)


def test_of_an_empty_lot_no_number_is_asked_for(lead, lot):
    lot.balance = 0
    lot.save()
    with pytest.raises(ValidationError, match="holds 0 seeds, so a shipment cannot take 5. Correct the ledger of the lot first, or choose"):
        draft(lead, lot, "SH-1", 5)
