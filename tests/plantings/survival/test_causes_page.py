"""Causes of death: over the years, and behind each row of the survival page. Counted by hand."""

import re

import pytest

from plantings.selectors.survival.causes import survival_causes
from tests import factories
from tests.plantings.survival.survival_page import page, words

pytestmark = pytest.mark.django_db


def died_of(planting, causes, role="test"):
    """Trees of one lot at one round: the causes they died of, and four alive."""
    trees = factories.trees(
        planting, factories.stock_lot(declared_source="Heron"), len(causes) + 4, role=role, row=1 if role == "test" else 2
    )
    first = planting.rounds.first() or factories.census_round(planting, 1)
    factories.observe(first, dict.fromkeys(trees[len(causes) :], "A"))
    for tree, cause in zip(trees, causes, strict=False):
        factories.observe(first, {tree: "D"}, cause=cause)


def test_causes_over_the_years_have_a_picture_and_its_numbers(client, lead):
    died_of(factories.planting(), ["canker", "canker", "drought"])
    html = page(client, view="causes").content.decode()
    assert html.count('<svg class="drawn"') == 2 and html.count('class="drawn-bar"') == 2
    assert re.search(r"Commonest cause: [^,]+, 2 trees. Its highest year is \d{4}, with 2\.", words(page(client, view="causes")))
    assert '<svg class="drawn"' not in page(client, view="causes", of_level="source", of_lineage="Other").content.decode()


def test_causes_over_the_years_have_sown_seed_apart(client, lead):
    planting = factories.planting()
    died_of(planting, ["canker", "canker"])
    sown = factories.trees(planting, factories.seed_lot(), 5, row=3)
    factories.observe(planting.rounds.get(), dict.fromkeys(sown[1:], "A"))
    factories.observe(planting.rounds.get(), {sown[0]: "D"}, cause="canker")
    found = [(part["title"].split(",")[0], part["panels"][0][1]) for part in page(client, view="causes").context["causes"]["populations"]]
    assert found == [("New deaths and removals", "2 trees"), ("New deaths and removals of trees sown as seed", "1 tree")]


def test_causes_of_death_are_one_click_behind_each_row(client, lead):
    planting = factories.planting(site=factories.site(code="FALLS"))
    died_of(planting, ["canker", "canker", "drought"])
    died_of(planting, ["canker"], role="check")
    html = page(client, by="site", level="source").content.decode()
    [address] = re.findall(r'href="([^"]*)"[^>]*>causes</a>', html)[:1]
    text = words(client.get(address.replace("&amp;", "&")))
    # counted by hand: two of canker, one of drought, three in all; the check is another row
    assert re.search(r"FALLS\S* .*under test 2 1 3 ", text), text
    table = survival_causes(lead, ("site",), "source")
    assert [(row.role_words, row.trees) for row in table.rows] == [
        ("under test", {"canker": 2, "drought": 1}),
        ("native check", {"canker": 1}),
    ]
    assert [cause for cause, _ in table.causes] == ["canker", "drought"]
