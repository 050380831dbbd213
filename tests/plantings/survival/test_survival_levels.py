"""Survival by lineage: the levels of a table, the checks beside a lineage, and the disease in them."""

import pytest

from plantings.selectors.survival.rounds import SurvivalFilter
from plantings.selectors.survival.survival import survival_rows
from registry.services.lots.ledger import lot_bulk
from tests import factories
from tests.plantings.survival.survival_examples import counted, figures

pytestmark = pytest.mark.django_db


WITH_OPEN = SurvivalFilter(open_rounds=True)


def only(rows):
    [row] = rows.values()
    return row


def test_a_level_that_is_stated_nowhere_proposes_those_that_are():
    mother = factories.pedigree_tree(code="M-1", source_of_resistance="", recurrent_line="")
    counted(factories.planting(), factories.seed_lot(code="A", mother=mother), 20, 5)
    table = survival_rows(factories.person(), ("lineage",), "line")
    assert "mother" in table.stated_levels and "line" not in table.stated_levels
    assert survival_rows(factories.person(), ("lineage",), "mother").stated_levels == ()


def test_a_row_can_be_opened_down_to_its_mother_trees():
    planting = factories.planting()
    for code, name, source in (("A", "M-1", "Heron"), ("B", "M-2", "Heron"), ("C", "M-3", "Ibis")):
        mother = factories.pedigree_tree(code=name, source_of_resistance=source)
        counted(planting, factories.seed_lot(code=code, mother=mother), 10, 5)
    rows = figures(level="mother", filters=SurvivalFilter(within=("source", "Heron")))
    assert {key for key, _ in rows} == {"M-1", "M-2"}


def test_the_checks_are_those_on_exactly_the_sites_of_the_lineage():
    lot, other, check = factories.stock_lot(), factories.stock_lot(), factories.stock_lot()
    here, there, elsewhere = (factories.planting() for _ in range(3))
    for planting in (here, there):
        counted(planting, lot, 10, 9)
    counted(elsewhere, other, 10, 9)
    for planting, alive in ((here, 2), (there, 4)):
        counted(planting, check, 10, alive, role="check")
    rows = figures()
    both = rows[lot.code, "under test"]
    assert (both.checks.alive, both.checks.n) == (6, 20)
    assert both.difference.estimate == pytest.approx(0.9 - 0.3)
    alone = rows[other.code, "under test"]
    assert (alone.difference.estimate, alone.difference.reason) == (None, "no check on these sites")
    by_site = figures(by=("site", "lineage"))
    assert by_site[here.site.code, lot.code, "under test"].checks.alive == 2


def test_a_lot_that_is_tested_here_and_a_check_there_has_two_rows():
    lot = factories.stock_lot()
    counted(factories.planting(), lot, 10, 9)
    counted(factories.planting(), lot, 10, 1, role="check")
    rows = figures()
    assert (rows[lot.code, "under test"].alive, rows[lot.code, "native check"].alive) == (9, 1)


def test_the_native_check_is_the_standard():
    # common practice, no source: the native check is the susceptible one; pooled with a first hybrid or a donor it is not a standard
    native, hybrid, donor = (factories.stock_lot(taxon=factories.taxon(role=role)) for role in ("native", "hybrid", "donor"))
    lot, with_all, with_two, with_donor = factories.stock_lot(), *(factories.planting() for _ in range(3))
    for planting in (with_all, with_two, with_donor):
        counted(planting, lot, 10, 5)
        counted(planting, donor, 10, 10, role="check")
    for planting in (with_all, with_two):
        counted(planting, hybrid, 10, 7, role="check")
    counted(with_all, native, 10, 1, role="check")
    rows = figures(by=("site",))
    assert rows[with_all.site.code, "under test"].checks.lots == (native.code,)
    assert rows[with_two.site.code, "under test"].checks.lots == (hybrid.code,)
    assert rows[with_donor.site.code, "under test"].checks.lots == (donor.code,)
    assert rows[with_two.site.code, "under test"].pressure_reason == "no native check on these sites"
    alive = {words: rows[with_all.site.code, words].alive for words in ("native check", "other check", "donor check")}
    assert alive == {"native check": 1, "other check": 7, "donor check": 10}


def test_disease_pressure_is_canker_incidence_in_the_check():
    # 0 of 20: Newcombe 1998, Stat. Med. 17:857-872, Table I, method 3
    planting, lot, check = factories.planting(), factories.stock_lot(), factories.stock_lot()
    under_test = factories.trees(planting, lot, 2, row=1)
    checks = factories.trees(planting, check, 20, role="check", row=2)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    factories.observe(first, dict.fromkeys(under_test + checks, "A"))
    factories.observe(second, dict.fromkeys(under_test, "A"), canker_class=2)
    factories.observe(second, dict.fromkeys(checks, "A"), canker_class=0)
    early, late = figures(season=1)[lot.code, "under test"], figures(season=2)[lot.code, "under test"]
    assert (early.pressure.share, early.pressure_reason) == (None, "not assessed")
    assert figures(season=2)[check.code, "native check"].pressure == late.pressure
    assert (late.pressure.cankered, late.pressure.assessed, late.pressure.share) == (0, 20, 0)
    assert (late.pressure.interval.low, late.pressure.interval.high) == pytest.approx((0, 0.161125), abs=5e-7)


def test_disease_pressure_over_sites_knows_that_sites_differ():
    # three sites, cankers on 9 of 10, 1 of 10 and 5 of 10. By hand: V = sum of (1/9)(v - 0.5)^2 / (2/3) = 0.053333, so 4.6875 trees tell
    # as much; t at 2 degrees of freedom 4.302653; Wilson's ends at them
    lot, check = factories.stock_lot(), factories.stock_lot()
    for cankered in (9, 1, 5):
        planting = factories.planting()
        under_test = factories.trees(planting, lot, 1, row=1)
        checks = factories.trees(planting, check, 10, role="check", row=2)
        classes = dict(zip(checks, [2] * cankered + [0] * (10 - cankered), strict=True))
        factories.observe(factories.census_round(planting, 1), dict.fromkeys(under_test + checks, "A"), canker_class=classes)
    rows = figures(by=("lineage",), level="lot")
    for key in ((lot.code, "under test"), (check.code, "native check")):
        found = rows[key].pressure
        assert (found.cankered, found.assessed, found.holds) == (15, 30, True)
        assert (found.interval.low, found.interval.high) == pytest.approx((0.053358, 0.946642), abs=5e-7)
    assert "no spread over the sites: interval from the trees alone" in rows[lot.code, "under test"].caveats


def test_a_bulk_is_never_given_a_mother_and_two_sources_are_mixed():
    # the rule of the programme: once bulked, mother identity is "bulk"; common practice, no source
    actor = factories.person()
    mothers = [factories.pedigree_tree(source_of_resistance=source) for source in ("Heron", "Ibis")]
    parts = [factories.seed_lot(actor=actor, seeds=30, mother=mother) for mother in mothers]
    bulk = factories.stock_lot(code="BULK", kind="seed", origin="bulk", outside_origin="")
    for part in parts:
        lot_bulk(actor=actor, bulk=bulk, component=part, count=10, on=factories.day(2019, 1))
    counted(factories.planting(), bulk, 10, 4)
    assert set(figures(level="mother")) == {("bulk", "under test, sown as seed")}
    assert set(figures(level="source")) == {("mixed (Heron 1/2, Ibis 1/2)", "under test, sown as seed")}
    assert set(figures(level="lot")) == {("BULK", "under test, sown as seed")}


@pytest.mark.parametrize(
    ("level", "labels"),
    [("mother", {"M-1", "M-2", "M-3"}), ("source", {"Heron", "Ibis"}), ("line", {"L7"}), ("lot", {"A", "B", "C"})],
)
def test_a_level_pools_the_lots_that_share_it(level, labels):
    planting = factories.planting()
    for code, name, source in (("A", "M-1", "Heron"), ("B", "M-2", "Heron"), ("C", "M-3", "Ibis")):
        mother = factories.pedigree_tree(code=name, source_of_resistance=source, recurrent_line="L7")
        counted(planting, factories.seed_lot(code=code, mother=mother), 10, 5)
    rows = figures(level=level)
    assert {key for key, _ in rows} == labels
    assert sum(row.n for row in rows.values()) == 30


def test_a_check_without_a_source_goes_by_generation_or_lot():
    planting = factories.planting()
    counted(planting, factories.stock_lot(code="WT-1", generation_other="native"), 10, 5, role="check")
    counted(planting, factories.stock_lot(code="X-9"), 10, 5, role="check")
    assert set(figures(level="source")) == {("native", "native check"), ("X-9", "native check")}


def test_totals_separate_trees_under_test_and_checks():
    planting, lot = factories.planting(), factories.stock_lot()
    counted(planting, lot, 20, 15)
    counted(planting, factories.stock_lot(), 20, 5, role="check")
    counted(factories.planting(), lot, 20, 11)
    table = survival_rows(factories.person(), ("site", "lineage"), "lot")
    assert [(row.role_words, row.alive, row.n, len(row.sites)) for row in table.totals] == [
        ("under test", 26, 40, 2),
        ("native check", 5, 20, 1),
    ]
