"""Many rows of a round are judged as each of them alone: what `check_row` says of a row is the expected value."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.census.row_checks import RowChecks
from plantings.calc.census.rows import SeenRow
from plantings.calc.census.rules import check_row
from registry.calc.shared.part_dates import PartDate

PLANTED, OPENS, CLOSES = date(2024, 4, 20), date(2026, 8, 25), date(2026, 10, 15)
# few values of each part, most of them good, so that the parts of sound rows meet in other rows; NaN is an error, not a blank
_DAYS = [date(2026, 9, 12), date(2026, 9, 12), date(2024, 6, 1), PartDate(2026, 9), date(2024, 1, 1), None]
_HEADS = st.fixed_dictionaries(
    {"status": st.sampled_from(["A", "D", "NF", "NV", "RM", "PD"]), "observed_on": st.sampled_from(_DAYS)}
)  # fmt: skip
_PARTS = st.fixed_dictionaries(
    {
        "cause": st.sampled_from(["", "", "canker", "sanitation", "odd"]),
        "height_cm": st.sampled_from([None, None, 40.5, 700, 7_000, float("nan")]),
        "diameter_mm": st.sampled_from([None, None, 8.0, 0]),
        "canker_class": st.sampled_from([None, None, "", 2, 9, []]),
        "note": st.sampled_from(["", "", "", "x" * 1_001]),
        "own_values": st.sampled_from([{}, {}, {}, {"x": 1}]),
    }
)
_PLANTED = st.sampled_from([PLANTED, PLANTED, PartDate(2024), None])


@st.composite
def _rows(draw):
    """Rows of which many have the status, the day and the day of planting of another."""
    heads = draw(st.lists(st.tuples(_HEADS, _PLANTED), min_size=1, max_size=3))
    rows = draw(st.lists(st.tuples(st.sampled_from(heads), _PARTS), min_size=10, max_size=40))
    return [(SeenRow(**head, **parts), planted_on) for (head, planted_on), parts in rows]


def _judge(row, planted_on):
    return check_row(row, planted_on, OPENS, CLOSES)


@given(_rows())
def test_rows_together_are_judged_as_each_alone(rows):
    checks = RowChecks(_judge)
    assert [checks.findings(*row) for row in rows] == [_judge(*row) for row in rows]


def test_a_row_of_known_parts_is_not_judged_again():
    judged = []

    def judge(row, planted_on):
        judged.append(row.height_cm)
        return _judge(row, planted_on)

    checks, seen = RowChecks(judge), {"status": "A", "observed_on": date(2026, 9, 12)}
    for height, canker in ((40, 0), (50, 1), (40, 1), (50, 0), (60, 0)):
        assert checks.findings(SeenRow(height_cm=height, canker_class=canker, **seen), PLANTED) == ()
    assert judged == [40, 50, 60]


@pytest.mark.parametrize(
    "wrong",
    [
        {"cause": "odd"}, {"height_cm": 7_000}, {"height_cm": float("nan")}, {"diameter_mm": 3_000}, {"canker_class": 9}, {"canker_class": []},
        {"browse_class": "odd"}, {"dieback_percent": 101}, {"flowering": "odd"}, {"note": "x" * 1_001}, {"own_values": {"x": 1}},
        {"observed_on": date(2024, 1, 1)}, {"status": "PD"}, {"status": "NF", "height_cm": 40}, {"observed_on": date(2024, 6, 1), "height_cm": 700},
    ],
)  # fmt: skip
def test_one_wrong_part_is_found_beside_known_ones(wrong):
    checks, parts = RowChecks(_judge), {"status": "A", "observed_on": date(2026, 9, 12)}
    for height in (None, 40, 700):
        assert checks.findings(SeenRow(**parts, height_cm=height), PLANTED) == ()
    row = SeenRow(**parts | wrong)
    assert checks.findings(row, PLANTED) == _judge(row, PLANTED) != ()
