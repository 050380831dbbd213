"""One census row, judged by itself. Rules and limits: common practice, no source, unless said."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from plantings.calc.census import codes as census_codes
from plantings.calc.census.codes import status_code
from plantings.calc.census.fate import Status
from plantings.calc.census.rows import SeenRow
from plantings.calc.census.rules import check_row
from plantings.calc.results import CLEAN

PLANTED, OPENS, CLOSES, SEEN = date(2024, 4, 20), date(2026, 8, 25), date(2026, 10, 15), date(2026, 9, 12)


def row(status="A", observed_on=SEEN, **values):
    return check_row(seen(status, observed_on, **values), PLANTED, OPENS, CLOSES)


def seen(status="A", observed_on=SEEN, **values):
    return SeenRow(status=status, observed_on=observed_on, **values)


def found(*findings):
    return [(finding.field, finding.severity) for finding in findings]


@pytest.mark.parametrize(
    ("status", "values"),
    [
        ("A", {}),
        ("A", {"height_cm": 142, "diameter_mm": 18.5, "canker_class": 0, "browse_class": "none", "dieback_percent": 0}),
        ("A", {"height_cm": Decimal("142.5"), "diameter_mm": Decimal("18.5"), "dieback_percent": Decimal(10)}),
        ("A", {"height_cm": 0.1, "diameter_mm": 0.1}),
        ("A", {"diameter_at_cm": 0, "dieback_percent": 0}),
        ("D", {"diameter_mm": 0, "cause": "canker"}),
        ("A", {"height_cm": 779, "diameter_mm": 2000, "dieback_percent": 100, "canker_class": 4}),
        ("A", {"canker_class": "", "browse_class": "", "cause": "", "note": "", "height_cm": None}),
        ("A", {"note": "x" * 1000}),
        ("A", {"flowering": "both"}),
        ("AR", {"flowering": ""}),
        ("D", {"flowering": "none", "cause": "canker"}),
        ("AR", {"height_cm": 12}),
        ("D", {"cause": "canker", "diameter_mm": 20}),
        ("D", {"cause": "unknown"}),
        ("NF", {}),
        ("NL", {}),
        ("NV", {}),
        ("RM", {"cause": "sanitation"}),
        ("RM", {"cause": "landowner"}),
    ],
)
def test_a_good_row_is_clean_and_shares_one_empty_answer(status, values):
    assert row(status, **values) is CLEAN


@pytest.mark.parametrize("status", ["", "a", "X", "PD", None])
def test_an_unknown_status_is_an_error_that_lists_the_codes(status):
    [finding] = row(status)
    assert (finding.field, finding.severity) == ("status", "error")
    assert "A, AR, D, SU, NF, NL, NV, RM" in finding.message


def test_presumed_dead_is_calculated_and_never_typed():
    assert "never typed" in row("PD")[0].message


def test_an_unknown_status_brings_no_question_about_its_cause():
    assert found(*row("X", cause="nonsense")) == [("status", "error")]


@pytest.mark.parametrize(
    ("status", "values", "expected"),
    [
        ("A", {"height_cm": -1}, [("height_cm", "error")]),
        ("A", {"height_cm": 0}, [("height_cm", "warning")]),
        ("AR", {"height_cm": Decimal("0.0"), "diameter_mm": 0}, [("height_cm", "warning"), ("diameter_mm", "warning")]),
        ("A", {"height_cm": 6001}, [("height_cm", "error")]),
        ("A", {"height_cm": float("nan")}, [("height_cm", "error")]),
        ("A", {"height_cm": float("inf")}, [("height_cm", "error")]),
        ("A", {"diameter_mm": -0.5}, [("diameter_mm", "error")]),
        ("A", {"diameter_mm": 2001}, [("diameter_mm", "error")]),
        ("A", {"canker_class": 5}, [("canker_class", "error")]),
        ("A", {"canker_class": -1}, [("canker_class", "error")]),
        ("A", {"canker_class": 2.5}, [("canker_class", "error")]),
        ("A", {"browse_class": "severe"}, [("browse_class", "error")]),
        ("A", {"flowering": "yes"}, [("flowering", "error")]),
        ("D", {"flowering": "male", "cause": "canker"}, [("flowering", "warning")]),
        ("A", {"dieback_percent": -1}, [("dieback_percent", "error")]),
        ("A", {"dieback_percent": 101}, [("dieback_percent", "error")]),
        ("A", {"cause": "canker"}, [("cause", "warning")]),
        ("A", {"cause": "nonsense"}, [("cause", "error")]),
        ("A", {"note": "x" * 1001}, [("note", "error")]),
        ("NF", {"height_cm": 142}, [("height_cm", "error")]),
        ("NL", {"diameter_mm": 18}, [("diameter_mm", "error")]),
        ("NV", {"height_cm": 142, "diameter_mm": 18}, [("height_cm", "error"), ("diameter_mm", "error")]),
        ("NF", {"canker_class": 0}, [("canker_class", "warning")]),
        ("NF", {"browse_class": "none"}, [("browse_class", "warning")]),
        ("NF", {"flowering": "none"}, [("flowering", "warning")]),
        ("NV", {"dieback_percent": 0}, [("dieback_percent", "warning")]),
        ("D", {}, [("cause", "warning")]),
        ("D", {"cause": "nonsense"}, [("cause", "error")]),
        ("D", {"cause": "landowner"}, [("cause", "error")]),
        ("D", {"cause": "deer", "height_cm": 142}, [("height_cm", "warning")]),
        ("RM", {}, [("cause", "error")]),
        ("RM", {"cause": "canker"}, [("cause", "error")]),
        ("RM", {"cause": "nonsense"}, [("cause", "error")]),
    ],
)
def test_a_doubtful_row_reports_field_and_severity(status, values, expected):
    assert found(*row(status, **values)) == expected


@pytest.mark.parametrize(
    ("height_cm", "words"),
    [(10_000.0, "Height: 10,000 cm is outside 0 to 6,000 cm."), (6000.4, "Height: 6,000.4 cm is"), (float("nan"), "Height: nan cm is")],
)
def test_a_height_outside_its_range_is_written_as_people_write_it(height_cm, words):
    assert row(height_cm=height_cm)[0].message.startswith(words)


def test_a_height_too_soon_after_planting_has_thousands_separators():
    [finding] = row(height_cm=4500)
    assert finding.message.startswith("Height is 4,500 cm, 875 days after planting: more than 779 cm.")


def test_every_fault_of_a_row_is_reported_at_once():
    findings = row("NF", PLANTED - timedelta(days=1), height_cm=-3, canker_class=9, browse_class="x", dieback_percent=400)
    assert [finding.field for finding in findings if finding.severity == "error"] == [
        "observed_on",
        "height_cm",
        "height_cm",
        "canker_class",
        "browse_class",
        "dieback_percent",
    ]


def test_a_tree_cannot_be_seen_before_it_was_planted():
    assert check_row(seen(observed_on=PLANTED), PLANTED) is CLEAN
    [finding] = check_row(seen(observed_on=PLANTED - timedelta(days=1)), PLANTED)
    assert (finding.field, finding.severity) == ("observed_on", "error")
    assert "19 Apr 2024, before planting on 20 Apr 2024" in finding.message


@pytest.mark.parametrize(
    ("observed_on", "warned"),
    [
        (OPENS - timedelta(days=21), ""),
        (OPENS - timedelta(days=22), "22 days before the round opens"),
        (OPENS, ""),
        (CLOSES, ""),
        (CLOSES + timedelta(days=21), ""),
        (CLOSES + timedelta(days=22), "22 days after the round closes"),
    ],
)
def test_a_visit_may_lie_three_weeks_outside_the_window(observed_on, warned):
    findings = row(observed_on=observed_on)
    assert bool(findings) == bool(warned)
    for finding in findings:
        assert (finding.field, finding.severity) == ("observed_on", "warning")
        assert warned in finding.message


def test_dates_that_are_not_known_are_not_judged():
    assert check_row(seen()) is CLEAN
    assert check_row(seen(), None, OPENS, None) is CLEAN
    assert check_row(seen(), None, None, CLOSES) is CLEAN


@pytest.mark.parametrize(("status", "expected"), [("NV", []), ("A", [("observed_on", "error")]), ("NF", [("observed_on", "error")])])
def test_only_a_row_not_visited_may_lack_its_day(status, expected):
    assert found(*row(status, None)) == expected


def test_every_message_ends_with_a_full_stop():
    rows = [
        row("PD", None, note="x" * 1001),
        row("NF", PLANTED - timedelta(days=1), height_cm=-3, canker_class=9, browse_class="x", dieback_percent=400),
        row("D", height_cm=3),
        row("D", cause="x"),
        row("RM"),
        row("RM", cause="x"),
        row("A", cause="deer"),
    ]
    messages = [finding.message for findings in rows for finding in findings]
    assert len(messages) >= 18
    assert all(message.endswith(".") and "!" not in message for message in messages)


def test_a_removal_says_if_its_reason_is_missing_or_not_listed():
    assert row("RM")[0].message.startswith("The reason for the removal is missing. Use one of sanitation, rogued,")
    assert row("RM", cause="deer")[0].message.startswith("“deer” is not a removal reason. Use one of sanitation,")


@pytest.mark.parametrize("status", ["A", "AR", "D", "NF", "NL", "NV"])
def test_a_recorded_status_keeps_its_name_for_the_fates(status):
    assert status_code(status, "landowner") is Status[status]


@pytest.mark.parametrize(
    ("reason", "status"),
    [(code, Status.RM if biological else Status.RX) for code, _, biological in census_codes.REMOVAL_REASONS]
    + [("", Status.RM), ("nonsense", Status.RM)],
)
def test_only_a_non_biological_reason_takes_a_tree_out_of_the_count(reason, status):
    assert status_code("RM", reason) is status


def test_an_unknown_status_has_no_code():
    with pytest.raises(ValueError, match="“PD” is not a status"):
        status_code("PD")


def test_one_field_can_hold_either_list_of_causes():
    codes = [entry[0] for entry in (*census_codes.CAUSES_OF_DEATH, *census_codes.REMOVAL_REASONS)]
    assert len(set(codes)) == len(codes)
    assert "unknown" in census_codes.CAUSE_CODES


# The removal reasons counted as biological: the programme's own choice, printed beside its figures.
def test_sanitation_and_roguing_stay_in_the_denominator():
    biological = {code for code, _, kept in census_codes.REMOVAL_REASONS if kept}
    assert biological == {"sanitation", "rogued", "reason_unknown"}
