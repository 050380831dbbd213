"""Today, the code box and the trace."""

import datetime
import json

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from plantings.selectors.identity.trace import record_trace
from plantings.selectors.overview.code_search import code_find
from plantings.selectors.overview.round_lines import crew_round
from plantings.selectors.overview.today import site_lines, today_lines
from plantings.services.supply import leftover_enter
from plantings.services.tree_lists.retags import tree_retag
from registry.calc.shared.screen import moment_words
from registry.imports.sheets.table import read_table
from registry.models import Lot
from registry.services.lots.ledger import ledger_enter, lot_bulk
from registry.services.orchard.tree_status import tree_status_set
from tests import factories

pytestmark = pytest.mark.django_db
ON = datetime.date(2026, 11, 25)


def test_today_names_trees_rogued_within_a_year_without_a_decision(monkeypatch):
    manager = factories.person("manager")
    for code, day in (("KW-1", ON), ("KW-2", None), ("KW-3", datetime.date(2019, 3, 1))):
        entered = datetime.datetime.combine(day or ON, datetime.time(12), datetime.UTC)
        monkeypatch.setattr(timezone, "now", lambda entered=entered: entered)
        tree_status_set(actor=manager, tree=factories.pedigree_tree(code=code), status="rogued", on=day, reason="cut")
    said = [line.text for line in today_lines(manager, ON)]
    assert "2 trees were rogued without a decision of two people: KW-1, KW-2" in said
    assert not [line for line in today_lines(factories.person("volunteer"), ON) if "rogued" in line.text]


def test_the_page_ends_with_the_last_backup_and_begins_with_a_wrong_clock(client, monkeypatch):
    lead = factories.person("lead")
    factories.seed_lot(actor=lead, seeds=3)
    client.force_login(lead)
    texts = [line.text for line in client.get("/").context["lines"]]
    assert texts[-1].startswith("No backup is recorded")
    monkeypatch.setattr(timezone, "now", lambda: datetime.datetime(2026, 1, 2, tzinfo=datetime.UTC))
    page = client.get("/")
    first = page.context["lines"][0]
    assert first.text.startswith("The clock of the server reads") and first.mine
    assert first.severity == "odd"  # overdue is said of days that have passed


def test_today_says_when_the_clock_of_the_site_went_back_or_years_ahead():
    lead = factories.person("lead")
    factories.seed_lot(actor=lead, seeds=3)
    now = timezone.now()

    def said(person, moment):
        return [line.text for line in site_lines(person, timezone.localdate(moment), moment) if "clock of the server reads" in line.text]

    assert said(lead, now) == said(lead, now - datetime.timedelta(minutes=5)) == []
    [text] = said(lead, now - datetime.timedelta(days=400))
    assert moment_words(timezone.localtime(now)) in text and text.endswith("what is entered now has the wrong day.")
    assert said(factories.person("volunteer"), now - datetime.timedelta(days=400)) == []
    assert said(lead, now + datetime.timedelta(days=360)) == []
    [text] = said(lead, now + datetime.timedelta(days=5 * 365))
    assert f"nothing was recorded since {moment_words(timezone.localtime(now))}" in text and "set the clock of the machine" in text


@pytest.fixture
def spine():
    """founders → mother → seed lot → bulk → stock lot → shipment → planting → trees, with a paper on the shipment."""
    actor = factories.person()
    native, donor = factories.pedigree_tree(code="JC"), factories.pedigree_tree(code="JA", generation_other="donor")
    hybrid = factories.pedigree_tree(code="F1", mother=native, father=donor, backcrosses=0, intercrosses=0)
    mother = factories.pedigree_tree(code="B1", mother=native, father=hybrid, backcrosses=1, intercrosses=0)
    seed = factories.seed_lot(actor=actor, code="SEED", mother=mother, seeds=100)
    bulk = Lot.objects.create(code="BULK", kind="seed", origin="bulk", taxon=seed.taxon)
    lot_bulk(actor=actor, bulk=bulk, component=seed, count=60, on=factories.day(2018, 11))
    stock = Lot.objects.create(code="STOCK", kind="stock", origin="sown", parent=bulk, taxon=seed.taxon, year=2019)
    ledger_enter(actor=actor, lot=stock, kind="raised", quantity=40, on=factories.day(2019, 3))
    owner = factories.partner(code="OWNER")
    shipment = factories.shipment(
        actor=actor,
        code="BOX",
        receiver=owner,
        lots=[(stock, "bareroot", 20)],
        dispatched_on=factories.day(2019, 4),
        received_on=factories.day(2019, 4, 2),
    )
    shipment.authorizations.add(factories.authorization(code="PAPER"))
    planting = factories.planting(code="WOOD", site=factories.site(code="SITE", partner=owner), supply="shipment")
    trees = factories.trees(planting, stock, 10, actor=actor)
    return actor, locals()


def codes(groups):
    return {group.title: {row.code for row in group.rows} for group in groups}


def test_a_trace_reaches_founders_above_and_every_tree_below(spine):
    actor, records = spine
    trace = record_trace(actor, records["mother"])
    assert codes(trace.up) == {"Founders": {"JC", "JA"}, "Trees between": {"F1"}}
    down = codes(trace.down)
    assert down["Lots"] == {"SEED", "BULK", "STOCK"}
    assert (down["Shipments"], down["Plantings"], down["Sites"], down["Partners"], down["Papers"]) == (
        {"BOX"},
        {"WOOD"},
        {"SITE"},
        {"OWNER"},
        {"PAPER"},
    )
    [row] = next(group for group in trace.down if group.title == "Trees").rows
    assert row.what == "10 planted as test, 0 alive as far as recorded (no census is complete)"


@pytest.mark.parametrize("start", ["trees", "planting", "shipment", "stock"])
def test_every_step_of_the_spine_is_traced_up_to_the_founders(spine, start):
    actor, records = spine
    record = records[start][0] if start == "trees" else records[start]
    up = codes(record_trace(actor, record).up)
    assert up["Founders"] == {"JC", "JA"}
    assert up["Trees between"] == {"F1", "B1"}
    assert {"SEED", "BULK"} <= up["Lots it came from"]


def test_a_donor_founder_is_traced_down_through_all_its_offspring(spine):
    actor, records = spine
    down = codes(record_trace(actor, records["donor"]).down)
    assert down["Offspring trees"] == {"F1", "B1"}
    assert down["Plantings"] == {"WOOD"}


def test_the_command_prints_the_same_trace_for_machines(spine, capsys):
    call_command("trace", "SEED", "--format", "json")
    rows = json.loads(capsys.readouterr().out)
    assert {("up", "founder", "JC"), ("up", "founder", "JA")} <= {(row["side"], row["kind"], row["code"]) for row in rows}
    assert {row["code"] for row in rows if row["side"] == "down"} >= {"BULK", "STOCK", "BOX", "WOOD", "SITE", "OWNER", "PAPER"}
    with pytest.raises(CommandError, match="No record carries 'NOPE'"):
        call_command("trace", "NOPE")


def test_the_code_box_takes_any_code_in_any_case_and_an_old_tag(spine):
    actor, records = spine
    for code in ("seed", "BOX", "b1", "paper", "owner", "site", "wood"):
        assert [hit.code.lower() for hit in code_find(actor, code)] == [code.lower()]
    tree = records["trees"][0]
    old = tree.tag
    tree_retag(actor=actor, tree=tree, tag="NEW", on=ON, reason="tag lost")
    assert [hit.record for hit in code_find(actor, "new")] == [tree]
    assert [(hit.record, hit.what) for hit in code_find(actor, f"WOOD/{old}")] == [(tree, f"tree of planting WOOD (formerly {old})")]
    assert code_find(actor, "  ") == []


def test_today_lists_what_is_late_due_and_odd_and_nothing_else(spine):
    actor, records = spine
    [left] = today_lines(actor, ON)
    assert "10 plants not accounted for (20 received usable, 10 planted)" in left.text
    leftover_enter(actor=actor, line=records["shipment"].lines.get(), outcome="destroyed", count=10, on=ON)
    assert today_lines(actor, ON) == []
    factories.shipment(
        actor=actor,
        code="LOST",
        receiver=records["owner"],
        lots=[(records["stock"], "bareroot", 2)],
        dispatched_on=ON - datetime.timedelta(15),
    )
    records["stock"].use_by = ON + datetime.timedelta(3)
    records["stock"].save(update_fields=["use_by"])
    factories.authorization(code="ENDS", state="in_force", ends_on=ON + datetime.timedelta(180))
    factories.authorization(code="LATER", state="in_force", ends_on=ON + datetime.timedelta(181))
    census_round = factories.census_round(records["planting"], opens_on=ON, closes_on=ON + datetime.timedelta(20))
    factories.observe(census_round, {records["trees"][0]: "A"}, actor=actor)
    factories.observe(census_round, {records["trees"][0]: "D"}, actor=actor)
    lines = [(line.severity, line.text) for line in today_lines(actor, ON)]
    assert lines[0] == ("late", f"Shipment LOST to {records['owner'].name} has no receipt after 15 days")
    assert ("soon", "Lot STOCK: 18 plants on hand, its use-by day is near") in lines
    assert any(text.startswith("ENDS ") and "Check with the local authority" in text for _severity, text in lines)
    assert any("1 of 10 trees recorded" in text for _severity, text in lines)
    assert any("1 tree has two records" in text for _severity, text in lines)
    assert any("2 records to review" in text for _severity, text in lines)
    assert len(lines) == 6


def test_today_of_a_volunteer_shows_only_rounds_of_their_plantings(spine):
    _actor, records = spine
    volunteer = factories.person("volunteer")
    records["planting"].crew.add(volunteer)
    factories.census_round(records["planting"], opens_on=ON, closes_on=ON + datetime.timedelta(20))
    factories.census_round(factories.planting(), opens_on=ON, closes_on=ON + datetime.timedelta(20))
    [line] = today_lines(volunteer, ON)
    assert "WOOD" in line.text and line.first and line.mine
    assert crew_round(volunteer, ON).planting == records["planting"]
    assert crew_round(_actor, ON) is None


def test_an_empty_site_says_what_to_do_first(client):
    client.force_login(factories.person("coordinator"))
    assert "No records yet. Begin here" in client.get("/").content.decode()
    factories.taxon()
    assert "Begin here" not in client.get("/").content.decode()


def test_links_of_a_trace_carry_codes_of_any_letters(client):
    actor = factories.person("lead")
    client.force_login(actor)
    lot = factories.stock_lot(code="P & 1=2")
    planting = factories.planting(code="Falls & Pond #2")
    factories.trees(planting, lot, 3, actor=actor, row=1)
    factories.trees(planting, count=4, actor=actor, row=2)
    [row] = next(group for group in record_trace(actor, lot).down if group.title == "Trees").rows
    assert client.get(row.url).context["count"] == 3
    page = client.get("/trace/", {"q": "P & 1=2"})
    for label, link in page.context["downloads"]:
        table = read_table(client.get(f"/trace/{link}").content, f"trace.{label}")
        assert any("Falls & Pond #2" in cell for row in table.rows for cell in row if isinstance(cell, str)), label
