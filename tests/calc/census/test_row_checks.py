"""Many rows of a round are judged as each of them alone: what `check_row` says of a row is the expected value."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.census.row_checks import RowChecks
from plantings.calc.census.rows import SeenRow
from plantings.calc.census.rules import check_row
from registry.calc.shared.part_dates import PartDate

PLANTED, OPENS, CLOSES = date(2024, 4, 20), date(2026, 8, 25), date(2026, 10, 15)
# few values of each part, good and wrong ones, so that parts meet again in other rows; NaN is an error, not a blank
_DAYS = [date(2026, 9, 12), date(2026, 9, 13), date(2024, 1, 1), date(2026, 12, 24), PartDate(2026), PartDate(2026, 9), None]
_ROWS = st.builds(
    SeenRow,
    status=st.sampled_from(["A", "AR", "D", "SU", "NF", "NL", "NV", "RM", "PD"]),
    observed_on=st.sampled_from(_DAYS),
    cause=st.sampled_from(["", "canker", "frost", "sanitation", "odd"]),
    height_cm=st.sampled_from([None, 0, 40.5, 5_000, 7_000, float("nan")]),
    diameter_mm=st.sampled_from([None, 8.0, 1_900]),
    canker_class=st.sampled_from([None, "", 0, 2, 9, []]),
    browse_class=st.sampled_from(["", "none", "odd"]),
    note=st.sampled_from(["", "short", "x" * 1_001]),
    own_values=st.sampled_from([{}, {"x": 1}]),
)
_PLANTED = st.sampled_from([None, PLANTED, date(2026, 9, 13), PartDate(2024)])


def _judge(row, planted_on):
    return check_row(row, planted_on, OPENS, CLOSES)


@given(st.lists(st.tuples(_ROWS, _PLANTED), max_size=40))
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
