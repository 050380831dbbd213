"""Treatments and storage of seed, and the handbook they are judged by."""

import datetime

import pytest
from django.core.exceptions import ValidationError

from registry.models import StorageRecord
from registry.selectors.lots.handbook import handbook_periods, handbook_row
from registry.selectors.lots.lot_steps import lot_calendar, lot_oddities, lot_treatments, storage_rows
from registry.services.lots.seed_tests import treatment_enter
from registry.services.lots.storage import handbook_save, handbook_verify, storage_enter
from tests import factories
from tests.registry.lots.seed_records import DAY, fresh

pytestmark = pytest.mark.django_db


# -- treatments and storage ------------------------------------------------------------------


def treat(lot, **fields):
    return treatment_enter(actor=factories.person(), lot=lot, **{"started_on": DAY, "operator": "A. Operator"} | fields)


def test_a_bath_that_was_too_cold_is_odd_on_the_lot():
    # under 47 C the weevil treatment fails: common practice, no source
    lot, other = factories.seed_lot(seeds=10), factories.seed_lot(seeds=10, taxon=factories.taxon())
    factories.handbook_row(binomial=lot.taxon.name, **factories.BATH)
    for one in (lot, other):
        treat(one, kind="hot_water", temperature_c=45, minutes=20)
    assert lot_oddities([], lot_treatments(lot), []) == ["45 °C is under 47 °C: the treatment against weevils fails."]
    assert lot_oddities([], lot_treatments(other), []) == []  # no row of its species states a bath


def test_a_temperature_no_water_has_is_refused_whoever_enters_it():
    # 120 F = (120 - 32) / 1.8 = 48.9 C
    with pytest.raises(ValidationError, match="120 °F are 48.9 °C"):
        treat(factories.seed_lot(seeds=10), kind="hot_water", temperature_c=120, minutes=20)


def test_a_later_entry_with_the_end_completes_a_stratification():
    lot = factories.seed_lot(seeds=10)
    treat(lot, kind="cold")
    treat(lot, kind="cold", ended_on=factories.day(2020, 1))
    assert [row.completed for row in lot_treatments(lot)] == [False, True]


def test_the_calendar_runs_from_the_treatment_that_goes_on():
    # Woody Plant Seed Manual, USDA Agric. Handb. 727, Juglans table 5 (as read in a scrape): J. cinerea 90 to 120 days cold.
    row = factories.handbook_row(cold_days_low=90, cold_days_high=120)
    lot = factories.seed_lot(seeds=10)
    assert lot_calendar(lot_treatments(lot), row) is None
    treat(lot, kind="cold", started_on=datetime.date(2019, 12, 1))
    steps = lot_calendar(lot_treatments(lot), row)
    assert [(s.what, s.earliest, s.latest) for s in steps][-1] == ("sow", datetime.date(2020, 2, 29), datetime.date(2020, 3, 30))
    assert lot_calendar(lot_treatments(lot), factories.handbook_row()) is None
    treat(lot, kind="cold", started_on=datetime.date(2019, 12, 1), ended_on=datetime.date(2020, 3, 10))
    assert lot_calendar(lot_treatments(lot), row) is None


def test_warm_and_cold_run_one_after_the_other():
    # Fraxinus tables 5 and 6 (as read in a scrape): F. americana 30 days warm and 60 cold.
    row = factories.handbook_row(warm_days_low=30, warm_days_high=30, cold_days_low=60, cold_days_high=60)
    lot = factories.seed_lot(seeds=10)
    treat(lot, kind="warm", started_on=datetime.date(2019, 11, 1))
    assert [s.earliest for s in lot_calendar(lot_treatments(lot), row)][1:] == [datetime.date(2019, 12, 1), datetime.date(2020, 1, 30)]
    treat(lot, kind="warm", started_on=datetime.date(2019, 11, 1), ended_on=datetime.date(2019, 12, 3))
    treat(lot, kind="cold", started_on=datetime.date(2019, 12, 3))
    assert [(s.what, s.earliest) for s in lot_calendar(lot_treatments(lot), row)] == [
        ("start cold", datetime.date(2019, 12, 3)), ("sow", datetime.date(2020, 2, 1)),
    ]  # fmt: skip


def test_a_storage_check_updates_the_ledger_and_the_place():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=100, storage_place="shed")
    storage_enter(actor=lead, lot=lot, on=DAY, place="cold room 1", by="I. Marsh", discarded=12, sprouted_percent=3.0)
    assert (fresh(lot).balance, fresh(lot).storage_place) == (88, "cold room 1")
    storage_enter(actor=lead, lot=fresh(lot), on=factories.day(2019, 9), place="shed", by="I. Marsh")
    assert fresh(lot).storage_place == "cold room 1"
    assert fresh(lot).balance == 88
    with pytest.raises(ValidationError, match="holds 88 seeds"):
        storage_enter(actor=lead, lot=fresh(lot), on=DAY, place="x", by="y", discarded=89)
    assert StorageRecord.objects.count() == 2


def test_frost_in_the_store_is_odd_only_for_seed_that_dies_of_it():
    lot = factories.seed_lot(seeds=10)
    storage_enter(actor=factories.person(), lot=lot, on=DAY, place="freezer", by="x", temperature_c=-18)
    nut, ash = factories.handbook_row(storage_class="recalcitrant"), factories.handbook_row(storage_class="orthodox")
    assert "dies of frost" in lot_oddities([], [], storage_rows(lot, nut))[0]
    assert lot_oddities([], [], storage_rows(lot, ash)) == []


# -- handbook --------------------------------------------------------------------------------


def test_the_verified_row_of_a_species_comes_first():
    factories.handbook_row(binomial="Juglans cinerea", source="a")
    verified = factories.handbook_row(binomial="Juglans cinerea", source="b", verified_on=DAY, verified_by="I. Marsh")
    assert handbook_row("juglans cinerea ") == verified
    assert handbook_row("Juglans nigra") is None


def test_a_changed_figure_ends_verification_and_a_note_does_not():
    lead = factories.person()
    row = factories.handbook_row(cold_days_low=90)
    with pytest.raises(ValidationError, match="Say who"):
        handbook_verify(actor=lead, row=row, on=DAY, by=" ")
    handbook_verify(actor=lead, row=row, on=DAY, by="I. Marsh")
    row.note = "page 604"
    handbook_save(actor=lead, row=row)
    assert row.verified_on == DAY
    row.cold_days_low = 80
    handbook_save(actor=lead, row=row)
    assert (row.verified_on, row.verified_by) == (None, "")


@pytest.mark.parametrize(
    ("fields", "periods"),
    [
        ({}, None),
        ({"cold_days_low": 90}, ((0, 0), (90, 90))),
        ({"warm_days_low": 30, "warm_days_high": 30, "cold_days_high": 60}, ((30, 30), (60, 60))),
        ({"cold_days_low": 0, "cold_days_high": 0}, ((0, 0), (0, 0))),
    ],
)
def test_the_periods_of_a_row_are_read_with_one_figure_or_two(fields, periods):
    found = handbook_periods(factories.handbook_row(**fields))
    assert (found and tuple((p.days_low, p.days_high) for p in found)) == periods
