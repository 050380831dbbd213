"""Lots on screen: list, page, ledger, bulking. Numbers are sums done by hand: common practice, no source."""

import datetime

import pytest
from django.urls import reverse

from registry.models import AuditEntry, LedgerEntry, Lot
from registry.selectors.lots.lots import lot_duties, lot_ledger
from registry.services.lots.ledger import ledger_enter, ledger_reverse, lot_bulk
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    person = factories.person("manager")
    client.force_login(person)
    return person


def codes(page):
    return [row.cells[0][0] for row in page.context["rows"]]


def part(page, title):
    return next(section for section in page.context["parts"] if section["title"] == title)


def texts(table, column):
    return [row.cells[column][0] for row in table["rows"]]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({}, ["A-SEED", "B-STOCK", "C-RAISED"]),
        ({"kind": "seed"}, ["A-SEED"]),
        ({"origin": "sown"}, ["C-RAISED"]),
        ({"year": "2017"}, ["A-SEED"]),
        ({"holding": "some"}, ["A-SEED"]),
        ({"holding": "none"}, ["B-STOCK", "C-RAISED"]),
        ({"text": "kw-1"}, ["A-SEED"]),
        ({"generation": "BC3-F3"}, ["A-SEED"]),
        ({"kind": "stock", "origin": "outside"}, ["B-STOCK"]),
    ],
)
def test_lots_are_found_by_plain_words(client, manager, query, found):
    seed = factories.seed_lot(
        actor=manager, seeds=10, code="A-SEED", year=2017, mother=factories.pedigree_tree(code="KW-1"), backcrosses=3, intercrosses=2
    )
    factories.stock_lot(code="B-STOCK")
    factories.stock_lot(code="C-RAISED", origin="sown", parent=seed, outside_origin="")
    assert codes(client.get(reverse("lot_list"), query)) == found


def test_an_invalid_generation_filter_hides_no_rows(client, manager):
    factories.stock_lot(code="B-STOCK")
    page = client.get(reverse("lot_list"), {"generation": "B3X"})
    assert codes(page) == ["B-STOCK"]
    assert "is not a generation code" in page.content.decode()


def test_the_download_holds_exactly_the_filtered_rows(client, manager):
    factories.seed_lot(code="A-SEED")
    factories.stock_lot(code="B-STOCK")
    text = client.get(reverse("lot_list"), {"kind": "stock", "download": "csv"}).content.decode("utf-8-sig")
    assert "B-STOCK" in text
    assert "A-SEED" not in text


def test_the_page_of_a_lot_walks_from_mother_to_shipment(client, manager):
    mother = factories.pedigree_tree(code="KW-1")
    seed = factories.seed_lot(actor=manager, seeds=100, code="S", mother=mother)
    stock = factories.stock_lot(actor=manager, plants=40, code="P", origin="sown", parent=seed, outside_origin="")
    factories.stock_lot(code="P2", origin="sown", parent=stock, outside_origin="")
    shipment = factories.shipment(actor=manager, code="SH", lots=[(stock, "bareroot", 5)])
    page = client.get(reverse("lot_detail", args=[stock.pk]))
    assert [step["code"] for step in page.context["chain"]] == ["KW-1", "S", "P", "P2", "SH"]
    assert [step["code"] for step in page.context["chain"] if step.get("current")] == ["P"]
    assert page.context["chain"][4]["url"] == reverse("shipment_detail", args=[shipment.pk])
    assert texts(part(page, "Shipments"), 0) == ["SH"]


def test_the_page_of_a_raised_lot_names_the_lineage_of_its_seed(client, manager):
    mother = factories.pedigree_tree(code="KW-1", source_of_resistance="Heron", recurrent_line="L7")
    seed = factories.seed_lot(mother=mother, year=2019, cross_type="open", backcrosses=3, intercrosses=2)
    stock = factories.stock_lot(origin="sown", parent=seed, outside_origin="")
    facts = {label: value for label, value, _url in client.get(reverse("lot_detail", args=[stock.pk])).context["facts"]}
    assert [facts[label] for label in ("Family", "Source of resistance", "Recurrent line", "Generation")] == [
        "KW-1 × OP, 2019",
        "Heron",
        "L7",
        "B3F3",
    ]


def test_bulk_and_component_pages_name_each_other(client, manager):
    one, two = factories.seed_lot(actor=manager, seeds=30, code="ONE"), factories.seed_lot(actor=manager, seeds=20, code="TWO")
    bulk = factories.stock_lot(kind="seed", origin="bulk", outside_origin="", code="BULK")
    for lot, count in ((one, 12), (two, 8)):
        lot_bulk(actor=manager, bulk=bulk, component=lot, count=count, on=factories.day(2019))
    page = client.get(reverse("lot_detail", args=[bulk.pk]))
    assert list(zip(texts(part(page, "Components"), 0), texts(part(page, "Components"), 1), strict=True)) == [("ONE", 12), ("TWO", 8)]
    assert page.context["state"] == "20 seeds on hand"
    assert [step["code"] for step in client.get(reverse("lot_detail", args=[one.pk])).context["chain"]][-1] == "BULK"


def test_the_ledger_shows_balances_by_day_and_marks_reversals(manager):
    lot = factories.seed_lot(actor=manager, seeds=100, on=factories.day(2018, 10, 1))
    wrong = ledger_enter(actor=manager, lot=lot, kind="discarded", quantity=30, on=factories.day(2018, 10, 5))
    ledger_enter(actor=manager, lot=lot, kind="sampled", quantity=10, on=factories.day(2018, 10, 5))
    ledger_reverse(actor=manager, entry=wrong, reason="Counted twice", on=factories.day(2018, 11, 1))
    rows = lot_ledger(lot)
    assert [row.entry.quantity for row in rows] == [100, -30, -10, 30]
    assert [row.balance for row in rows] == [100, None, 60, 90]
    assert [row.can_reverse for row in rows] == [True, False, True, False]
    assert rows[1].reversal == rows[3].entry


def test_the_ledger_on_screen_says_what_was_reversed_and_why(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=100)
    wrong = ledger_enter(actor=manager, lot=lot, kind="discarded", quantity=30, on=factories.day(2018, 10, 5))
    client.post(reverse("ledger_reverse", args=[wrong.pk]), {"reason": "Counted twice"})
    table = part(client.get(reverse("lot_detail", args=[lot.pk])), "Ledger")
    assert texts(table, 2) == ["+100", "−30", "+30"]
    assert [row.mark for row in table["rows"]] == ["", "soft", "soft"]
    assert "reversed on 5 Oct 2018: Counted twice" in texts(table, 5)[1]
    assert [(row.cells[7][2], row.cells[7][3]) for row in table["rows"]] == [
        (reverse("ledger_reverse", args=[lot.ledger.get(kind="harvested").pk]), None), (None, "blank"), (None, "blank"),
    ]  # fmt: skip
    assert table["totals"][3][0] == 100


@pytest.mark.parametrize(
    ("days_to_use_by", "severity"), [(-1, "late"), (0, "soon"), (30, "soon"), (31, None)]
)  # the 30 days of notice are common practice, no source
def test_use_by_is_due_for_thirty_days_and_late_after_its_day(manager, days_to_use_by, severity):
    today = factories.day(2020, 6, 1)
    lot = factories.seed_lot(actor=manager, seeds=5, use_by=today + datetime.timedelta(days=days_to_use_by))
    lot.refresh_from_db()
    duties = lot_duties(lot, today, has_ledger=True, has_components=False)
    assert [duty.severity for duty in duties] == ([severity] if severity else [])


def test_an_empty_lot_has_no_use_by_line_and_no_entries_is_odd(client, manager):
    lot = factories.seed_lot(use_by=factories.day(2019))
    page = client.get(reverse("lot_detail", args=[lot.pk]))
    assert [(duty.severity, duty.text) for duty in page.context["due"]] == [("odd", "The ledger is empty. Enter what was harvested.")]


def test_an_entry_is_made_in_the_unit_of_the_lot(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=100)
    address = reverse("ledger_add", args=[lot.pk])
    page = client.get(address)
    assert page.context["form"].fields["quantity"].unit == "seeds"
    kinds = [kind for kind, _label in page.context["form"].fields["kind"].choices]
    assert kinds == ["harvested", "discarded", "sampled", "sown", "destroyed", "counted"]
    answer = client.post(address, {"kind": "sampled", "quantity": "10", "on": "2019-01-10", "mass_g": "45.5"})
    assert answer["Location"] == reverse("lot_detail", args=[lot.pk])
    entry = lot.ledger.get(kind="sampled")
    assert (entry.quantity, entry.mass_g, entry.entered_by) == (-10, 45.5, manager)


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"quantity": "101"}, "holds 100 seeds"),
        ({"quantity": "-3"}, "without a minus sign"),
        ({"quantity": "0"}, "The quantity is 0"),
        ({"quantity": "ten"}, "whole number"),
        ({"on": "2999-01-01"}, "This date has not come yet"),
        ({"on": "2017-01-01"}, "holds 0 seeds"),
        ({"kind": "counted", "quantity": "-3"}, "Say how the difference was found"),
        ({"kind": "shipped"}, "Select a valid choice"),
    ],
)
def test_a_wrong_entry_is_explained_and_what_was_typed_stays(client, manager, typed, message):
    lot = factories.seed_lot(actor=manager, seeds=100)
    data = {"kind": "sampled", "quantity": "10", "on": "2019-01-10", "reference": "my number"} | typed
    page = client.post(reverse("ledger_add", args=[lot.pk]), data)
    assert message in page.content.decode()
    assert 'value="my number"' in page.content.decode()
    assert lot.ledger.count() == 1


@pytest.mark.parametrize(("quantity", "words"), [(1, "−1 seed."), (1200, "−1,200 seeds.")])
def test_what_is_reversed_is_said_with_its_unit(client, manager, quantity, words):
    lot = factories.seed_lot(actor=manager, seeds=2000)
    entry = ledger_enter(actor=manager, lot=lot, kind="discarded", quantity=quantity, on=factories.day(2018, 10, 5))
    page = client.get(reverse("ledger_reverse", args=[entry.pk])).content.decode()
    assert f"Discarded on 5 Oct 2018: {words} The entry stays in the ledger" in page


def test_an_entry_of_a_movement_cannot_be_reversed_by_hand(client, manager):
    lot = factories.stock_lot(actor=manager, plants=20)
    factories.shipment(actor=manager, lots=[(lot, "bareroot", 5)], dispatched_on=factories.day(2019, 4))
    entry = lot.ledger.get(kind="shipped")
    page = client.post(reverse("ledger_reverse", args=[entry.pk]), {"reason": "wrong"})
    assert "belongs to a movement" in page.content.decode()
    assert not LedgerEntry.objects.filter(reverses=entry).exists()


def test_a_component_is_mixed_in_by_its_code(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=30, code="ONE")
    bulk = factories.stock_lot(kind="seed", origin="bulk", outside_origin="", code="BULK")
    address = reverse("lot_bulk", args=[bulk.pk])
    assert "holds 30 seeds" in client.post(address, {"component": "one", "count": "31", "on": "2019-01-10"}).content.decode()
    assert client.post(address, {"component": " one ", "count": "30", "on": "2019-01-10"}).status_code == 302
    bulk.refresh_from_db()
    lot.refresh_from_db()
    assert (bulk.balance, lot.balance) == (30, 0)
    assert (
        "There is no lot &#x27;ONE&#x27; to choose here"
        in client.post(address, {"component": "ONE", "count": "1", "on": "2019-01-11"}).content.decode()
    )


def a_harvest(**fields):
    return {
        "code": "S19",
        "kind": "seed",
        "taxon": factories.taxon().pk,
        "origin": "harvest",
        "year": "2019",
        "mother": "KW-1",
        "cross_type": "open",
    } | fields


def test_a_lot_is_added_with_its_generation_as_two_numbers(client, manager):
    mother = factories.pedigree_tree(code="KW-1")
    answer = client.post(reverse("lot_add"), a_harvest(generation="bc3 f3"))
    lot = Lot.objects.get(code="S19")
    assert answer["Location"] == reverse("lot_detail", args=[lot.pk])
    assert (lot.mother, lot.backcrosses, lot.intercrosses, lot.generation_code) == (mother, 3, 2, "B3F3")
    assert AuditEntry.objects.get(verb="lot.added").record_label == "S19"


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"mother": ""}, "mother", "A harvest names its mother tree."),
        ({"mother": "KW-9"}, "mother", "There is no pedigree tree 'KW-9' to choose here."),
        ({"year": ""}, "year", "A harvest has its ripening year."),
        ({"outside_origin": "Vermont"}, "outside_origin", "Leave this blank for a harvest of one mother tree"),
        ({"generation": "B3F3", "generation_word": "outcross"}, "generation_word", "Give the code or the word, not both."),
        ({"generation_word": "BC3-F3"}, "generation_word", "B3F3 is a code. Write it in the box Generation."),
        ({"generation_word": "B3F"}, "generation_word", "is not a generation code"),
        ({"code": ""}, "code", "This field is required."),
    ],
)
def test_a_lot_that_breaks_its_origin_says_where(client, manager, typed, field, message):
    factories.pedigree_tree(code="KW-1")
    page = client.post(reverse("lot_add"), a_harvest(**typed))
    assert message in " ".join(page.context["form"].errors[field])
    assert not Lot.objects.exists()


def test_a_changed_lot_says_why_and_keeps_its_unit(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=10, code="S19", mother=factories.pedigree_tree(code="KW-1"), year=2019)
    address = reverse("lot_edit", args=[lot.pk])
    assert client.get(address).context["form"]["mother"].value() == "KW-1"
    data = a_harvest(taxon=lot.taxon_id, kind="stock", storage_place="cold room 2")
    assert "reason" in client.post(address, data).context["form"].errors
    assert client.post(address, data | {"reason": "moved"}).status_code == 302
    lot.refresh_from_db()
    assert (lot.kind, lot.storage_place) == ("seed", "cold room 2")
    entry = AuditEntry.objects.get(verb="lot.changed")
    assert (entry.reason, entry.changes["storage_place"]) == ("moved", ["", "cold room 2"])
