"""Sheets of the handbook and of the thresholds. Figures of Bonner & Karrfalt (eds) 2008, Woody Plant Seed Manual, USDA Agric.
Handb. 727, as read from a scan (OCR) of its tables; the rest is made for these tests.
"""

import datetime

import pytest
from django.conf import settings

from registry.imports.lots.handbook import HandbookSheet
from registry.imports.people.programme import ProgrammeSettingSheet
from registry.models import ProgrammeSetting, SpeciesHandbook
from registry.selectors.lots.handbook import handbook_row
from registry.selectors.people.programme import setting
from tests.registry.sheets.sheet_help import load, refused, written_and_read

pytestmark = pytest.mark.django_db

SPECIES = settings.BASE_DIR / "fixtures" / "handbook" / "species.csv"
ROW = (
    'Binomial,Source,"Seeds per kg, low","Seeds per kg, mean","Seeds per kg, high","Seeds per lb, mean",Germination (%),'
    "Checked against the printed page on,Checked by\n"
)


def test_loaded_handbook_rows_are_not_verified():
    plan = load(HandbookSheet, SPECIES.read_bytes())
    assert plan.counts["new"] == plan.rows == 14 and plan.warnings == []
    rows = SpeciesHandbook.objects
    assert not rows.exclude(verified_on=None).exists()
    assert all(row.note.startswith("values as scraped (OCR); check the printed page") for row in rows.all())
    assert written_and_read(HandbookSheet) == 14


@pytest.mark.parametrize(
    ("binomial", "figures"),
    [
        # Juglans Table 5, p. 604: 90-120 days at 1-5 °C, 65 % of 7 samples
        ("Juglans cinerea", {"cold_days_low": 90, "cold_days_high": 120, "cold_temperature": "1-5", "germination_percent": 65, "germination_samples": 7}),
        # a hot water bath: common practice, no source
        ("Castanea pumila", {"fruit": "burs", "bath_c_low": 47, "bath_c_high": 50, "bath_minutes": 20, "bath_against": "weevils"}),
        # Castanea Table 2: 220-360 per kg, 100-162 per lb
        ("Castanea dentata", {"seeds_per_kg_low": 220, "seeds_per_kg_high": 360, "seeds_per_lb_low": 100, "seeds_per_lb_high": 162}),
        # Fraxinus Tables 5 and 6, p. 542: 30 days warm at 20-30 °C, 60 days at 5 °C, 54 % of 3 samples
        ("Fraxinus americana", {"warm_days_high": 30, "warm_temperature": "20-30", "cold_days_high": 60, "germination_percent": 54}),
        # Quercus Tables 3 and 4, p. 936: 235 per kg and 105 per lb, 30-45 days, 58 % of 11 samples
        ("Quercus rubra", {"seeds_per_kg_mean": 235, "seeds_per_lb_mean": 105, "cold_days_low": 30, "cold_days_high": 45, "germination_samples": 11}),
    ],
)  # fmt: skip
def test_figures_of_the_handbook_arrive_in_their_own_column(binomial, figures):
    load(HandbookSheet, SPECIES.read_bytes())
    row = handbook_row(binomial)
    assert {name: getattr(row, name) for name in figures} == figures


def test_means_with_swapped_units_are_refused():
    # the Quercus seed-yield table as scraped has 98 per kg and 215 per lb for Q. alba
    problems = refused(HandbookSheet, ROW + "Quercus rubra,S,,235,,105,,,\nQuercus alba,S,,98,,215,,,\n")
    assert len(problems) == 1
    assert problems[0].startswith(
        "row 3, column 'Seeds per kg, mean': '98.0' Quercus alba: mean figures 98 per kg and 215 per lb look swapped"
    )
    assert not SpeciesHandbook.objects.exists()


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("A,S,300,,200,,,,", "Seeds per kg, low"),
        ("A,S,300,200,400,,,,", "Seeds per kg, mean"),
        ("A,S,,0,,,,,", "Seeds per kg, mean"),
        ("A,S,,6400,,290,,,", "Seeds per kg, mean"),  # Q. sinuata as scraped: 6 400 per kg against 290 per lb
        ("A,S,,,,,101,,", "Germination (%)"),
        ("A,S,,235,,105,,2026-01-05,", "Checked by"),
        ("A,S,,235,,105,,,B. Lead", "Checked against the printed page on"),
    ],
)
def test_contradictory_figures_are_refused_in_their_column(row, column):
    (problem,) = refused(HandbookSheet, ROW + row + "\n")
    assert problem.startswith(f"row 2, column '{column}'")


def test_a_figure_that_contradicts_a_stored_one_is_refused():
    load(HandbookSheet, ROW + "A,S,,235,,105,,,\n")
    assert "do not agree" in refused(HandbookSheet, ROW + "A,S,,335,,,,,\n")[0]


def test_a_sheet_verifies_a_row_until_a_figure_changes():
    load(HandbookSheet, ROW + "A,S,,235,,105,58,2026-01-05,B. Lead\n")
    assert SpeciesHandbook.objects.get().verified_on == datetime.date(2026, 1, 5)
    problem = refused(HandbookSheet, ROW + "A,S,,235,,105,60,2026-01-05,B. Lead\n")[0]
    assert problem.startswith("row 2, column 'Checked against the printed page on': '2026-01-05' is the day the old figures were checked")
    load(HandbookSheet, ROW + "A,S,,235,,105,60,,\n", reason="misread")
    row = SpeciesHandbook.objects.get()
    assert (row.germination_percent, row.verified_on, row.verified_by) == (60, None, "")
    load(HandbookSheet, ROW + "A,S,,235,,105,60,2026-02-05,B. Lead\n", reason="checked")
    assert SpeciesHandbook.objects.get().verified_by == "B. Lead"
    assert written_and_read(HandbookSheet) == 1


# -- thresholds --------------------------------------------------------------------------------

SETTING = "Setting,Value,Set by,Set on,Basis\n"


def test_thresholds_are_set_changed_and_read_back():
    load(ProgrammeSettingSheet, SETTING + "mothers_per_line,3,B. Lead,2026-01-15,example\nstatus_number,4.5,B. Lead,2026-01-15,\n")
    assert (setting("mothers_per_line"), float(setting("status_number"))) == (3, 4.5)
    load(ProgrammeSettingSheet, SETTING + "mothers_per_line,4,,,\n", reason="agreed")
    assert setting("mothers_per_line") == 4 and ProgrammeSetting.objects.get(key="mothers_per_line").owner == "B. Lead"
    assert written_and_read(ProgrammeSettingSheet) == 2


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("mothers_per_line,few,B,2026-01-15,\n", "row 2, column 'Value': 'few' “few” is not a whole number"),
        ("mothers_per_line,0,B,2026-01-15,\n", "row 2, column 'Value': '0' Give a number above 0."),
        ("mothers,2,B,2026-01-15,\n", "row 2, column 'Setting': 'mothers' is not in the list"),
        ("mothers_per_line,2,,2026-01-15,\n", "row 2, column 'Set by': is blank, and a new row needs it"),
    ],
)
def test_a_threshold_that_cannot_be_is_named_with_its_row(row, says):
    assert refused(ProgrammeSettingSheet, SETTING + row)[0].startswith(says)
    assert not ProgrammeSetting.objects.exists()
