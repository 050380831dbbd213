"""Survival from the records to the table: who counts, who does not, which interval, compared with what."""

import datetime

import pytest
from django.utils import timezone

from plantings.calc.survival.census_choice import CensusChoice
from plantings.calc.survival.survival import survival_text
from plantings.calc.survival.words import difference_words
from plantings.selectors.survival.rounds import SurvivalFilter
from plantings.selectors.survival.survival import survival_rows
from plantings.services.trees import tree_replace
from registry.services.people.programme import programme_setting_save
from tests import factories
from tests.plantings.survival.survival_examples import count_again, counted, figures

pytestmark = pytest.mark.django_db


WITH_OPEN = SurvivalFilter(open_rounds=True)


def only(rows):
    [row] = rows.values()
    return row


def test_only_non_biological_removals_leave_the_denominator():
    # worked by hand from the programme's definitions; common practice, no source
    planting = factories.planting()
    trees = factories.trees(planting, count=12)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    factories.observe(first, dict(zip(trees, ["A", "A", "A", "D", "NF", "A", "A", "A", "A", "A", "A", "NF"], strict=True)))
    later = ["A", "AR", "D", "A", "NF", "NF", "NL", "NV", None, None, None, "NV"]
    factories.observe(second, {tree: status for tree, status in zip(trees, later, strict=True) if status})
    factories.observe(second, {trees[9]: "RM"}, cause="sanitation")
    factories.observe(second, {trees[10]: "RM"}, cause="landowner")
    row = only(figures(season=2, filters=WITH_OPEN))
    counts = row.counts
    # 12 planted, 1 removed at the landowner's wish: 11 countable; 3 not visited and 1 not located: 7 assessed
    assert (counts.planted, row.countable, row.n) == (12, 11, 7)
    assert (counts.alive, counts.resprout, counts.dead, counts.presumed_dead) == (3, 1, 1, 1)
    assert (counts.not_found, counts.not_located, counts.not_visited) == (1, 1, 3)
    assert (counts.removed, counts.removed_excluded) == (1, 1)
    assert (row.share, row.band_low, row.band_high) == pytest.approx((3 / 7, 3 / 11, 8 / 11))


@pytest.mark.parametrize(
    ("alive", "planted", "low", "high"),
    [
        (81, 263, 0.255289, 0.366210),
        (15, 148, 0.062386, 0.160487),
        (0, 20, 0, 0.161125),
        (1, 29, 0.006113, 0.171755),
        (29, 29, 0.883030, 1),
    ],
)
def test_the_interval_on_one_site_is_wilsons(alive, planted, low, high):
    # Newcombe 1998, Stat. Med. 17:857-872, Table I, method 3; six decimals from R 4.2.2 prop.test(correct=FALSE)
    counted(factories.planting(), factories.stock_lot(), planted, alive)
    row = only(figures())
    assert (row.alive, row.n, row.method) == (alive, planted, "Wilson")
    assert row.share == pytest.approx(alive / planted)
    assert (row.low, row.high) == pytest.approx((low, high), abs=5e-7)


def test_a_row_over_several_sites_takes_its_interval_over_the_sites():
    # R 4.2.2, clubSandwich 0.5.8 (CR2, Satterthwaite): standard error and the ends of Wilson's interval with t
    lot = factories.stock_lot()
    for alive, planted in [(12, 16), (9, 16), (15, 16), (11, 15), (7, 16), (14, 16), (13, 14), (10, 16)]:
        counted(factories.planting(), lot, planted, alive)
    row = only(figures())
    assert (len(row.sites), row.n, row.method) == (8, 125, "over sites")
    assert row.share == pytest.approx(0.728000, abs=5e-7)
    assert row.standard_error == pytest.approx(0.06409429, abs=5e-9)
    assert row.design_effect == pytest.approx(0.06409429**2 / (0.728 * 0.272 / 125), rel=1e-6)
    assert (row.low, row.high) == pytest.approx((0.558811, 0.849752), abs=5e-7)
    assert row.holds


def test_two_plantings_on_one_site_are_one_site():
    site, lot = factories.site(), factories.stock_lot()
    for alive in (8, 12):
        counted(factories.planting(site=site), lot, 20, alive)
    row = only(figures())
    assert (row.sites, len(row.plantings), row.alive, row.n, row.method) == ((site.code,), 2, 20, 40, "Wilson")


def test_the_count_leads_under_ten_trees():
    counted(factories.planting(), factories.stock_lot(), 9, 7)
    row = only(figures())
    assert row.count_leads and not row.rankable
    assert survival_text(row) == "7 of 9"


def test_a_replacement_is_never_counted():
    planting = factories.planting()
    trees = factories.trees(planting, count=10)
    factories.observe(factories.census_round(planting, 1), dict(zip(trees, ["A"] * 8 + ["D", "D"], strict=True)))
    new = tree_replace(actor=factories.person(), tree=trees[9], tag="R1", planted_on=factories.day(2020, 4))
    factories.observe(factories.census_round(planting, 2), {**dict.fromkeys(trees[:8], "A"), trees[8]: "D", new: "A"})
    row = only(figures(season=2))
    assert (row.counts.planted, row.alive, row.counts.dead) == (10, 8, 2)


@pytest.mark.parametrize("role", ["buffer", "filler"])
def test_buffers_and_fillers_are_in_no_row(role):
    planting = factories.planting()
    counted(planting, factories.stock_lot(), 12, 6)
    counted(planting, factories.stock_lot(), 30, 30, role=role)
    assert only(figures()).n == 12


def skipped_between():
    """Twelve trees: ten alive and two dead at the first round, the second skipped, all dead at the third."""
    planting = factories.planting()
    trees = factories.trees(planting, count=12)
    first, _second, third = (factories.census_round(planting, season) for season in (1, 2, 3))
    factories.observe(first, dict(zip(trees, ["A"] * 10 + ["D", "D"], strict=True)))
    factories.observe(third, dict(zip(trees, ["D"] * 12, strict=True)))
    return planting


def test_a_skipped_round_enters_no_figure_unless_asked_for():
    planting = skipped_between()
    assert figures(season=2) == {}
    table = survival_rows(factories.person(), ("site",), moment=CensusChoice("age", 2))
    [item] = table.not_complete
    assert (item.part.planting, item.part.why, item.shown, item.part.progress) == (planting.code, "thin", False, (12, 2, 10, 2))
    row = only(figures(season=2, filters=WITH_OPEN))
    assert (row.alive, row.n, row.countable, row.complete) == (0, 2, 12, False)
    assert row.band_high == pytest.approx(10 / 12)
    assert "census not complete" in row.caveats


def test_who_was_not_visited_is_not_dead():
    planting = factories.planting()
    trees = factories.trees(planting, count=20)
    factories.observe(factories.census_round(planting, 1), dict(zip(trees, ["A"] * 12 + ["D"] * 4 + ["NV", "NL", "SU"], strict=False)))
    row = only(figures(season=1))
    assert (row.alive, row.n, row.countable, row.share) == (12, 16, 20, 0.75)
    assert (row.band_low, row.band_high, row.counts.unclear) == (0.6, 0.8, 1)
    assert survival_text(row) == "0.75 (0.51–0.90), n 16 of 20, band 0.60–0.80"


def test_on_one_common_site_there_is_a_difference_and_no_interval():
    planting, lot, check = factories.planting(), factories.stock_lot(), factories.stock_lot(code="WT-1")
    counted(planting, lot, 70, 56)
    counted(planting, check, 80, 48, role="check")
    rows = figures()
    row, of_check = rows[lot.code, "under test"], rows["WT-1", "native check"]
    assert row.difference.estimate == pytest.approx(0.2)
    assert (row.difference.low, row.difference.reason) == (None, "one common site: cannot tell")
    assert difference_words(row) == "+0.20 (one common site: cannot tell)"
    assert (row.checks.lots, row.checks.alive, row.checks.n) == (("WT-1",), 48, 80)
    assert of_check.difference is None and of_check.share == pytest.approx(0.6)


def test_the_difference_from_the_checks_knows_the_sites():
    # R 4.2.2, clubSandwich 0.5.8 (CR2, Satterthwaite) on site differences weighted by n1*n0/(n1+n0)
    lot, check = factories.stock_lot(), factories.stock_lot()
    sites = zip([57, 22, 8, 90, 14, 31], [90, 27, 25, 112, 30, 40], [8, 13, 3, 12, 9, 15], [30, 27, 28, 28, 24, 30], strict=True)
    for alive, planted, alive_check, planted_check in sites:
        planting = factories.planting()
        counted(planting, lot, planted, alive)
        counted(planting, check, planted_check, alive_check, role="check")
    difference = figures()[lot.code, "under test"].difference
    assert difference.estimate == pytest.approx(0.2928755, abs=5e-8)
    assert (difference.low, difference.high) == pytest.approx((0.184210, 0.401541), abs=5e-7)


def test_planted_trees_and_sown_seed_are_never_added_up():
    planting, stock, seed = factories.planting(), factories.stock_lot(), factories.seed_lot()
    counted(planting, stock, 20, 15)
    counted(planting, seed, 300, 60)
    counted(planting, factories.stock_lot(code="WT-1"), 20, 10, role="check")
    rows = figures(by=("site",))
    site = planting.site.code
    planted, sown = rows[site, "under test"], rows[site, "under test, sown as seed"]
    assert (planted.alive, planted.n, sown.alive, sown.n) == (15, 20, 60, 300)
    assert sown.difference.reason == "no check on these sites"  # the check there was planted
    totals = survival_rows(factories.person(), ("site",)).totals
    assert [(row.role_words, row.n) for row in totals] == [("under test", 20), ("native check", 20), ("under test, sown as seed", 300)]


def test_a_planting_is_complete_for_its_trees_and_its_seed_apart():
    planting, seed = factories.planting(), factories.seed_lot()
    trees = factories.trees(planting, count=10)
    counted(planting, seed, 300, 60)
    factories.observe(planting.rounds.get(), dict.fromkeys(trees[:3], "A"))
    rows = figures(by=("site",))
    assert set(rows) == {(planting.site.code, "under test, sown as seed")}


def test_a_half_entered_round_is_progress_and_the_last_complete_one_counts():
    planting = factories.planting()
    trees = factories.trees(planting, count=20)
    today = timezone.localdate()
    first = factories.census_round(planting, 2)
    factories.observe(first, dict.fromkeys(trees, "A"))
    now = factories.census_round(planting, 2, label="again", opens_on=today, closes_on=today + datetime.timedelta(days=20))
    factories.observe(now, dict.fromkeys(trees[:4], "D"))
    table = survival_rows(factories.person(), ("site",))
    [row] = table.rows
    assert (row.alive, row.n, row.complete) == (20, 20, True)
    [item] = table.not_complete
    assert (item.part.why, item.part.progress, item.shown) == ("open", (20, 4, 16, 0), False)
    with_open = only(figures(by=("site",), filters=WITH_OPEN))
    assert (with_open.alive, with_open.n, with_open.countable, with_open.complete) == (0, 4, 20, False)


def test_a_round_with_every_position_settled_is_complete_early():
    planting = factories.planting()
    trees = factories.trees(planting, count=10)
    today = timezone.localdate()
    now = factories.census_round(planting, 1, opens_on=today, closes_on=today + datetime.timedelta(days=20))
    factories.observe(now, dict(zip(trees, ["A"] * 7 + ["D", "NF", "NL"], strict=True)))
    row = only(figures(by=("site",)))
    assert (row.alive, row.n, row.countable, row.complete) == (7, 9, 10, True)


def test_the_programme_sets_how_much_of_a_round_makes_it_complete():
    planting = factories.planting()
    trees = factories.trees(planting, count=10)
    factories.observe(factories.census_round(planting, 1), dict.fromkeys(trees[:7], "A"))
    assert figures() == {}
    programme_setting_save(actor=factories.person(), key="complete_percent", value="70", owner="B. Lead", set_on=factories.day(2026, 1))
    assert only(figures()).n == 7


def test_a_table_is_of_one_age_one_season_one_visit_or_the_latest():
    lot, old, young = factories.stock_lot(), factories.planting(), factories.planting()
    plot = counted(old, lot, 10, 9, season=1)
    count_again(plot, 2, alive=8)
    count_again(plot, 3, alive=7)
    counted(young, lot, 10, 5, season=2)
    assert (only(figures(season=2)).alive, only(figures(season=3)).alive) == (13, 7)
    assert only(figures(moment=CensusChoice("visit", 1))).alive == 14
    assert only(figures(moment=CensusChoice("latest"))).alive == 12
    year = old.rounds.get(growing_seasons=3).opens_on.year
    assert only(figures(moment=CensusChoice("season", year))).alive == 7


def test_as_recorded_then_is_beside_hindsight():
    planting = factories.planting()
    trees = factories.trees(planting, count=10)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    factories.observe(first, dict(zip(trees, ["A"] * 6 + ["NF"] * 4, strict=True)))
    factories.observe(second, dict(zip(trees, ["A"] * 8 + ["D"] * 2, strict=True)))
    counts = only(figures(season=1)).counts
    assert (counts.alive, counts.assessed, counts.alive_then, counts.assessed_then) == (8, 10, 6, 10)


def test_a_closed_site_stays_in_the_table():
    lot = factories.stock_lot()
    counted(factories.planting(), lot, 10, 9)
    counted(factories.planting(state="closed", site=factories.site(status="closed", status_reason="logged")), lot, 10, 0)
    row = only(figures())
    assert (row.alive, row.n, len(row.sites)) == (9, 20, 2)


def test_a_later_sighting_corrects_an_earlier_age_of_the_table():
    planting = factories.planting()
    plot = counted(planting, factories.stock_lot(), 10, 4, dead=0)
    assert only(figures(season=1)).alive == 4
    count_again(plot, 2, alive=6)
    assert only(figures(season=1)).alive == 6


def test_the_table_says_the_day_it_was_read_and_the_protocols_in_it():
    planting = factories.planting()
    factories.census_round(planting, 1, protocol_version="2019-2")
    counted(planting, factories.stock_lot(), 10, 4)
    table = survival_rows(factories.person(), ("site",))
    assert table.protocol_versions == ("2019-2",)
    assert isinstance(table.as_of, datetime.date)
