"""What lists say is alive in a planting: trees and sown seed apart, tagged or counted. Rule of the programme; no source."""

import datetime

import pytest
from django.utils import timezone

from plantings.models import CensusRound, Planting
from plantings.selectors.identity.trace import record_trace
from plantings.selectors.plantings.plantings import plantings_listed
from plantings.services.trees import tree_replace
from registry.choices import ProgrammeKey
from registry.models import ProgrammeSetting
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


def test_a_round_half_recorded_does_not_read_as_mostly_dead():
    """10 trees, 9 alive in the first year; this year 4 are visited so far, and the first round of another planting has just begun."""
    planting, new = factories.planting(code="A"), factories.planting(code="B")
    lot = factories.stock_lot()
    trees, others = factories.trees(planting, lot, 10), factories.trees(new, lot, 10, tag="N")
    today = timezone.localdate()
    window = {"opens_on": today - datetime.timedelta(days=5), "closes_on": today + datetime.timedelta(days=5)}
    factories.observe(factories.census_round(planting, 1), dict.fromkeys(trees[1:], "A") | {trees[0]: "D"})
    factories.observe(factories.census_round(planting, 8, **window), dict.fromkeys(trees[1:4], "A") | {trees[4]: "D"})
    factories.observe(factories.census_round(new, 8, **window), dict.fromkeys(others[:4], "A"))
    assert listed(planting) == (9, None) and listed(new) == (None, None)
    [found] = [group for group in record_trace(factories.person(), lot).down if group.title == "Trees"]
    assert found.note == "20 planted, 13 alive at the last complete census (of 10 no census is complete), by planting and lot."
    assert [row.what for row in found.rows] == [
        "10 planted as test, 9 alive at the last complete census",
        "10 planted as test, 4 alive as far as recorded (no census is complete)",
    ]
    ProgrammeSetting.objects.create(key=ProgrammeKey.COMPLETE_PERCENT, value="30", basis="for this test", set_on=today)
    assert listed(planting) == (9, None)  # its window is still open
    CensusRound.objects.update(closes_on=today - datetime.timedelta(days=1))
    assert listed(planting) == (3, None) and listed(new) == (4, None)


def test_the_list_page_shows_both_columns(client):
    client.force_login(factories.person())
    planting = factories.planting()
    counted(planting, factories.seed_lot(), 300, 61)
    page = client.get("/plantings/").content.decode()
    assert "From sown seed" in page and ">61<" in page
