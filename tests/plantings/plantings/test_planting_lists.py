"""What lists say is alive in a planting: trees and sown seed apart, tagged or counted. Rule of the programme; no source."""

import pytest

from plantings.models import Planting
from plantings.selectors.plantings.plantings import plantings_listed
from plantings.services.trees import tree_replace
from tests import factories
from tests.plantings.survival.survival_examples import count_again, counted

pytestmark = pytest.mark.django_db


def listed(planting):
    found = plantings_listed(Planting.objects.filter(pk=planting.pk)).get()
    return found.alive_count, found.sown_alive_count


def test_counted_plots_are_alive_in_the_list_of_plantings():
    planting = factories.planting()
    plot = counted(planting, factories.stock_lot(), 40, 30)
    counted(planting, factories.seed_lot(), 300, 60)
    assert listed(planting) == (30, 60)
    count_again(plot, 2, alive=20, dead=10)
    assert listed(planting) == (20, 60)  # nobody counted the seed again


def test_tagged_trees_and_their_replacements_are_alive_in_the_list():
    planting = factories.planting()
    trees = factories.trees(planting, count=5)
    factories.observe(factories.census_round(planting, 1), dict(zip(trees, ["A", "A", "AR", "D", "NF"], strict=True)))
    new = tree_replace(actor=factories.person(), tree=trees[3], tag="R1", planted_on=factories.day(2020, 4))
    factories.observe(factories.census_round(planting, 2), dict.fromkeys([*trees[:3], new], "A"))
    assert listed(planting) == (4, None)


def test_a_planting_without_a_census_says_nothing_is_alive_or_dead():
    planting = factories.planting()
    factories.trees(planting, count=3)
    assert listed(planting) == (None, None)


def test_the_list_page_shows_both_columns(client):
    client.force_login(factories.person())
    planting = factories.planting()
    counted(planting, factories.seed_lot(), 300, 61)
    page = client.get("/plantings/").content.decode()
    assert "From sown seed" in page and ">61<" in page
