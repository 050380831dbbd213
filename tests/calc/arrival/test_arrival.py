"""The checks on arrival of a round, and the habits of its observers: hand-worked, limits of this programme, common practice, no source."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.arrival.arrival import Window, check_arrival, row_looks
from plantings.calc.arrival.growth import FEWEST_TREES, UsualGrowth, leap_findings, planting_growth, tree_growth
from plantings.calc.arrival.habits import FEWEST_READINGS, reading_habits
from plantings.calc.arrival.tags import Place, TagRead, tag_findings
from plantings.calc.census.changes import compare_with_last, explained, years_between
from plantings.calc.census.limits import CheckLimits
from plantings.calc.census.measurements import DIAMETER, HEIGHT
from plantings.calc.census.rows import LastSeen, SeenRow
from tests.calc.arrival.arrivals import LAST_ON, SEEN_ON, arrived, honest_rows, planting


def messages(findings):
    return [finding.message for finding in findings]


# -- the usual growth, and leaps -----------------------------------------------------------------------------------------------


def test_the_usual_growth_is_the_median_with_the_spread_of_the_middle():
    """Growths 30 to 39 and one of 400: median 35, deviations 0 1 1 2 2 3 3 4 4 5 365, their median 3, times 1.4826."""
    records = [arrived(n, 100, 130 + n - 1) for n in range(1, 11)] + [arrived(11, 100, 500)]
    found = planting_growth(records)["height_cm"]
    assert (found.median, found.trees) == (35, 11)
    assert found.spread == pytest.approx(5) and planting_growth(records, CheckLimits(height_loss_cm=1))[
        "height_cm"
    ].spread == pytest.approx(3 * 1.4826)


def test_the_usual_growth_needs_ten_trees_alive_on_their_own_stem():
    records = [arrived(n, 100, 140) for n in range(1, FEWEST_TREES)]
    others = [arrived(20, 100, 20, status="AR"), arrived(21, 100, None), arrived(22, None, 90), arrived(23, 80, 85, last_status="D")]
    assert planting_growth([*records, *others]) == {}
    assert planting_growth([*records, arrived(30, 100, 140)])["height_cm"].trees == FEWEST_TREES


def test_growth_over_two_years_is_taken_a_year():
    record, last = SeenRow(status="A", observed_on=SEEN_ON, height_cm=180), LastSeen("A", {"height_cm": (100, date(2024, 9, 12))})
    assert tree_growth(record, last, HEIGHT) == 40 and tree_growth(record, last, DIAMETER) is None
    assert years_between(date(2026, 8, 1), date(2026, 9, 1)) == years_between(date(2026, 8, 1), None) == 1


@pytest.mark.parametrize(("now", "leaps"), [(220, False), (221, True), (99, False)])
def test_more_than_three_times_the_median_is_a_leap(now, leaps):
    found = leap_findings(arrived(1, 100, now), {"height_cm": UsualGrowth(40, 10, 50)})
    assert len(found) == leaps
    if leaps:
        assert found[0].message == (
            "Height: it grew by 121 cm in a year, the median tree of this planting by 40 cm. Check the reading and the tag."
        )


def test_where_the_median_tree_did_not_grow_nothing_leaps():
    assert leap_findings(arrived(1, 100, 190), {"height_cm": UsualGrowth(0, 5, 50)}) == ()
    assert leap_findings(arrived(1, 100, 190), {}) == ()


# -- one record with its last values --------------------------------------------------------------------------------------------


def test_a_dead_tree_that_has_grown_is_asked_about():
    one = arrived(1, 100, 120, status="D", cause="canker")
    assert messages(compare_with_last(one.record, one.last)) == [
        "Height is 120 cm, last time 100 cm: it has grown, but is recorded dead. Check status and tag."
    ]
    lower = arrived(1, 100, 104, status="D", cause="canker")
    assert compare_with_last(lower.record, lower.last) == ()


def test_damage_explains_a_lower_reading_only_where_it_may():
    browsed = SeenRow(status="A", observed_on=SEEN_ON, browse_class="heavy")
    assert explained(browsed, True) and not explained(browsed, False) and explained(replace(browsed, status="AR"), False)


@pytest.mark.parametrize(
    ("limits", "last", "now", "said"),
    [
        ({}, 100, 92, 0), ({"height_loss_cm": 3, "height_loss_percent": 5}, 100, 92, 1),
        ({}, 100, 290, 0), ({"height_gain_cm": 150}, 100, 290, 1),
        ({}, 100, 1080, 1), ({"unit_slip_percent": 9, "height_gain_cm": 2000}, 100, 1080, 1), ({"height_gain_cm": 2000}, 100, 1080, 0),
    ],
)  # fmt: skip
def test_the_limits_of_the_programme_decide(limits, last, now, said):
    one = arrived(1, last, now)
    assert len(compare_with_last(one.record, one.last, CheckLimits(**limits))) == said


@pytest.mark.parametrize(("days", "late"), [(21, 0), (22, 1)])
def test_a_visit_outside_the_window_is_asked_about(days, late):
    window = Window(None, date(2026, 8, 1), date.fromordinal(SEEN_ON.toordinal() - days))
    one = arrived(1, None, None)
    assert len(row_looks(one.record, one.last, window)) == late
    assert row_looks(one.record, one.last, window, CheckLimits(window_days=60)) == ()


# -- the habits of an observer -------------------------------------------------------------------------------------------------


def readings(values, **fields):
    return [arrived(n, None, value, **fields) for n, value in enumerate(values, 1)]


def test_readings_that_end_in_0_or_5_are_named_with_their_observer():
    values = [100 + 5 * n for n in range(11)] + [101 + 5 * n for n in range(9)]
    [found] = reading_habits(readings(values, observer="D. Hobb"))
    assert (found.observer, found.count, found.readings) == ("D. Hobb", 11, 20)
    assert found.words == "11 of 20 readings under 300 cm end in 0 or 5; a fifth does by chance"


def test_digits_need_twenty_fine_readings_of_one_observer():
    values = [100 + 5 * n for n in range(FEWEST_READINGS - 1)]
    assert reading_habits(readings(values)) == ()
    assert reading_habits(readings([*values, 305, 310, 315])) == ()  # decimetres are enough above 3 m
    assert reading_habits([*readings(values, observer="A"), *readings(values, observer="B")]) == ()
    assert len(reading_habits(readings([*values, 250]))) == 1


def test_equal_readings_in_a_row_are_named():
    found = reading_habits(readings([120, 131, 131, 131, 131, 131, 131, 120]))
    assert [one.words for one in found] == ["6 trees in a row have the same reading, 131 cm"]
    assert reading_habits(readings([131, 131, 131, 131, 131, 120, 131])) == ()


def test_growth_by_exactly_the_same_is_named():
    records = [arrived(n, 100 + 7 * n, 142 + 7 * n) for n in range(1, 12)] + [arrived(n, 100 + 7 * n, 120 + 8 * n) for n in range(12, 21)]
    assert [one.words for one in reading_habits(records)] == [
        "11 of 20 trees changed by exactly 42 cm a year, as if taken from last year's"
    ]
    assert reading_habits(records, CheckLimits(same_percent=60)) == ()


@pytest.mark.parametrize(
    ("now", "times", "units"),
    [(62, "0.44", "inches and centimetres"), (5.2, "0.037", "feet and centimetres"), (15.8, "0.11", "millimetres and centimetres"),
     (1580, "11", "millimetres and centimetres"), (158, "", ""), (112, "", "")],
)  # fmt: skip
def test_a_whole_page_in_another_unit_is_named(now, times, units):
    """Twenty trees of 140 cm that grew to 158: in inches 62, in feet 5.2; lost by a fifth they are 112."""
    records = [arrived(n, 140, now + n / 1000, observer="D. Hobb") for n in range(20)]
    found = [one.words for one in reading_habits(records) if "mixed up" in one.words]
    assert [f"the middle one of 20 readings is {times} times the last, as if {units}" in words for words in found] == [True] * bool(units)
    assert not any("mixed up" in one.words for one in reading_habits(records[1:]))


@given(st.integers(1, 1000))
def test_honest_readings_have_no_habit(seed):
    """Simulated: of 200 honest readings more than half end in 0 or 5 with a chance below 1e-20 (binomial, a fifth each)."""
    assert [one for one in reading_habits(planting(honest_rows(seed))) if "end in" in one.words or "mixed up" in one.words] == []


# -- tags and positions --------------------------------------------------------------------------------------------------------

REGISTER = {"101": Place("1", 1, 1), "102": Place("1", 1, 2), "103": Place("1", 1, 3), "900": None}


def said(*read, old=None):
    return {number: messages(found) for number, found in tag_findings(list(read), REGISTER, old).items()}


def test_tags_at_their_places_have_no_finding():
    assert said(*(TagRead(tag, place) for tag, place in REGISTER.items()), TagRead("101")) == {}


def test_a_tag_at_another_place_names_both_and_the_tree_of_the_place():
    assert said(TagRead("101", Place("1", 1, 2))) == {
        0: ["Tag 101 is at block 1, row 1, position 1 in the register, and was read at block 1, row 1, position 2, the place of 102."]
    }
    assert said(TagRead("101", Place("", 9, 9))) == {
        0: ["Tag 101 is at block 1, row 1, position 1 in the register, and was read at row 9, position 9."]
    }


def test_a_tag_at_two_places_and_two_tags_at_one_place_are_named():
    found = said(TagRead("900", Place("1", 2, 1)), TagRead("900", Place("1", 2, 2)))
    assert found == {number: ["Tag 900 was read at 2 places. Find out which tree carries it."] for number in (0, 1)}
    found = said(TagRead("900", Place("1", 1, 3)), TagRead("103", Place("1", 1, 3)))
    assert found == {number: ["Several tags were read at block 1, row 1, position 3: 103, 900."] for number in (0, 1)}


def test_a_tree_and_its_replacement_may_have_one_place():
    here = Place("1", 1, 1)
    assert tag_findings([TagRead("101", here), TagRead("R1", here)], {"101": here, "R1": here}) == {}


def test_an_unknown_tag_is_an_error_that_says_what_it_may_be():
    found = tag_findings([TagRead("77"), TagRead("77", Place("1", 1, 2)), TagRead("old7")], REGISTER, {"old7": "102"})
    assert [(finding.severity, finding.message) for findings in found.values() for finding in findings] == [
        ("error", "Tag 77 is not in the register of this planting. Check the tag, or load the tree first."),
        ("error", "Tag 77 is not in the register of this planting. At block 1, row 1, position 2 it has tree 102."),
        ("error", "Tag old7 is an earlier tag of tree 102. Use its present tag."),
    ]


# -- a whole round -------------------------------------------------------------------------------------------------------------


def test_a_round_is_checked_as_a_whole():
    rows = honest_rows(3, rows=2, length=15)
    records = planting(rows)
    records[4] = arrived(5, *rows[0][4][:1], 900, row=1)
    records[9] = arrived(10, rows[0][9][0], rows[0][10][1], row=1)
    records[10] = arrived(11, rows[0][10][0], rows[0][9][1], row=1)
    checks = check_arrival(records, {})
    assert 5 in checks.by_tree and "more than 200 cm a year" in checks.by_tree[5][0].message
    assert [one.kind for one in checks.exchanges] == ["swapped"] and checks.in_exchange == {10, 11}
    assert checks.odd >= {5, 10, 11}


def test_only_the_records_asked_for_are_judged_and_all_are_compared_with():
    records = [arrived(n, 100, 140, row=n) for n in range(1, 31)] + [arrived(31, 100, 270, row=31), arrived(32, 100, 270, row=32)]
    checks = check_arrival(records, {}, frozenset({31}))
    assert list(checks.by_tree) == [31] and "the median tree of this planting by 40 cm" in checks.by_tree[31][0].message


def test_a_leap_is_named_once():
    records = [arrived(n, 100, 140, row=n) for n in range(1, 31)] + [arrived(31, 100, 350, row=31)]
    assert len(check_arrival(records, {}).by_tree[31]) == 1


@given(
    st.lists(
        st.tuples(st.none() | st.integers(0, 6000), st.none() | st.integers(0, 6000), st.sampled_from(["A", "AR", "D", "NF", "SU", "RM"]))
    )
)
def test_no_round_breaks_the_checks_and_only_warnings_come(trees):
    records = [arrived(n, last, now, status=status, row=n // 5, position=n) for n, (last, now, status) in enumerate(trees, 1)]
    window = Window(date(2020, 4, 1), LAST_ON, SEEN_ON)
    checks = check_arrival(records, dict.fromkeys(range(1, len(trees) + 1), window))
    assert {finding.severity for found in checks.by_tree.values() for finding in found} <= {"warning"}
    assert checks.odd <= {one.key for one in records}
