"""What a record affects, the sheet for letters read back, and the marks on shipments, plantings, trees, survival and Today."""

import csv
import datetime
import io

import openpyxl
import pytest
from django.urls import reverse

from plantings.choices import TreeFate
from plantings.models import PlantingEntry, Tree
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.identity.letters import CONTACT_HEADERS, letters_headers
from plantings.selectors.identity.trace import record_impact, record_trace
from plantings.selectors.identity.trace_keys import trace_keys
from plantings.selectors.overview.today import today_lines
from plantings.selectors.plantings.alive_counts import entry_counts
from plantings.services.trees import counted_plot_add, tree_replace
from registry.models import IssuedPrint, Lot, PollenPool, PollenPoolMember
from registry.services.identity.questions import question_raise, question_settle
from registry.services.lots.ledger import ledger_enter
from tests import factories

pytestmark = pytest.mark.django_db
DAY = datetime.date(2024, 6, 3)


@pytest.fixture
def spine():
    """mother → seed lot → stock lot → two shipments to a nursery and to a landowner → planting on the landowner's land."""
    actor = factories.person(first_name="Lena", last_name="Example", phone="555-0100")
    mother = factories.pedigree_tree(code="MOTHER")
    seed = factories.seed_lot(actor=actor, code="SEED", mother=mother, seeds=100)
    stock = Lot.objects.create(code="STOCK", kind="stock", origin="sown", parent=seed, taxon=seed.taxon, year=2019)
    ledger_enter(actor=actor, lot=stock, kind="raised", quantity=60, on=factories.day(2019, 3))
    other = factories.stock_lot(actor=actor, code="OTHER", plants=50)
    owner = factories.partner(code="OWNER", name="=HYPERLINK(1)", contact_name="Ann Owner", email="ann@example.org", address="1 Lane\nTown")
    nursery = factories.partner(code="NURSERY", name="Nursery", contact_name="Ned", email="ned@example.org", phone="555-0199")
    box = factories.shipment(
        actor=actor, code="BOX", receiver=owner, lots=[(stock, "bareroot", 20), (other, "bareroot", 5)],
        dispatched_on=factories.day(2019, 4), received_on=factories.day(2019, 4, 2),
    )  # fmt: skip
    bag = factories.shipment(actor=actor, code="BAG", receiver=nursery, lots=[(seed, "seed", 30)], dispatched_on=factories.day(2018, 11))
    factories.shipment(actor=actor, code="DRAFT", receiver=factories.partner(code="NOBODY"), lots=[(stock, "bareroot", 1)])
    box.authorizations.add(factories.authorization(code="PAPER", title="Permit to move"))
    stamp = datetime.datetime(2019, 4, 1, 12, tzinfo=datetime.UTC)
    [issued] = factories.put_in(
        IssuedPrint(kind="packing_list", title="Packing list of BOX", filename="box.pdf", sha256="0" * 64, size_bytes=1, entered_at=stamp)
    )
    issued.shipments.add(box)
    planting = factories.planting(code="WOOD", site=factories.site(code="SITE", name="Wood lot", partner=owner), supply="shipment")
    trees = factories.trees(planting, stock, 10, actor=actor)
    factories.trees(planting, other, 5, actor=actor, row=2)
    season = factories.census_round(planting)
    factories.observe(season, dict.fromkeys(trees[:7], "A") | dict.fromkeys(trees[7:], "D"), actor=actor)
    return actor, locals()


def codes(groups):
    return {group.title: sorted(row.code for row in group.rows) for group in groups}


# -- what it affects -------------------------------------------------------------------------------


def test_a_mother_affects_all_that_came_from_her_and_nothing_else(spine):
    actor, records = spine
    groups = record_impact(actor, records["mother"])
    assert codes(groups) == {
        "Lots": ["SEED", "STOCK"],
        "Shipments": ["BAG", "BOX", "DRAFT"],
        "Plantings": ["WOOD"],
        "Sites": ["SITE"],
        "Partners": ["NOBODY", "NURSERY", "OWNER"],
        "Papers": ["PAPER"],
        "Prints handed out": ["Packing list of BOX"],
        "Trees": ["WOOD · STOCK"],
    }
    [trees] = [group for group in groups if group.kind == "trees"]
    assert (trees.words, trees.rows[0].what) == (
        "10 planted, 7 alive at the last complete census (of 10 no census is complete), by planting and lot.",
        "10 planted as test, 7 alive as far as recorded (no census is complete)",
    )


def test_a_shipment_affects_its_lots_and_what_was_planted_from_it(spine):
    actor, records = spine
    found = codes(record_impact(actor, records["box"]))
    assert (found["Lots"], found["Plantings"], found["Trees"]) == (["OTHER", "STOCK"], ["WOOD"], ["WOOD · OTHER", "WOOD · STOCK"])
    assert "Shipments" not in found


def test_a_pool_member_affects_the_pool_and_none_of_its_lots(spine):
    actor, _records = spine
    member, pool = factories.pedigree_tree(), PollenPool.objects.create(code="POOL", orchard="O", flowering_year=2019)
    for tree in (member, factories.pedigree_tree()):
        PollenPoolMember.objects.create(pool=pool, tree=tree)
    factories.seed_lot(pollen_pool=pool)
    [group] = record_impact(actor, member)
    assert (group.title, codes([group])[group.title]) == ("Pollen pools it shed into", ["POOL"])
    assert "the father is the pool" in group.note


def test_a_long_group_shows_its_first_rows_and_the_sheet_has_all(spine, client):
    actor, records = spine
    mother = records["mother"]
    made = [factories.seed_lot(code=f"L{number:03d}", mother=mother) for number in range(460)]
    [lots] = [group for group in record_impact(actor, mother) if group.title == "Lots"]
    assert (len(lots.rows), lots.total) == (200, 462)
    assert "The first 200 of 462" in lots.note
    assert [row.code for row in lots.rows[:2]] == [made[0].code, made[1].code]
    client.force_login(actor)
    page = client.get(f"/impact/pedigreetree/{mother.pk}/").content.decode()
    assert "462" in page
    sheet = client.get(f"/impact/pedigreetree/{mother.pk}/", {"download": "csv"}).content.decode("utf-8-sig")
    assert sum(line.startswith("lot,") for line in sheet.splitlines()) == 462


def test_planted_and_alive_equal_a_scan_of_the_trees(spine):
    """Replacements are in no tally and counted plots hold no tree: both are counted."""
    actor, records = spine
    planting, stock = records["planting"], records["stock"]
    tree_replace(actor=actor, tree=records["trees"][8], tag="NEW", planted_on=factories.day(2020, 4), lot=stock)
    Tree.objects.filter(tag="NEW").update(fate=TreeFate.ALIVE)
    counted_plot_add(actor=actor, planting=planting, code="D1", lot=stock, planted_count=4)
    entries = dict(PlantingEntry.objects.values_list("pk", "planting"))
    standing = entry_counts(entries)
    for entry in PlantingEntry.objects.all():
        plots = sum(entry.counted_plots.values_list("planted_count", flat=True))
        assert standing.planted[entry.pk] == entry.trees.count() + plots
        assert standing.alive[entry.pk] == entry.trees.filter(fate__in=("alive", "resprout")).count()


@pytest.mark.parametrize("more", [0, 30])
def test_queries_of_a_trace_do_not_grow_with_its_records(spine, more, django_assert_max_num_queries):
    actor, records = spine
    for _ in range(more):
        lot = factories.seed_lot(actor=actor, mother=factories.pedigree_tree(mother=records["mother"]), seeds=9)
        receiver = factories.partner()
        factories.shipment(actor=actor, receiver=receiver, lots=[(lot, "seed", 5)], dispatched_on=factories.day(2018, 11))
        factories.trees(factories.planting(site=factories.site(partner=receiver)), lot, 2, actor=actor)
    with django_assert_max_num_queries(46):
        trace = record_trace(actor, records["mother"])
    assert sum(group.total for group in trace.down if group.title == "Lots") == 2 + more


# -- the sheet for letters ------------------------------------------------------------------------------


def letters(client, record, wanted="xlsx"):
    content = client.post(f"/impact/{record._meta.model_name}/{record.pk}/", {"letters": wanted}).content
    if wanted == "csv":
        return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))
    sheet = openpyxl.load_workbook(io.BytesIO(content)).active
    return [["" if cell is None else cell for cell in row] for row in sheet.iter_rows(values_only=True)]


def test_the_letters_sheet_has_one_row_for_each_partner(spine, client):
    actor, records = spine
    question_raise(actor=actor, about=records["mother"], raised_on=DAY, reason="leaf hair does not fit")
    client.force_login(actor)
    headers, nursery, owner = letters(client, records["mother"])
    row = dict(zip(headers, owner, strict=True))
    # a cell that a spreadsheet would run as a formula is written as text (OWASP, CSV Injection)
    assert row.pop("Partner") == "'=HYPERLINK(1)"
    assert row == {
        "Partner code": "OWNER", "Contact name": "Ann Owner", "Address": "1 Lane\nTown", "E-mail": "ann@example.org", "Phone": "",
        "Consent to store contacts": "", "Shipments": "BOX of 1 Apr 2019: 20 plants of STOCK", "Seeds shipped": 0,
        "Plants shipped": 20, "Lots": "STOCK", "Planted on their land": 10, "Alive there at the last census": 7,
        "What is planted where now": "Wood lot, planting WOOD, lot STOCK: 10 planted, 7 alive as far as recorded (no census is complete)",
        "Papers it travelled on": "PAPER Permit to move", "Prints handed out with it": "Packing list of BOX, 1 Apr 2019",
        "About": "pedigree tree MOTHER", "Reason": "leaf hair does not fit", "In question since": "2024-06-03",
        "Who to call": "Lena Example", "Their phone": "555-0100", "Their e-mail": actor.email,
    }  # fmt: skip
    seeds = dict(zip(headers, nursery, strict=True))
    assert (seeds["Partner code"], seeds["Seeds shipped"], seeds["Planted on their land"], seeds["Phone"]) == ("NURSERY", 30, 0, "555-0199")


def test_csv_and_xlsx_hold_the_same(spine, client):
    actor, records = spine
    client.force_login(actor)
    as_text = [[str(cell) for cell in row] for row in letters(client, records["stock"])]
    assert as_text == letters(client, records["stock"], "csv")
    assert len(as_text) == 2  # headers and the landowner: the seed lot's nursery is not affected by the stock lot


def test_contacts_are_left_out_for_a_role_that_may_not_see_them(spine, client):
    _actor, records = spine
    manager = factories.person("manager")
    assert not set(letters_headers(manager)) & set(CONTACT_HEADERS)
    client.force_login(manager)
    rows = letters(client, records["mother"], "csv")
    assert all(len(row) == len(rows[0]) for row in rows) and len(rows) == 3
    assert not any(word in str(rows) for word in ("ann@example.org", "Ann Owner", "1 Lane", "555-0199"))
    page = client.get(f"/impact/pedigreetree/{records['mother'].pk}/").content.decode()
    assert "Your role does not see contacts: contact name, address" in page


def test_the_letters_sheet_is_recorded_when_it_is_handed_out(spine, client):
    actor, records = spine
    client.force_login(actor)
    letters(client, records["box"])
    issued = IssuedPrint.objects.get(kind="letters")
    assert (issued.title, issued.filename, issued.entered_by) == ("Sheet for letters about shipment BOX", "letters-BOX.xlsx", actor)
    assert set(issued.shipments.all()) == {records["box"]}
    # it is among the prints of the box, and no letter quotes the sheet of an earlier one
    assert "Sheet for letters about shipment BOX" in codes(record_impact(actor, records["box"]))["Prints handed out"]
    headers, row = letters(client, records["box"])
    assert row[headers.index("Prints handed out with it")] == "Packing list of BOX, 1 Apr 2019"
    client.force_login(factories.person("auditor"))
    address = f"/impact/shipment/{records['box'].pk}/"
    assert "Letters’ sheet" not in client.get(address).content.decode()
    assert client.post(address, {"letters": "csv"}).status_code == 403
    assert IssuedPrint.objects.filter(kind="letters").count() == 2


@pytest.mark.parametrize("address", ["/impact/partner/1/", "/impact/lot/999999/", "/impact/lot/{lot}/?download=pdf"])
def test_what_has_no_such_page_is_not_found(spine, client, address):
    actor, records = spine
    client.force_login(actor)
    assert client.get(address.format(lot=records["stock"].pk)).status_code == 404


# -- the mark on pages and lists ---------------------------------------------------------------------

MARK = '<span class="state">in question</span>'
MARKED_LISTS = ("/lots/", "/mother-trees/", "/shipments/", "/plantings/", "/trees/")


def test_lists_show_the_mark_until_the_question_is_settled(spine, client):
    actor, records = spine
    client.force_login(actor)
    assert [client.get(address).content.decode().count(MARK) for address in MARKED_LISTS] == [0, 0, 0, 0, 0]
    question = question_raise(actor=actor, about=records["mother"], raised_on=DAY, reason="tag lost")
    # lots SEED and STOCK; the mother; BOX, BAG and the draft; the planting; its ten trees of STOCK and none of OTHER
    assert [client.get(address).content.decode().count(MARK) for address in MARKED_LISTS] == [2, 1, 3, 1, 10]
    question_settle(actor=actor, question=question, outcome="confirmed", text="genotype agrees", on=DAY)
    assert [client.get(address).content.decode().count(MARK) for address in MARKED_LISTS] == [0, 0, 0, 0, 0]


def test_planting_tree_and_today_name_the_question(spine, client):
    actor, records = spine
    client.force_login(actor)
    question_raise(actor=actor, about=records["mother"], raised_on=DAY, reason="tag lost")
    for address in (f"/plantings/{records['planting'].pk}/", f"/trees/{records['trees'][0].pk}/"):
        assert "Identity of lot STOCK in question, through pedigree tree MOTHER: tag lost" in client.get(address).content.decode()
    untouched = Tree.objects.exclude(entry__lot=records["stock"]).first()
    assert "in question" not in client.get(f"/trees/{untouched.pk}/").content.decode()
    lines = [line.text for line in today_lines(actor, DAY)]
    assert "Identity of pedigree tree MOTHER in question; it marks 1 tree of the pedigree and 2 lots" in lines


def test_volunteers_and_landowners_see_no_question(spine, client):
    _actor, records = spine
    question_raise(actor=_actor, about=records["mother"], raised_on=DAY, reason="tag lost")
    owner = factories.person("landowner", partner=records["owner"])
    volunteer = factories.person("volunteer")
    records["planting"].crew.add(volunteer)
    for person in (owner, volunteer):
        client.force_login(person)
        for address in ("/", f"/plantings/{records['planting'].pk}/", "/plantings/", "/trees/", f"/trees/{records['trees'][0].pk}/"):
            assert "in question" not in client.get(address).content.decode()
        assert client.get(f"/impact/lot/{records['stock'].pk}/").status_code == 403


def test_survival_says_how_many_lots_are_in_question(spine, client):
    actor, records = spine
    client.force_login(actor)
    assert "in question" not in client.get(reverse("survival")).content.decode()
    question_raise(actor=actor, about=records["mother"], raised_on=DAY, reason="tag lost")
    assert "1 lot among these is in question" in client.get(reverse("survival")).content.decode()
    client.force_login(factories.person("landowner", partner=records["owner"]))
    assert "in question" not in client.get(reverse("survival")).content.decode()


def test_recount_proves_the_marks_and_finds_one_that_is_missing(spine):
    actor, records = spine
    question = question_raise(actor=actor, about=records["mother"], raised_on=DAY, reason="tag lost")
    checked, differences = recount_differences()
    assert (checked["questions of identity"], differences) == (1, [])
    question.lots.remove(records["stock"])
    _checked, [(what, kept, fresh)] = recount_differences()
    assert (what, kept, fresh) == (f"question {question.pk} about MOTHER, lots", "1: SEED", "2: SEED, STOCK")


def test_a_reach_up_and_down_of_a_planting_keeps_other_plantings_out(spine):
    _actor, records = spine
    far = factories.planting()
    factories.trees(far, records["stock"], 2)
    found = trace_keys(records["planting"])
    assert found.plantings == {records["planting"].pk}
    assert found.shipments == {records["box"].pk}
