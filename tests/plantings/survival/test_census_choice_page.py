"""The census that the survival page is about: age, season, the latest, one in progress, and as recorded then."""

import pytest

from tests import factories
from tests.plantings.survival.survival_examples import count_again, counted
from tests.plantings.survival.survival_page import falls, page, words

pytestmark = pytest.mark.django_db


def test_a_census_that_is_not_complete_is_shown_as_progress(client, lead):
    planting = factories.planting(code="HALF")
    trees = factories.trees(planting, count=20)
    factories.observe(factories.census_round(planting, 1), dict.fromkeys(trees[:5], "A"))
    text = words(page(client))
    assert "HALF 2019 autumn at" in text and "thinly visited: 5 of 20 positions assessed" in text
    assert "No census here is complete yet." in text
    shown = words(page(client, open="on"))
    assert "1.00 (0.57–1.00), n 5 of 20" not in shown  # under ten trees the count leads
    assert "5 of 5 assessed, 20 planted" in shown and "census not complete" in shown


def test_a_thin_census_is_counted_without_the_trees_dead_before(client, lead):
    """10 of 20 were dead a year before, and 7 of the other 10 were visited: 70 %, not 17 of 20."""
    planting = factories.planting(code="HALF")
    trees = factories.trees(planting, count=20)
    factories.observe(factories.census_round(planting, 1), dict(zip(trees, ["A"] * 10 + ["D"] * 10, strict=True)))
    factories.observe(factories.census_round(planting, 2), dict.fromkeys(trees[:7], "A"))
    assert "thinly visited: 7 of 10 positions assessed" in words(page(client))


def test_what_was_recorded_then_is_shown_beside_hindsight(client, lead):
    planting = factories.planting()
    trees = factories.trees(planting, count=20)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    factories.observe(first, dict(zip(trees, ["A"] * 12 + ["NF"] * 8, strict=True)))
    factories.observe(second, dict(zip(trees, ["A"] * 16 + ["D"] * 4, strict=True)))
    assert "0.60, 12 of 20" not in words(page(client, at="age-1"))
    text = words(page(client, at="age-1", then="on"))
    assert "0.80 (0.58–0.92), n 20" in text  # 16/20: Wilson 1927, statsmodels proportion_confint
    assert "0.60, 12 of 20" in text


@pytest.mark.parametrize("at", ["spring", "age-", "season-20255"])
def test_a_census_that_is_none_is_refused_in_words(client, lead, at):
    falls()
    response = page(client, at=at)
    assert response.status_code == 400
    assert "is not a census. Write age-3, season-2025, visit-2 or latest." in words(response)


def test_a_season_and_the_latest_census_can_be_chosen(client, lead):
    planting = factories.planting()
    count_again(counted(planting, factories.stock_lot(), 20, 18), 2, alive=10)
    year = planting.rounds.get(growing_seasons=2).opens_on.year
    for at, sentence in ((f"season-{year}", f"Alive in {year}"), ("latest", "Alive at the latest census of each planting")):
        text = words(page(client, at=at))
        assert sentence in text and "0.50 (0.30–0.70), n 20" in text
