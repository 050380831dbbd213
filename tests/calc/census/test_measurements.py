"""The table of measurements: what an entry may be, and that no other list of them exists."""

import re

import pytest

from plantings.calc.census.codes import CAUSES_OF_DEATH, REMOVAL_REASONS, STATUSES, UNSEEN, Code, listed_words
from plantings.calc.census.measurements import EVERYWHERE, FIELDS, MEASURED, MEASUREMENTS, Measurement, measured_at
from tests.places import PROJECT

CLASSES = (Code("none", "None", ""), Code("some", "Some", ""))


def test_names_columns_and_headers_are_each_used_once():
    for values in (FIELDS, [item.name for item in MEASUREMENTS], [item.sheet_header for item in MEASUREMENTS]):
        assert len(set(values)) == len(values)


def test_the_sheet_has_every_measurement_with_its_method():
    assert [item.name for item in MEASUREMENTS if "sheet" not in item.places or not item.taken] == []
    assert all(measured_at(place) for place in EVERYWHERE)


@pytest.mark.parametrize(
    ("values", "says"),
    [
        ({}, "either classes or a highest value"),
        ({"high": 5, "classes": CLASSES}, "either classes or a highest value"),
        ({"classes": (*CLASSES, Code("extraordinary", "", ""))}, "longer than 10 characters"),
        ({"low": -5, "high": 5, "whole": True}, "from 0"),
    ],
)
def test_an_entry_that_no_column_can_hold_is_refused(values, says):
    with pytest.raises(ValueError, match=says):
        Measurement("x", "x_cm", "X", MEASURED, **values)


def test_a_label_does_not_repeat_its_code():
    words = [listed_words(code, label) for code, label, _ in (*STATUSES, *CAUSES_OF_DEATH, *REMOVAL_REASONS)]
    assert [said for said in words if re.match(r"(\w+) \(?\1\b", said)] == []


def test_only_the_table_names_its_columns():
    """A column named in another list would be forgotten when a measurement is added or renamed."""
    allowed = {"plantings/calc/census/measurements.py", "plantings/calc/census/rules.py", "plantings/calc/census/changes.py"}
    allowed |= {
        f"plantings/calc/arrival/{name}.py" for name in ("growth", "exchanges", "slips", "agreement_words", "quality", "tolerances")
    }  # examples, and tolerances
    named = re.compile("|".join(rf"\b{name}\b" for name in FIELDS if name != "flowering"))
    found = {
        str(path.relative_to(PROJECT))
        for path in (PROJECT / "plantings").rglob("*.py")
        if "migrations" not in path.parts and "demo" not in path.parts and named.search(path.read_text(encoding="utf-8"))
    }
    assert found - allowed == set()


def test_the_unseen_statuses_are_listed_once():
    listed = re.compile(r"[\"']NF[\"'],\s*[\"']NL[\"']")
    found = [path.name for path in (PROJECT / "plantings").rglob("*.py") if listed.search(path.read_text(encoding="utf-8"))]
    assert found == ["codes.py"] and {code for code, _, _ in STATUSES} > UNSEEN
