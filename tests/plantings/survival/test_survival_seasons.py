"""Equal ages, order, filters, scope and cost of the survival table. Rules of the programme; common practice, no source."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from plantings.calc.survival.census_choice import CensusChoice
from plantings.models import PlantingEntry
from plantings.selectors.survival.curves import survival_curve
from plantings.selectors.survival.rounds import SurvivalFilter
from plantings.selectors.survival.survival import survival_rows
from tests import factories
from tests.people import everyone
from tests.plantings.survival.survival_examples import count_again, counted, figures

pytestmark = pytest.mark.django_db


def ages(*seasons):
    """A planting of one lot with a census at each of these ages."""
    planting = factories.planting()
    plot = counted(planting, factories.stock_lot(), 10, 6, season=seasons[0])
    for season in seasons[1:]:
        count_again(plot, season, alive=5)
    return planting


def test_the_usual_age_is_one_half_of_the_plantings_reached():
    ages(1, 2, 3), ages(1, 2), ages(1)
    assert survival_rows(factories.person(), ("site",)).season == 2
    ages(1)
    assert survival_rows(factories.person(), ("site",)).season == 2  # two of four
    ages(1)
    assert survival_rows(factories.person(), ("site",)).season == 1  # two of five


def test_plantings_without_a_census_of_the_age_are_left_out_and_named():
    old, young, unseen = ages(1, 3), ages(1), factories.planting()
    factories.trees(unseen, count=3)
    PlantingEntry.objects.create(planting=factories.planting(state="planned", planted_on=None), lot=factories.stock_lot())
    table = survival_rows(factories.person(), ("planting",), moment=CensusChoice("age", 3))
    assert [row.keys for row in table.rows] == [(old.code,)]
    assert {left.planting: left.reason for left in table.left_out} == {young.code: "complete after 1", unseen.code: "no census yet"}


def test_the_last_round_of_an_age_counts():
    planting, lot = factories.planting(), factories.stock_lot()
    trees = factories.trees(planting, lot, 10)
    spring = factories.census_round(planting, 1, label="2020 spring", opens_on=factories.day(2020, 4), closes_on=factories.day(2020, 5))
    autumn = factories.census_round(planting, 1)  # opens earlier
    factories.observe(autumn, dict(zip(trees, ["A"] * 9 + ["D"], strict=True)))
    factories.observe(spring, dict(zip(trees, ["A"] * 6 + ["D"] * 4, strict=True)))
    [row] = survival_rows(factories.person(), ("site",), moment=CensusChoice("age", 1)).rows
    assert (row.alive, row.n) == (6, 10)


def test_an_age_without_a_census_names_the_ages_there_are():
    ages(1, 2)
    table = survival_rows(factories.person(), ("site",), moment=CensusChoice("age", 7))
    assert (table.rows, table.totals, table.ages, len(table.left_out)) == ((), (), ((1, 1), (2, 1)), 1)


def test_without_records_the_table_is_empty():
    table = survival_rows(factories.person(), ("site", "lineage"))
    assert (table.moment, table.season, table.ages, table.rows, table.totals, table.left_out) == (None, None, (), (), (), ())


def test_only_rows_with_enough_trees_are_ranked():
    planting = factories.planting()
    for code, planted, alive in (("A", 20, 4), ("B", 20, 16), ("C", 9, 9), ("D", 5, 0), ("E", 20, 10)):
        counted(planting, factories.stock_lot(code=code), planted, alive)
    counted(planting, factories.stock_lot(code="W"), 20, 20, role="check")
    lead = factories.person()
    assert [row.keys[0] for row in survival_rows(lead, ("lineage",), "lot").rows] == ["A", "B", "C", "D", "E", "W"]
    assert [row.keys[0] for row in survival_rows(lead, ("lineage",), "lot", by_survival=True).rows] == ["B", "E", "A", "C", "D", "W"]


def test_the_order_of_the_words_is_the_order_of_the_labels():
    planting, lot = factories.planting(), factories.stock_lot()
    counted(planting, lot, 10, 5)
    assert set(figures(by=("lineage", "site"))) == {(lot.code, planting.site.code, "under test")}
    assert set(figures(by=("planting", "jurisdiction"))) == {(planting.code, "not known", "under test")}


@pytest.mark.parametrize("by", [(), ("site", "site"), ("tree",)])
def test_an_unknown_grouping_names_the_known_ones(by):
    with pytest.raises(ValueError, match="one or more of site, lineage, planting, jurisdiction"):
        survival_rows(factories.person(), by)


def test_filters_limit_rows_checks_ages_and_what_is_left_out():
    here, there = ages(1), ages(2)
    here.site.jurisdiction = "US-VT"
    here.site.save()
    counted(here, factories.stock_lot(), 10, 1, role="check")
    lead = factories.person()
    by_site = survival_rows(lead, ("site",), filters=SurvivalFilter(site=there.site.code))
    assert (by_site.ages, [row.keys for row in by_site.rows], by_site.left_out) == (((2, 1),), [(there.site.code,)], ())
    in_vermont = survival_rows(lead, ("site",), filters=SurvivalFilter(jurisdiction="US-VT"))
    assert [(row.keys[0], row.role) for row in in_vermont.rows] == [(here.site.code, "test"), (here.site.code, "check")]
    elsewhere = survival_rows(lead, ("site",), filters=SurvivalFilter(jurisdiction="not known"))
    assert [row.keys[0] for row in elsewhere.rows] == [there.site.code]
    tested = survival_rows(lead, ("site",), filters=SurvivalFilter(site=here.site.code, role="test"))
    assert [row.role for row in tested.rows] == ["test"]
    assert tested.rows[0].checks.alive == 1  # left out of the rows, still compared with


def test_everybody_sees_the_rows_of_their_own_scope():
    people = everyone()
    mine = factories.planting(site=factories.site(partner=people["landowner"].partner), crew=[people["volunteer"]])
    counted(mine, factories.stock_lot(), 10, 5)
    counted(factories.planting(), factories.stock_lot(), 10, 5)
    seen = {name: len(survival_rows(person, ("site",)).rows) for name, person in people.items()}
    assert seen == dict.fromkeys(("lead", "coordinator", "manager", "auditor"), 2) | {
        "landowner": 1, "volunteer": 1, "other landowner": 0, "other volunteer": 0, "unknown role": 0,
    }  # fmt: skip


def test_the_cost_in_queries_depends_on_neither_sites_nor_records():
    lead, lot = factories.person(), factories.stock_lot()

    def queries():
        with CaptureQueriesContext(connection) as captured:
            survival_rows(lead, ("site", "lineage"), "source", CensusChoice("age", 1))
        return captured

    def one_more(trees):
        planting = factories.planting()
        factories.observe(factories.census_round(planting), dict.fromkeys(factories.trees(planting, lot, trees), "A"))

    one_more(2)
    few = queries()
    for trees in (30, 20, 10):
        one_more(trees)
    many = queries()
    assert len(many) == len(few) <= 7


def test_the_curve_shows_every_age_and_only_plantings_of_that_age():
    lot = factories.stock_lot()
    first, second = factories.planting(), factories.planting()
    count_again(counted(first, lot, 10, 8), 2, alive=6)
    counted(second, lot, 10, 4)
    curve = survival_curve(factories.person(), ("lineage",), "lot")
    assert curve.seasons == (1, 2)
    [line] = curve.rows
    assert {season: (row.alive, row.n) for season, row in line.items()} == {1: (12, 20), 2: (6, 10)}
