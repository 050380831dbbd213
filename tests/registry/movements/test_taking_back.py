"""A dispatch or a receipt that was entered by mistake is taken back. Numbers are sums done by hand: common practice, no source."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from plantings.selectors.census.recount import recount_differences
from plantings.selectors.land.land import land_shipments
from plantings.selectors.permit_file.permit_file import permit_file
from plantings.services.supply import leftover_enter
from registry.models import AuditEntry, Receipt
from registry.selectors.audit.verify import verify_book
from registry.selectors.movements.shipments import shipment_lines
from registry.services.movements.shipments import shipment_cancel, shipment_dispatch, shipment_line_remove
from registry.services.movements.taking_back import dispatch_take_back, receipt_take_back
from registry.services.permits.authorizations import authorization_state_set
from tests import factories
from tests.registry.movements.taking_back_help import CAME, LEFT, came, sent

pytestmark = pytest.mark.django_db


@pytest.fixture
def actor():
    return factories.person("coordinator")


def test_a_dispatch_taken_back_is_a_draft_again_with_its_reason(actor):
    shipment = sent(actor)
    shipment = dispatch_take_back(actor=actor, shipment=shipment, reason="never left the store")
    lot = shipment.lines.get().lot
    assert (shipment.state, shipment.dispatched_on, lot.balance) == ("draft", None, 50)
    [reversal] = lot.ledger.exclude(reverses=None)
    assert (reversal.quantity, reversal.on, reversal.entered_by) == (20, LEFT, actor)
    assert reversal.reason == "dispatch of SH-1 taken back: never left the store"
    entry = AuditEntry.objects.get(verb="shipment.taken_back")
    assert (entry.actor, entry.reason, entry.changes["dispatched_on"]) == (actor, "never left the store", ["2019-04-01", None])
    assert recount_differences()[1] == []
    assert [check.faults for check in verify_book() if check.faults] == []


def test_a_dispatch_taken_back_can_be_dispatched_again(actor):
    shipment = dispatch_take_back(actor=actor, shipment=sent(actor), reason="wrong day")
    shipment_dispatch(actor=actor, shipment=shipment, on=factories.day(2019, 4, 2), recorded=True)
    assert shipment.lines.get().lot.balance == 30
    dispatch_take_back(actor=actor, shipment=shipment, reason="wrong day again")
    assert shipment.lines.get().lot.balance == 50


def test_what_a_taken_back_dispatch_drew_on_a_cap_is_given_back(actor):
    paper = factories.authorization(
        actor=actor, code="CAP", starts_on=factories.day(2019, 1, 1), cap_quantity=100, cap_unit="plants", limits={"cap_activities": ["dispatch"]},
    )  # fmt: skip
    authorization_state_set(actor=actor, paper=paper, state="in_force", on=factories.day(2019, 1, 1), reason="issued")
    lot = factories.stock_lot(actor=actor, plants=50)
    shipment = factories.shipment(actor=actor, code="SH-1", lots=[(lot, "bareroot", 20)])
    shipment.authorizations.add(paper)
    shipment_dispatch(actor=actor, shipment=shipment, on=LEFT, recorded=True)
    paper.refresh_from_db()
    assert paper.drawn == 20
    dispatch_take_back(actor=actor, shipment=shipment, reason="never left")
    paper.refresh_from_db()
    assert paper.drawn == 0
    assert [(draw.kind, draw.quantity, draw.subject) for draw in paper.draws.order_by("pk")] == [
        ("shipped", 20, "SH-1"), ("returned", -20, "SH-1"),
    ]  # fmt: skip
    assert permit_file(paper, timezone.now()).items.lines[0].sent == 0
    shipment_dispatch(actor=actor, shipment=shipment, on=LEFT, recorded=True)
    dispatch_take_back(actor=actor, shipment=shipment, reason="nor this time")
    paper.refresh_from_db()
    assert paper.drawn == 0


def test_a_dispatch_with_a_receipt_is_not_taken_back_before_its_receipt(actor):
    shipment = sent(actor)
    receipt = came(actor, shipment, 20)
    with pytest.raises(ValidationError, match=r"has a receipt of 3 Apr 2019, so it was sent\. If the receipt is wrong too"):
        dispatch_take_back(actor=actor, shipment=shipment, reason="never left")
    receipt_take_back(actor=actor, receipt=receipt, reason="of another box")
    assert dispatch_take_back(actor=actor, shipment=shipment, reason="never left").state == "draft"


@pytest.mark.parametrize("reason", ["", "  "])
def test_taking_back_needs_a_reason(actor, reason):
    shipment = sent(actor)
    receipt = came(actor, shipment, 20)
    for service, record in ((dispatch_take_back, {"shipment": shipment}), (receipt_take_back, {"receipt": receipt})):
        with pytest.raises(ValidationError, match="Give the reason"):
            service(actor=actor, reason=reason, **record)


def test_what_was_never_dispatched_cannot_be_taken_back(actor):
    draft = factories.shipment(actor=actor, code="SH-2")
    with pytest.raises(ValidationError, match="SH-2 is draft; only a dispatched one can be taken back"):
        dispatch_take_back(actor=actor, shipment=draft, reason="x")


def test_a_lot_that_was_in_the_ledger_stays_in_the_draft(actor):
    shipment = dispatch_take_back(actor=actor, shipment=sent(actor), reason="never left")
    with pytest.raises(ValidationError, match="P19 left in SH-1 once and was taken back.* cancel the shipment and start a new one"):
        shipment_line_remove(actor=actor, line=shipment.lines.get())
    assert shipment_cancel(actor=actor, shipment=shipment, reason="start again").state == "cancelled"


def everything_said(actor, shipment):
    """What each reader of receipts says of a shipment."""
    landowner = factories.person("landowner", partner=shipment.receiver)
    paper = shipment.authorizations.get()
    file = permit_file(paper, timezone.now())
    [line] = shipment_lines(shipment)
    [landed] = land_shipments(landowner)
    return {
        "page": (line.received, line.short),
        "landowner": ([receipt.pk for receipt in landed.receipts], landed.open, [part.got for part in landed.lines]),
        "permit file": [(part.received, part.arrived) for part in file.items.lines] + [receipt.pk for receipt in file.receipts],
        "recount": recount_differences()[1],
    }


def test_no_reader_counts_a_receipt_that_was_taken_back(actor):
    shipment = sent(actor)
    shipment.authorizations.add(factories.authorization(actor=actor))
    before = everything_said(actor, shipment)
    receipt = came(actor, shipment, 18, 2)
    assert everything_said(actor, shipment) != before
    receipt_take_back(actor=actor, receipt=receipt, reason="counted in the wrong box")
    assert everything_said(actor, shipment) == before
    receipt.refresh_from_db()
    assert (receipt.taken_back_by, receipt.taken_back_reason, receipt.taken_back_at is None) == (actor, "counted in the wrong box", False)
    assert AuditEntry.objects.get(verb="receipt.taken_back").reason == "counted in the wrong box"
    again = came(actor, shipment, 19, 1)  # of the same day
    assert (again.pk != receipt.pk, shipment_lines(shipment)[0].received) == (True, 20)
    with pytest.raises(ValidationError, match="already taken back"):
        receipt_take_back(actor=actor, receipt=receipt, reason="twice")


def test_a_receipt_is_taken_back_whole_or_not_at_all(actor):
    receipt = came(actor, sent(actor), 20)
    with pytest.raises(IntegrityError), transaction.atomic():
        Receipt.objects.filter(pk=receipt.pk).update(taken_back_reason="half")


def test_a_receipt_of_plants_that_are_planted_is_not_taken_back(actor):
    owner = factories.partner()
    shipment = sent(actor, receiver=owner)
    receipt = came(actor, shipment, 20)
    planting = factories.planting(site=factories.site(partner=owner), supply="shipment")
    factories.trees(planting, shipment.lines.get().lot, 3, actor=actor)
    with pytest.raises(ValidationError, match="3 plants of lot P19 from this shipment are planted or recorded as leftovers"):
        receipt_take_back(actor=actor, receipt=receipt, reason="wrong")


@pytest.mark.parametrize("outcome", ["held", "destroyed"])
def test_a_receipt_of_leftovers_is_not_taken_back(actor, outcome):
    shipment = sent(actor)
    receipt = came(actor, shipment, 20)
    leftover_enter(actor=actor, line=shipment.lines.get(), outcome=outcome, count=4, on=CAME)
    with pytest.raises(ValidationError, match="4 plants of lot P19"):
        receipt_take_back(actor=actor, receipt=receipt, reason="wrong")


def test_a_second_receipt_that_nothing_needs_is_taken_back(actor):
    shipment = sent(actor)
    came(actor, shipment, 10)
    second = came(actor, shipment, 10, on=factories.day(2019, 4, 5))
    leftover_enter(actor=actor, line=shipment.lines.get(), outcome="destroyed", count=10, on=factories.day(2019, 4, 6))
    receipt_take_back(actor=actor, receipt=second, reason="the same box twice")
    assert shipment_lines(shipment)[0].received == 10


def test_both_are_taken_back_on_their_pages(client, actor):
    client.force_login(actor)
    shipment = sent(actor)
    receipt = came(actor, shipment, 20)
    pages = {name: reverse(f"{name}_detail", args=[record.pk]) for name, record in (("shipment", shipment), ("receipt", receipt))}
    assert "Take the dispatch back" not in client.get(pages["shipment"]).content.decode()
    assert "Take the receipt back" in client.get(pages["receipt"]).content.decode()
    client.post(reverse("receipt_take_back", args=[receipt.pk]), {"reason": "another box"})
    page = client.get(pages["receipt"]).content.decode()
    assert "Taken back" in page
    assert "another box" in page
    assert "Take the receipt back" not in page
    page = client.get(pages["shipment"]).content.decode()
    assert f"Taken back by {actor}" in page
    assert "Take the dispatch back" in page
    client.post(reverse("shipment_take_back", args=[shipment.pk]), {"reason": "never left"})
    page = client.get(pages["shipment"]).content.decode()
    assert "never left" in page
    shipment.refresh_from_db()
    assert shipment.state == "draft"
