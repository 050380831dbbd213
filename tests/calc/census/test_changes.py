"""One census row beside the same tree's last values. Thresholds: common practice, no source."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from plantings.calc.census.changes import compare_with_last
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.calc.results import CLEAN

SEEN = date(2026, 9, 12)


def compare(height_cm=None, last_height_cm=None, *, status="A", last_status="A", days=365, last_diameter_mm=None, **values):
    last_on = SEEN - timedelta(days=days)
    readings = {"height_cm": last_height_cm, "diameter_mm": last_diameter_mm}
    last = LastSeen(last_status, {name: (value, last_on) for name, value in readings.items() if value is not None})
    return compare_with_last(SeenRow(status=status, observed_on=SEEN, height_cm=height_cm, **values), last)


@pytest.mark.parametrize(
    ("height_cm", "last_height_cm", "values"),
    [
        (140, 120, {}),
        (120, 120, {}),
        (None, 120, {}),
        (120, None, {}),
        (120, 0, {}),
        (0, None, {}),
        # Down no more than 5 cm, or no more than 10 %.
        (35, 40, {}),
        (90, 100, {}),
        (Decimal("90.0"), Decimal("100.0"), {}),
        # Up exactly 200 cm in a year; twice that in two.
        (300, 100, {}),
        (800, 400, {"days": 731}),
        # A lower height that has its reason.
        (60, 100, {"dieback_percent": 30}),
        (60, 100, {"browse_class": "light"}),
        (60, 100, {"status": "AR"}),
        (10, 100, {"status": "AR"}),
    ],
)
def test_a_possible_height_raises_no_question(height_cm, last_height_cm, values):
    assert compare(height_cm, last_height_cm, **values) is CLEAN


@pytest.mark.parametrize(
    ("height_cm", "last_height_cm", "values", "said"),
    [
        (89, 100, {}, "No dieback, browse or resprout is recorded."),
        (34.5, 40, {}, "No dieback, browse or resprout is recorded."),
        (0, 40, {}, "No dieback, browse or resprout is recorded."),
        (60, 100, {"dieback_percent": 0}, "No dieback, browse or resprout is recorded."),
        (60, 100, {"browse_class": "none"}, "No dieback, browse or resprout is recorded."),
        (301, 100, {}, "more than 200 cm a year"),
        (801, 400, {"days": 731}, "more than 200 cm a year"),
        (301, 100, {"days": 36}, "more than 200 cm a year"),
        (301, 100, {"browse_class": "heavy"}, "more than 200 cm a year"),
        (Decimal(301), Decimal(100), {}, "more than 200 cm a year"),
    ],
)
def test_shrinkage_and_leaps_raise_a_question(height_cm, last_height_cm, values, said):
    [finding] = compare(height_cm, last_height_cm, **values)
    assert (finding.field, finding.severity) == ("height_cm", "warning")
    assert said in finding.message


# 2.54 cm to the inch, 30.48 cm to the foot, 3.28 ft to the metre: exact or rounded definitions of
# the units (international yard and pound agreement, 1959).
@pytest.mark.parametrize(
    ("height_cm", "last_height_cm", "units"),
    [
        (254, 100, "inches and centimetres"),
        (100, 254, "inches and centimetres"),
        (328, 100, "feet and metres"),
        (1000, 100, "millimetres and centimetres"),
        (10, 100, "millimetres and centimetres"),
        (292, 10, "feet and centimetres"),
        (10, 305, "feet and centimetres"),
        (Decimal("12.0"), Decimal("118.0"), "millimetres and centimetres"),
    ],
)
def test_a_ratio_of_two_units_is_named_once_as_a_unit_slip(height_cm, last_height_cm, units):
    [finding] = compare(height_cm, last_height_cm)
    assert (finding.field, finding.severity) == ("height_cm", "warning")
    assert f"as if {units}" in finding.message


@pytest.mark.parametrize(("ratio", "slip"), [(9.4, False), (9.6, True), (10.4, True), (10.6, False)])
def test_near_a_unit_slip_means_within_five_percent(ratio, slip):
    [finding] = compare(ratio * 100, 100)
    assert ("as if millimetres" in finding.message) is slip


@pytest.mark.parametrize(
    ("diameter_mm", "last_mm", "values", "said"),
    [
        (20, 18, {}, ""),
        (17, 18, {}, ""),
        (16.9, 18, {}, "height above ground where it was taken"),
        (Decimal("16.9"), Decimal("18.0"), {}, "height above ground where it was taken"),
        (16.9, 18, {"status": "AR"}, ""),
        (16.9, 18, {"browse_class": "heavy"}, "height above ground where it was taken"),
        (180, 18, {}, "as if millimetres and centimetres"),
        (1, 10, {}, "as if millimetres and centimetres"),
        (1.8, 18, {}, "as if millimetres and centimetres"),
        (18, None, {}, ""),
        (None, 18, {}, ""),
        (18, 0, {}, ""),
    ],
)
def test_a_thinner_stem_raises_a_question_unless_it_resprouted(diameter_mm, last_mm, values, said):
    findings = compare(diameter_mm=diameter_mm, last_diameter_mm=last_mm, **values)
    assert bool(findings) == bool(said)
    for finding in findings:
        assert (finding.field, finding.severity) == ("diameter_mm", "warning")
        assert said in finding.message


@pytest.mark.parametrize("status", ["A", "AR"])
@pytest.mark.parametrize(("last_status", "said"), [("D", "Dead (D)"), ("RM", "Removed (RM)")])
def test_a_tree_that_was_gone_and_is_alive_raises_a_question(status, last_status, said):
    [finding] = compare(status=status, last_status=last_status)
    assert (finding.field, finding.severity) == ("status", "warning")
    assert f"Recorded {said} last time" in finding.message


@pytest.mark.parametrize(("status", "last_status"), [("A", ""), ("A", "NF"), ("AR", "A"), ("D", "D"), ("NF", "D"), ("RM", "D")])
def test_other_changes_of_status_are_ordinary(status, last_status):
    assert compare(status=status, last_status=last_status) is CLEAN


def test_everything_odd_is_reported_at_once():
    findings = compare(301, 100, last_status="D", diameter_mm=10, last_diameter_mm=18)
    assert [finding.field for finding in findings] == ["status", "height_cm", "diameter_mm"]
