"""Sowing, raising, culling, splitting and closing a lot, on screen."""

import pytest
from django.urls import reverse

from plantings.services.supply import leftover_enter
from registry.models import LedgerEntry, Lot
from registry.services.lots.ledger import ledger_enter, lot_close, lot_split
from registry.services.lots.sowing import lot_sow
from tests import factories
from tests.registry.lots.seed_page_help import DAY, errors, fresh, messages, page_of, part, send

pytestmark = pytest.mark.django_db


# -- sowing, raising, culling, splitting -------------------------------------------------------


def test_sowing_raising_and_culling_follow_each_other(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=300, code="S")
    page = send(client, "lot_sow", lot, {"count": "200", "on": "2019-11-20", "storage_place": "bed 4", "note": "2 cm deep"})
    stock = Lot.objects.get(code="P19-S")
    assert page.context["object"] == stock and "200 seeds sown into P19-S" in messages(page)
    assert (stock.parent, stock.year, stock.storage_place, fresh(lot).balance) == (lot, 2019, "bed 4", 100)
    send(client, "lot_sow", lot, {"into": str(stock.pk), "count": "50", "on": "2019-11-21"})
    assert fresh(lot).balance == 50 and Lot.objects.filter(kind="stock").count() == 1
    send(client, "lot_raise", stock, {"count": "190", "on": "2020-06-01"})
    page = send(client, "lot_raise", stock, {"count": "61", "on": "2020-06-02"})
    assert "more plants than seeds" in errors(page)["count"][0]
    page = send(client, "lot_cull", stock, {"count": "22", "on": "2020-09-01", "why": "small", "note": "under 20 cm"})
    assert fresh(stock).balance == 168
    assert LedgerEntry.objects.get(lot=stock, kind="discarded").reason == "culled, too small; under 20 cm"
    row = client.get(reverse("lot_raised")).context["table"]["rows"][0]
    assert [cell[0] for cell in row.cells][2:] == [250, 190, 22, "12 (8–17)", "22 too small"]  # Wilson 1927 by statsmodels: .0778 to .1692


def test_sowing_does_not_offer_the_stock_lot_of_another_lot(client, manager):
    lot, other = factories.seed_lot(actor=manager, seeds=30), factories.seed_lot(actor=manager, seeds=30)
    lot_sow(actor=manager, lot=other, stock=Lot(code="P1", year=2019), count=5, on=DAY)
    page = send(client, "lot_sow", lot, {"into": str(Lot.objects.get(code="P1").pk), "count": "5", "on": "2019-11-20"})
    assert page.redirect_chain and Lot.objects.filter(parent=lot).count() == 1  # without one of its own it makes a new one
    page = send(client, "lot_sow", lot, {"into": str(Lot.objects.get(code="P1").pk), "count": "5", "on": "2019-11-20"})
    assert set(errors(page)) == {"into"}


def test_a_code_that_is_taken_is_refused(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=30, code="S")
    page = send(client, "lot_split", lot, {"code": "s", "count": "5", "on": "2019-11-20"})
    assert "There is a lot s already" in errors(page)["code"][0]


def test_a_split_and_the_way_back(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=30, code="S")
    page = send(client, "lot_split", lot, {"count": "12", "on": "2019-11-20", "storage_place": "nursery", "reason": "for the nursery"})
    piece = Lot.objects.get(code="S-A")
    assert "12 seeds moved into S-A" in messages(page)
    assert [step["code"] for step in page.context["chain"]][-1] == "S-A"
    assert [step["code"] for step in page_of(client, piece).context["chain"]][-2:] == ["S", "S-A"]
    send(client, "lot_put_back", piece, {"count": "2", "on": "2019-11-21", "reason": "too many"})
    assert (fresh(lot).balance, fresh(piece).balance) == (20, 10)
    page = send(client, "lot_split", lot, {"into": str(piece.pk), "count": "21", "on": "2019-11-22"})
    assert "holds 20 seeds" in errors(page)["count"][0]


# -- account, closing -------------------------------------------------------------------------


def test_the_account_closes_when_every_seed_is_accounted_for(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=500)
    ledger_enter(actor=manager, lot=lot, kind="discarded", quantity=40, on=DAY)
    account = part(page_of(client, lot), "account")
    assert "460 seeds on hand" in account["note"]
    ledger_enter(actor=manager, lot=lot, kind="sown", quantity=460, on=DAY)
    account = part(page_of(client, lot), "account")
    assert "The account closes: 500 seeds came in" in account["note"]
    assert [(row.cells[0][0], row.cells[1][0]) for row in account["rows"]] == [
        ("Harvested", "+500"), ("Discarded", "−40"), ("Sown", "−460"),
    ]  # fmt: skip


def test_a_lot_closes_only_when_empty_and_can_be_opened_again(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=50)
    page = send(client, "lot_close", lot, {"on": "2019-12-01"})
    assert "50 seeds still on hand" in errors(page)["__all__"][0]
    ledger_enter(actor=manager, lot=lot, kind="destroyed", quantity=50, on=DAY)
    page = send(client, "lot_close", lot, {"on": "2019-12-01", "reason": "all weevilled"})
    assert page.context["state"] == "closed 1 Dec 2019"
    assert [label for label, _url in page.context["actions"]] == [
        "Pedigree and shares", "Open the lot again", "How this lot lives", "Seed calculator", "Stratification calendar",
        "Print container labels", "Print its history", "Print a draft for a certificate of identity", "What does it affect?", "Enter evidence of identity",
        "Mark in question", "Trace up and down",
    ]  # fmt: skip
    page = send(client, "ledger_add", lot, {"kind": "harvested", "quantity": "5", "on": "2019-11-02"})
    assert "was closed on 1 Dec 2019" in errors(page)["__all__"][0]
    page = send(client, "lot_reopen", lot, {"reason": ""})
    assert set(errors(page)) == {"reason"}
    page = send(client, "lot_reopen", lot, {"reason": "a bag was found"})
    assert page.context["state"] == "0 seeds on hand"


def test_the_closing_page_names_leftovers_a_receiver_still_has(client, manager):
    lot = factories.stock_lot(actor=manager, plants=10)
    sent = factories.shipment(
        actor=manager, lots=[(lot, "bareroot", 10)], dispatched_on=factories.day(2019, 4), received_on=factories.day(2019, 4, 2)
    )
    leftover_enter(actor=manager, line=sent.lines.get(), outcome="held", count=4, on=factories.day(2019, 4, 9))
    page = client.get(reverse("lot_close", args=[lot.pk]))
    assert "4 plants reported as leftovers still held" in page.content.decode()
    page = send(client, "lot_close", lot, {"on": "2019-12-01"})
    assert "4 plants are reported as leftovers still held by a receiver" in errors(page)["__all__"][0]
    assert [row.cells[4][0] for row in part(page_of(client, lot), "leftovers")["rows"]] == [4]


def test_a_closed_part_is_not_offered_for_splitting_or_sowing(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=50)
    piece = lot_split(actor=manager, lot=lot, part=Lot(code="A", year=2018), count=5, on=DAY)
    ledger_enter(actor=manager, lot=piece, kind="destroyed", quantity=5, on=DAY)
    lot_close(actor=manager, lot=piece, on=DAY)
    assert "into" not in client.get(reverse("lot_split", args=[lot.pk])).context["form"].fields
