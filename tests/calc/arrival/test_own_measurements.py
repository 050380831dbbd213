"""The checks on arrival of a programme's own measurements: what only grows, and what has a range; the question names it with its unit."""

from datetime import date

import pytest

from plantings.calc.arrival.arrival import Window, check_arrival, row_looks
from plantings.calc.arrival.growth import Arrived
from plantings.calc.census.own_measurements import own_measurement
from plantings.calc.census.rows import LastSeen, SeenRow

LAST_DAY, DAY = date(2025, 9, 1), date(2026, 9, 1)


def measured(code, unit, **fields):
    return own_measurement(code=code, version=1, name=code.title(), taken="At its widest.", unit=unit, low=0, high=900, **fields)


CROWN = measured("crown", "cm", loss_most=5, gain_most=150)
BRANCHES = measured("branches", "branches", whole=True, loss_most=0)
HUMIDITY = measured("humidity", "g", whole=True)


def tree(key, now, last, item=CROWN, status="A", observer="Mia"):
    record = SeenRow(status=status, observed_on=DAY, own_values={item.field: now})
    return Arrived(key, str(key), record, LastSeen("A", {item.field: (last, LAST_DAY)}), observer, "1", 1, key)


def said(now, last, item=CROWN, status="A"):
    one = tree(1, now, last, item, status)
    return [finding.message for finding in row_looks(one.record, one.last, Window(), own=(item,))]


@pytest.mark.parametrize(
    ("item", "now", "last", "words"),
    [
        (CROWN, 190.0, 200.0, ["Crown is 190 cm, last time 200 cm. By its definition it only grows. Check the reading and the tag."]),
        (CROWN, 195.0, 200.0, []),
        (CROWN, 400.0, 249.0, ["Crown is 400 cm, last time 249 cm: more than 150 cm a year. Check the reading and the tag."]),
        (CROWN, 100.0, 254.0, ["Crown is 100 cm, last time 254 cm: as if inches and centimetres were mixed up. Check the unit."]),
        (
            BRANCHES,
            40,
            4,
            ["Branches is 40 branches, last time 4 branches: ten times as much or as little. Check the digits and the unit."],
        ),
        (BRANCHES, 10, 4, []),  # a ratio near 2.54 says nothing of a count
        (HUMIDITY, 4, 40, []),  # it may fall as well as rise
    ],
)
def test_a_reading_is_compared_as_its_definition_says(item, now, last, words):
    assert said(now, last, item) == words


def test_resprout_explains_less_and_death_does_not_explain_growth():
    assert said(20.0, 200.0, status="AR") == []
    assert "it has grown, but is recorded dead" in said(220.0, 200.0, status="D")[-1]


def test_another_version_is_not_compared():
    record = SeenRow(status="A", observed_on=DAY, own_values={"crown_v2": 20.0})
    newer = own_measurement(code="crown", version=2, name="Crown", taken="North to south.", unit="cm", low=0, high=900, loss_most=5)
    assert row_looks(record, LastSeen("A", {CROWN.field: (200.0, LAST_DAY)}), Window(), own=(newer,)) == ()


def test_a_leap_is_judged_by_the_median_of_the_planting():
    trees = [tree(key, 110.0 + key % 3, 100.0) for key in range(1, 12)] + [tree(12, 150.0, 100.0)]
    checks = check_arrival(trees, {}, own=(CROWN,))
    [finding] = checks.by_tree.pop(12)
    assert finding.message.startswith("Crown: it grew by 50 cm in a year, the median tree of this planting by 11 cm.")
    assert checks.by_tree == {}


@pytest.mark.parametrize(("item", "habits"), [(BRANCHES, 2), (HUMIDITY, 1), (CROWN, 1), (measured("share", "%", whole=True), 0)])
def test_habits_of_an_observer_are_found(item, habits):
    """24 readings, all in tens and four times each: digits of whole numbers, evenness only of what grows."""
    trees = [tree(key, 10 * (key % 6) + 10, 10 * (key % 6) + 5, item) for key in range(1, 25)]
    found = check_arrival(trees, {}, own=(item,)).habits
    assert len(found) == habits and all(habit.measurement is item for habit in found)
