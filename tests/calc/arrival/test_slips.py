"""Readings in another unit, told by the growth of the planting. Hand-worked; the limits are this programme's own, no source."""

from dataclasses import replace

import pytest

from plantings.calc.arrival.arrival import check_arrival
from plantings.calc.arrival.growth import Arrived, UsualGrowth
from plantings.calc.arrival.slips import slip_findings
from plantings.calc.census.changes import compare_with_last
from plantings.calc.census.rows import LastSeen, SeenRow
from tests.calc.arrival.arrivals import LAST_ON, SEEN_ON, arrived
from tests.calc.arrival.test_own_measurements import BRANCHES, tree

USUAL = {"height_cm": UsualGrowth(40, 10, 50)}
THICKER = {"diameter_mm": UsualGrowth(4, 1, 50)}


def said(one, growth, own=()):
    return [finding.message for finding in slip_findings(one, growth, own=own)]


def stem(now, last, status="A"):
    record = SeenRow(status=status, observed_on=SEEN_ON, diameter_mm=now)
    return Arrived(1, "T1", record, LastSeen("A", {"diameter_mm": (last, LAST_ON)}), "", "1", 1, 1)


def stem_of(key, now, last):
    return replace(stem(now, last), key=key, tag=f"T{key}", position=key)


INCHES, FEET = "inches and centimetres", "feet and metres"
MILLIMETRES, FEET_AND_CM = "millimetres and centimetres, or a moved decimal point", "feet and centimetres"


@pytest.mark.parametrize(
    ("now", "meant", "units"),
    [
        (71, "180.3", INCHES), (457, "179.9", INCHES), (55, "180.4", FEET), (590, "179.9", FEET),
        (18, "180", MILLIMETRES), (1800, "180", MILLIMETRES), (5.9, "179.8", FEET_AND_CM), (5486, "180", FEET_AND_CM),
    ],
)  # fmt: skip
def test_a_grown_tree_in_another_unit_is_named(now, meant, units):
    """140 cm and 40 more is 180, times and over 2.54, 3.28, 10 and 30.48. The ratio to 140 is near none of these, or near a wrong one."""
    one = arrived(1, 140, now)
    assert not any(f"as if {units}" in finding.message for finding in compare_with_last(one.record, one.last))
    [message] = said(one, USUAL)
    assert f"last time 140 cm: {meant} cm would fit, as if {units} were mixed up. Check the unit." in message


def test_a_stem_ten_times_as_thick_is_asked_about_at_once():
    """30 mm and 4 more is 34; 340 is 11.3 times the last reading, near no ratio of units, and 310 mm more, where 30 a year are the limit.
    The review, which knows the growth of the planting, names the unit instead."""
    one = stem(340, 30)
    [typed] = compare_with_last(one.record, one.last)
    assert typed.message == "Diameter is 340 mm, last time 30 mm: more than 30 mm a year. Check the reading and the tag."
    assert compare_with_last(stem(60, 30).record, one.last) == ()  # 30 more is not above the limit
    [of_round] = check_arrival([one, *(stem_of(key, 34, 30) for key in range(2, 12))], {}).by_tree[1]
    assert "34 mm would fit" in of_round.message
    assert said(one, THICKER) == [
        "Diameter is 340 mm, last time 30 mm: 34 mm would fit, as if millimetres and centimetres, or a moved decimal point were mixed up. "
        "Check the unit."
    ]


@pytest.mark.parametrize(
    "one",
    [
        arrived(1, 140, 200), arrived(1, 140, 140),  # 2 and 4 spreads from the usual growth: not far off
        arrived(1, 140, 90), arrived(1, 140, 300),  # far off, but 228.6, 295.2, 900 cm or 118.1, 91.5, 30 cm fit no better
        arrived(1, 140, 71, browse_class="heavy"), arrived(1, 140, 71, status="AR"), arrived(1, 140, 71, status="D"),
        arrived(1, 140, 0), arrived(1, 140, None), arrived(1, None, 71),
    ],
)  # fmt: skip
def test_what_is_no_slip_is_not_named(one):
    assert said(one, USUAL) == []


def test_without_a_usual_growth_nothing_is_named():
    assert said(arrived(1, 140, 71), {}) == []


def test_over_two_years_the_growth_of_two_is_expected():
    """140 cm and 80 more is 220: 86.6 inches. Converted from 71 inches it is 180.3, 20 cm a year: 2 spreads off, which fits too."""
    record = SeenRow(status="A", observed_on=SEEN_ON, height_cm=86.6)
    last = LastSeen("A", {"height_cm": (140, LAST_ON.replace(year=2024))})
    [message] = said(Arrived(1, "T1", record, last), USUAL)
    assert "220 cm would fit" in message


def test_an_own_number_that_is_no_length_is_named_by_ten_alone():
    """30 branches and 4 more is 34; 86 is 33.9 times 2.54, which says nothing of a count."""
    growth = {BRANCHES.field: UsualGrowth(4, 1, 50)}
    assert said(tree(1, 340, 30, BRANCHES), growth, (BRANCHES,)) == [
        "Branches is 340 branches, last time 30 branches: 34 branches would fit. Check the digits."
    ]
    assert said(tree(1, 86, 30, BRANCHES), growth, (BRANCHES,)) == []


def test_a_reading_is_named_once_and_a_loss_beside_its_slip():
    """Thirty trees grew by 40 cm. 71 cm where 180 is usual may be inches, or a tree half as high; 457 cm is one thing."""
    records = [arrived(n, 100, 140, row=n) for n in range(1, 31)] + [arrived(31, 140, 71, row=31), arrived(32, 140, 457, row=32)]
    by_tree = check_arrival(records, {}).by_tree
    loss, slip = by_tree[31]
    assert "No dieback, browse or resprout" in loss.message and "180.3 cm would fit" in slip.message
    [slip] = by_tree[32]
    assert "179.9 cm would fit, as if inches and centimetres" in slip.message
