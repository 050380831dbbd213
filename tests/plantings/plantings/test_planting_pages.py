"""The pages of plantings: what is planted there, what it came from, and that a map of 500 trees asks no question a tree."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from plantings.models import CountedPlot, Planting, Tree
from plantings.selectors.plantings import positions
from plantings.services.trees import TreeAsPlanted, tree_replace, trees_plant
from registry.models import Leftover
from tests import factories
from tests.people import everyone

pytestmark = pytest.mark.django_db


def page_of(client, name, *args):
    response = client.get(reverse(name, args=args))
    assert response.status_code == 200
    return response


def part(response, title):
    return next(part for part in response.context["parts"] if part["title"] == title)


def cells(table):
    return [[cell[0] for cell in row.cells] for row in table["rows"]]


def shipped():
    """A planting of 10 trees from a shipment of 12, by a landowner who holds it, with one volunteer on the crew."""
    people = everyone()
    lead, owner = people["lead"], people["landowner"].partner
    lot = factories.stock_lot(actor=lead, plants=20, code="P19-A")
    factories.shipment(
        actor=lead, receiver=owner, code="SH-7", lots=[(lot, "bareroot", 12)], dispatched_on=factories.day(2019, 4, 1),
        received_on=factories.day(2019, 4, 3),
    )  # fmt: skip
    planting = factories.planting(site=factories.site(partner=owner), supply="shipment", crew=[people["volunteer"]])
    trees = factories.trees(planting, lot, 10, actor=lead)
    return people, planting, trees, lot


def test_the_chain_runs_from_lots_to_census_rounds(client):
    people, planting, _trees, lot = shipped()
    factories.census_round(planting)
    client.force_login(people["lead"])
    chain = page_of(client, "planting_detail", planting.pk).context["chain"]
    assert [(step["label"], step["code"]) for step in chain] == [
        ("lot", lot.code), ("shipment", "SH-7"), ("planting", planting.code), ("round", "2019 autumn"),
    ]  # fmt: skip
    assert all(step.get("url") for step in chain if not step.get("current"))


def test_a_volunteer_sees_no_lot_shipment_or_paper(client):
    people, planting, _trees, _lot = shipped()
    planting.authorizations.add(factories.authorization(code="AU-SECRET"))
    client.force_login(people["volunteer"])
    response = page_of(client, "planting_detail", planting.pk)
    assert [step["label"] for step in response.context["chain"]] == ["planting"]
    page = response.content.decode()
    assert "SH-7" not in page and "AU-SECRET" not in page


def test_the_entries_say_what_was_planted_and_where_it_came_from(client):
    people, planting, _trees, lot = shipped()
    client.force_login(people["coordinator"])
    assert cells(part(page_of(client, "planting_detail", planting.pk), "Entries")) == [[lot.code, "test", "", 10, "10 from shipment SH-7"]]


def test_rounds_show_their_progress(client):
    people, planting, trees, _lot = shipped()
    census_round = factories.census_round(planting)
    factories.observe(census_round, dict.fromkeys(trees[:4], "A"))
    client.force_login(people["coordinator"])
    response = page_of(client, "planting_detail", planting.pk)
    [row] = cells(part(response, "Census rounds"))
    assert row[4:6] == [4, 10]
    [line] = response.context["due"]
    assert line.text == "2019 autumn: 4 of 10 trees recorded"


@pytest.mark.parametrize("trees", [20, 500])
def test_the_map_costs_the_same_queries_whatever_its_size(client, trees):
    lead = factories.person("lead")
    planting = factories.planting()
    lot = factories.stock_lot()
    rows = [TreeAsPlanted(f"T{n:04d}", lot, "test", "1", n // 25 + 1, n % 25 + 1) for n in range(trees)]
    trees_plant(actor=lead, planting=planting, trees=rows)
    client.force_login(lead)
    with CaptureQueriesContext(connection) as captured:
        response = page_of(client, "planting_map", planting.pk)
    assert len(part(response, "Position map")["trees"]) == trees
    assert len(captured) == 7, [query["sql"] for query in captured]


def test_each_cell_of_the_map_links_to_its_tree(client):
    people, planting, trees, _lot = shipped()
    factories.observe(factories.census_round(planting), {trees[0]: "D", trees[1]: "AR"})
    client.force_login(people["coordinator"])
    response = page_of(client, "planting_detail", planting.pk)
    drawn = part(response, "Position map")["trees"]
    assert [(tree.label, tree.fate, tree.entry) for tree in drawn[:3]] == [
        (trees[0].tag, "dead", "A"), (trees[1].tag, "resprout", "A"), (trees[2].tag, "not_visited", "A"),
    ]  # fmt: skip
    assert f'href="{reverse("tree_detail", args=[trees[0].pk])}"' in response.content.decode()


def test_trees_without_a_position_are_listed_by_block_in_walk_order(client):
    planting, lot = factories.planting(), factories.stock_lot()
    rows = [TreeAsPlanted("B9", lot, block="10"), TreeAsPlanted("B1", lot, block="2"), TreeAsPlanted("A1", lot, block="2")]
    trees_plant(actor=factories.person(), planting=planting, trees=rows)
    client.force_login(factories.person("lead"))
    loose = part(page_of(client, "planting_detail", planting.pk), "Trees without a position")
    # Block 2 before block 10, and in a block the order they were written in (calc/walk.py).
    assert [row[:2] for row in cells(loose)] == [["B1", "2"], ["A1", "2"], ["B9", "10"]]


def test_a_replacement_is_drawn_over_the_tree_it_replaces(client):
    people, planting, trees, lot = shipped()
    tree_replace(actor=people["lead"], tree=trees[0], tag="R1", planted_on=factories.day(2019, 5), lot=lot)
    client.force_login(people["lead"])
    page = page_of(client, "planting_map", planting.pk).content.decode()
    assert f"R1, row 1, position 1, filler: no census yet; earlier here: {trees[0].tag} no census yet" in page


def test_a_planting_over_the_limit_offers_its_blocks_one_by_one(client, monkeypatch):
    monkeypatch.setattr("plantings.views.plantings.positions.MAP_TREES_MAX", 5)
    planting, lot = factories.planting(), factories.stock_lot()
    factories.trees(planting, lot, 4, block="1")
    factories.trees(planting, lot, 3, block="2", row=2)
    client.force_login(factories.person("lead"))
    table = part(page_of(client, "planting_detail", planting.pk), "Position map, by block")
    assert cells(table) == [["1", 4], ["2", 3]]
    response = client.get(table["rows"][1].cells[0][2])
    assert len(part(response, "Position map")["trees"]) == 3


@pytest.mark.parametrize(("number", "letter"), [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA")])
def test_entries_are_lettered_like_the_columns_of_a_spreadsheet(number, letter):
    assert positions.letter_of(number) == letter


def test_a_new_walk_order_numbers_the_trees_again(client):
    planting, lot = factories.planting(), factories.stock_lot()
    for row in (1, 2):
        factories.trees(planting, lot, 2, row=row)
    assert list(Tree.objects.in_walk_order().values_list("row", "position")) == [(1, 1), (1, 2), (2, 2), (2, 1)]
    client.force_login(factories.person("coordinator"))
    form = client.get(reverse("planting_edit", args=[planting.pk])).context["form"]
    values = {name: form[name].value() for name in ("code", "state", "stock_type", "design", "start_corner", "note")}
    values |= {"site": planting.site.code, "planted_on": "2019-04-20", "supply": planting.supply, "walk": "rows"}
    assert client.post(reverse("planting_edit", args=[planting.pk]), values).status_code == 302
    assert list(Tree.objects.in_walk_order().values_list("row", "position")) == [(1, 1), (1, 2), (2, 1), (2, 2)]


def test_site_and_supply_are_fixed_once_something_is_planted(client):
    _people, planting, _trees, _lot = shipped()
    client.force_login(factories.person("coordinator"))
    values = {"code": planting.code, "state": "established", "planted_on": "2019-04-20", "walk": "serpentine"}
    values |= {"site": factories.site().code, "supply": "own_stock"}
    assert client.post(reverse("planting_edit", args=[planting.pk]), values).status_code == 302
    assert (Planting.objects.get().site_id, Planting.objects.get().supply) == (planting.site_id, "shipment")


def test_a_planting_is_added_from_its_site_with_its_crew(client):
    site, volunteer = factories.site(), factories.person("volunteer")
    client.force_login(factories.person("coordinator"))
    url = f"{reverse('planting_add')}?site={site.code}"
    assert client.get(url).context["form"]["site"].value() == site.code
    values = {"code": "NEW-1", "site": site.code, "state": "planned", "supply": "shipment", "walk": "rows", "crew": [volunteer.pk]}
    client.post(url, values)
    planting = Planting.objects.get(code="NEW-1")
    assert list(planting.crew.all()) == [volunteer]
    client.force_login(volunteer)
    assert page_of(client, "planting_detail", planting.pk)


def test_a_counted_plot_is_entered_with_its_count(client):
    planting, lot = factories.planting(), factories.seed_lot()
    client.force_login(factories.person("coordinator"))
    values = {"planting": planting.code, "code": "D1", "lot": lot.code, "role": "test", "planted_count": 40}
    assert client.post(reverse("countedplot_add"), values).url == reverse("planting_detail", args=[planting.pk])
    plot = CountedPlot.objects.get()
    assert (plot.planted_count, plot.entry.lot) == (40, lot)


def test_a_counted_plot_without_supply_says_what_to_do(client):
    planting = factories.planting(supply="shipment")
    client.force_login(factories.person("coordinator"))
    values = {"planting": planting.code, "code": "D1", "lot": factories.seed_lot().code, "role": "test", "planted_count": 40}
    page = client.post(reverse("countedplot_add"), values).content.decode()
    assert "has received only 0 usable" in page and 'value="40"' in page
    assert not CountedPlot.objects.exists()


def test_a_leftover_is_recorded_under_its_shipment_line(client):
    people, _planting, _trees, lot = shipped()
    line = lot.shipment_lines.get()
    client.force_login(people["coordinator"])
    url = reverse("leftover_add", args=[line.pk])
    # 12 received, 10 planted
    assert page_of(client, "leftover_add", line.pk).context["cautions"][0]["text"].endswith("left over: 2 plants.")
    refused = client.post(url, {"outcome": "returned", "count": 3, "on": "2019-05-01"}).context["form"]
    assert "only 2 were received" in refused.errors["count"][0]
    stored = client.post(url, {"outcome": "returned", "count": 2, "on": "2019-05-01"})
    assert stored.url == reverse("shipment_detail", args=[line.shipment_id])
    assert Leftover.objects.get().count == 2
