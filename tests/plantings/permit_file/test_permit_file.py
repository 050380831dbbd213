"""The permit file and the yearly report of a paper: what counts as under it, what became of it, and the files made."""

import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.selectors.permit_file.items import permit_items
from plantings.selectors.permit_file.year import year_report
from plantings.services.plantings import planting_establish
from plantings.services.trees import counted_plot_add, tree_replace
from registry.models import IssuedPrint
from registry.services.gate.draws import draw_return
from registry.services.lots.ledger import lot_bulk
from registry.services.movements.shipments import receipt_enter, shipment_dispatch
from registry.services.permits.authorizations import document_add
from tests import factories
from tests.plantings.permit_file.permit_scene import DAY, file_of, pdf_text, with_duties

pytestmark = pytest.mark.django_db


def account(client, paper):
    """{words: (seeds, plants)} as the page shows them; a blank is a dash."""
    parts = client.get(reverse("authorization_file", args=[paper.pk])).context["parts"]
    [part] = [part for part in parts if part.get("id") == "account"]
    return {row.cells[0][0]: (row.cells[1][0], row.cells[2][0]) for row in part["rows"]}


# -- what is under it, and what became of it ------------------------------------------------------------------


def test_plants_of_an_attached_shipment_are_followed_to_their_fate(client, scene):
    scene.census()
    client.force_login(scene.lead)
    found = account(client, scene.paper)
    # 40 + 10 shipped; 36 sound and 2 spoiled of 40; 30 planted, 4 destroyed; 48 − 2 spoiled − 30 − 4 = 12 unreported
    assert {words: plants for words, (_seeds, plants) in found.items()} == {
        "Issued: the cap": 100, "Drawn from it": 0, "– when shipped": 0, "– when planted": 0, "– given back to the cap": 0,
        "Left of the cap": 100,
        "Shipped": 50, "Received": 48, "– sound": 46, "– sprouted": 0, "– spoiled": 2, "Short": 2, "Without a receipt yet": 0,
        "Planted": 30,
        "Left over, returned": 0, "Left over, destroyed": 4, "Left over, still held": 0, "Received, but neither planted nor reported": 12,
        "Alive at the last round": 22, "– of them by resprout": 0, "Dead": 5, "Presumed dead": 0, "Unaccounted at the last round": 2,
        "– not found": 1, "– seen but state unclear": 0, "– position not located": 0, "– not visited": 1, "No census yet": 0, "Removed": 1,
    }  # fmt: skip
    assert {seeds for words, (seeds, _plants) in found.items() if words == "Shipped" or "Planted" in words} == {0}


def test_a_round_that_is_not_complete_is_marked_in_file_and_report(client, scene):
    scene.census()
    client.force_login(scene.lead)
    today = timezone.localdate()
    third = factories.census_round(scene.planting, 3, label="third", opens_on=today, closes_on=today)
    factories.observe(third, {scene.trees[0]: "A"}, actor=scene.lead)
    parts = client.get(reverse("authorization_file", args=[scene.paper.pk])).context["parts"]
    [note] = [part["note"] for part in parts if part.get("id") == "account"]
    assert f"not complete are among the unaccounted: {scene.planting.code} third, not complete." in note
    assert {entry.round for entry in permit_items(scene.paper).entries} == {"third, not complete"}
    assert {one.round for one in year_report(scene.paper, today.year, timezone.now()).at_last_round} == {"third, not complete"}
    rest = dict.fromkeys(scene.trees[1:27], "A")
    factories.observe(third, rest, actor=scene.lead)
    assert {entry.round for entry in permit_items(scene.paper).entries} == {"third"}


def test_planted_is_always_the_sum_of_the_fates(scene):
    scene.census()
    tree_replace(actor=scene.lead, tree=scene.trees[29], tag="NEW", planted_on=factories.day(2020, 4), note="died of deer")
    counted_plot_add(actor=scene.lead, planting=scene.planting, code="D1", lot=scene.native, planted_count=7)
    for entry in permit_items(scene.paper).entries:
        assert entry.fates.total == entry.planted == entry.under
    assert {(entry.lot, entry.role): (entry.planted, entry.fates.unseen) for entry in permit_items(scene.paper).entries} == {
        ("STOCK-1", "test"): (30, 0), ("STOCK-1", "filler"): (1, 0), ("NATIVE-1", "test"): (7, 0),
    }  # fmt: skip


def test_another_shipment_in_the_same_planting_is_told_apart(client, scene):
    other = scene.shipment("SH-OTHER", [(scene.lot, 20, (20, 0, 0))])
    factories.trees(scene.planting, scene.lot, 6, actor=scene.lead, row=2)  # 2 left of the first shipment, then 4 of the other
    [entry] = [entry for entry in permit_items(scene.paper).entries if entry.lot == "STOCK-1"]
    assert (entry.under, entry.planted) == (32, 36)
    client.force_login(scene.lead)
    assert account(client, scene.paper)["Planted in the same entries, from elsewhere"] == (0, 4)
    assert other.code not in {line.shipment for line in permit_items(scene.paper).lines}


def test_unrelated_shipments_and_plantings_are_not_in_the_file(scene):
    far = factories.planting(site=factories.site())
    factories.trees(far, scene.lot, 5, actor=scene.lead)
    other = factories.authorization(actor=scene.lead)
    assert {entry.planting for entry in permit_items(scene.paper).entries} == {"PL-1"}
    assert (permit_items(other).lines, permit_items(other).entries) == ((), ())


def test_a_planting_attached_by_hand_is_under_it_with_all_its_lots(scene):
    own = factories.planting(code="PL-OWN", site=factories.site(), supply="own_stock")
    factories.trees(own, scene.native, 5, actor=scene.lead)
    own.authorizations.add(scene.paper)
    items = permit_items(scene.paper)
    assert {(entry.planting, entry.under) for entry in items.entries} == {("PL-1", 30), ("PL-OWN", 5)}
    assert [(supply.count, supply.source) for supply in items.supplies if supply.line is None] == [(5, "the programme's own stock")]


def test_a_shipment_that_drew_is_under_the_paper_with_its_lot(gated):
    gated.paper.refresh_from_db()
    assert gated.paper.drawn == 30
    new = [(line.lot, line.sent, line.under_way) for line in permit_items(gated.paper).lines if line.shipment == "SH-2"]
    assert new == [("STOCK-1", 30, 30)]  # the natives in the same box went under no rule


def test_an_answer_puts_a_shipment_under_an_uncapped_paper(gated):
    gated.paper.refresh_from_db()
    plain = factories.authorization(actor=gated.lead, code="P-0", state="in_force", starts_on=factories.day(2018))
    document_add(actor=gated.lead, paper=plain, content=b"%PDF-1.7 the other", filename="other.pdf", title="The other")
    more = factories.shipment(
        actor=gated.lead, code="SH-3", receiver=gated.owner, receiving_person="R. Ceiver",
        lots=[(gated.lot, "bareroot", 3), (gated.native, "bareroot", 2)],
    )  # fmt: skip
    shipment_dispatch(actor=gated.lead, shipment=more, on=timezone.localdate())
    assert [(line.shipment, line.lot) for line in permit_items(plain).lines] == [("SH-3", "STOCK-1")]
    assert [answer.record.subject for answer in file_of(plain).answers] == ["SH-3"]


def test_a_planting_established_on_the_paper_draws_no_plant_twice(client, gated):
    line = gated.new.lines.get(lot=gated.lot)
    receipt_enter(
        actor=gated.lead, shipment=gated.new, received_on=timezone.localdate() - 7 * DAY, received_by="R", box_condition="good",
        counts={line: (30, 0, 0)}
    )  # fmt: skip
    planned = {"planted_on": None, "state": "planned", "supply": "shipment", "done_by": ["A. Holder"]}
    planting = factories.planting(code="PL-2", site=gated.planting.site, **planned)
    factories.trees(planting, gated.lot, 25, actor=gated.lead)
    planting_establish(actor=gated.lead, planting=planting, on=timezone.localdate() - DAY)
    draw_return(
        actor=gated.lead, paper=gated.paper, lot=gated.lot, quantity=2, on=timezone.localdate(), subject="SH-2",
        reason="two came back, condition 4"
    )  # fmt: skip
    client.force_login(gated.lead)
    found = account(client, gated.paper)
    names = ("Drawn from it", "– when shipped", "– when planted", "– given back to the cap", "Left of the cap")
    assert [found[name][1] for name in names] == [28, 30, 0, 2, 72]
    assert ("PL-2", 25) in {(entry.planting, entry.under) for entry in permit_items(gated.paper).entries}
    assert {answer.record.subject for answer in file_of(gated.paper).answers} == {"SH-2", "PL-2"}


def test_the_chain_leads_from_the_mother_to_the_ground(client, scene):
    client.force_login(scene.lead)
    parts = client.get(reverse("authorization_file", args=[scene.paper.pk])).context["parts"]
    [chain] = [part for part in parts if part.get("id") == "chain"]
    rows = [[cell[0] for cell in row.cells] for row in chain["rows"]]
    assert rows[0] == [
        "STOCK-1", "MOTHER-1 × pool POOL-7", "2018, lot SEED-1 → STOCK-1 (raised from another lot, 2019)",
        "SH-1, 1 Apr 2019: 40 sent, 38 received", "PL-1, 10 Apr 2019", 30, "no census yet 30",
    ]  # fmt: skip
    assert rows[1][0] == "NATIVE-1" and rows[1][4:] == ["not planted", None, ""]


def test_a_bulk_names_its_components_and_no_mother(scene):
    bulk = factories.stock_lot(actor=scene.lead, code="BULK-1", origin="bulk", outside_origin="", kind="seed", year=None)
    lot_bulk(actor=scene.lead, bulk=bulk, component=scene.seed, count=10, on=factories.day(2018, 11))
    sent = factories.shipment(actor=scene.lead, receiver=scene.owner, lots=[(bulk, "seed", 10)], dispatched_on=factories.day(2019, 4, 1))
    sent.authorizations.add(scene.paper)
    life = file_of(scene.paper).lots[bulk.pk]
    assert life.parents == "bulk of 1 lot, the mother of a tree is unknown: SEED-1 (MOTHER-1 × pool POOL-7)"


# -- the yearly report --------------------------------------------------------------------------------------


def test_the_report_of_a_year_counts_what_happened_in_it(scene):
    scene.census()
    with_duties(scene)
    first, second = (year_report(scene.paper, year, timezone.now()) for year in (2019, 2020))
    assert sum(n for _unit, n in first.shipped) == 50 and sum(n for _unit, n in first.received) == 48
    assert (first.planted, first.destroyed) == ((("plants", 30),), (("plants", 4),))
    assert (second.shipped, second.planted, second.destroyed) == ((), (), ())
    [early], [late] = first.at_last_round, second.at_last_round
    assert (early.n, early.alive, early.dead, early.died, early.unaccounted) == (30, 27, 3, 3, 0)
    assert (late.n, late.alive, late.dead, late.died, late.unaccounted, late.removed) == (30, 22, 5, 2, 2, 1)
    assert (first.deaths, second.deaths) == ((("Deer", 3),), (("Canker", 2),))
    assert second.removals == (("Permit requires it", 1),) and second.flower_notes == 2
    assert (first.flowered, first.first_flowered, second.flowered, second.first_flowered) == (1, 1, 2, 1)
    assert [status.status for _duty, status in first.dates] == ["done_on_time"]
    assert [status.status for _duty, status in second.dates] == ["done_late"]
    assert (len(first.incidents), len(second.incidents)) == (0, 1)


def test_a_year_without_a_round_counts_the_trees_not_visited(scene):
    report = year_report(scene.paper, 2019, timezone.now())
    assert report.at_last_round == () and report.unseen == (("plants", 30),)
    assert year_report(scene.paper, 2018, timezone.now()).unseen == ()


def test_the_report_is_a_draft_on_every_page(client, scene):
    scene.census()
    client.force_login(scene.lead)
    url = reverse("authorization_year", args=[scene.paper.pk, 2020])
    assert "DRAFT: to be read and sent by a person" in client.get(url).content.decode()
    pages = pdf_text(client.post(url, {"page": "letter"}).content)
    assert all("DRAFT: to be read and sent by a person" in page for page in pages)
    assert "– alive 0 22 last round of the year" in " ".join(pages) and "Canker 2" in " ".join(pages)
    assert IssuedPrint.objects.get().kind == "year_report"
