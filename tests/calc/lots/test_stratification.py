"""Stratification calendar, use-by clock, dry seed. Dates are sums of days, worked by hand: common practice, no source."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.lots.stratification import (
    Period,
    calendar_for_sowing,
    calendar_from_start,
    days_left,
    default_use_by,
    dry_group,
    dry_warning,
    use_by_words,
)

# Woody Plant Seed Manual, USDA Agric. Handb. 727 (as read in a scrape): Juglans table 5, Fraxinus tables 5 and 6.
BUTTERNUT = (Period(), Period(90, 120))
WHITE_ASH = (Period(30, 30), Period(60, 60))

periods = st.tuples(st.integers(0, 200), st.integers(0, 200)).map(lambda pair: Period(min(pair), max(pair)))


def rows(steps):
    return [(step.what, step.earliest, step.latest) for step in steps]


def test_cold_alone_gives_the_first_and_last_sowing_day():
    assert rows(calendar_from_start(date(2026, 12, 1), *BUTTERNUT)) == [
        ("start cold", date(2026, 12, 1), date(2026, 12, 1)),
        ("sow", date(2027, 3, 1), date(2027, 3, 31)),
    ]


def test_warm_then_cold_moves_once():
    assert rows(calendar_from_start(date(2026, 11, 1), *WHITE_ASH)) == [
        ("start warm", date(2026, 11, 1), date(2026, 11, 1)),
        ("move to cold", date(2026, 12, 1), date(2026, 12, 1)),
        ("sow", date(2027, 1, 30), date(2027, 1, 30)),
    ]


def test_a_wanted_sowing_day_counts_back_over_a_leap_day():
    assert rows(calendar_for_sowing(date(2028, 4, 20), *BUTTERNUT)) == [
        ("start cold", date(2027, 12, 22), date(2028, 1, 21)),
        ("sow", date(2028, 4, 20), date(2028, 4, 20)),
    ]


def test_seed_that_needs_nothing_is_sown_at_once():
    assert rows(calendar_from_start(date(2026, 10, 5), Period(), Period())) == [("sow", date(2026, 10, 5), date(2026, 10, 5))]


def test_warm_alone_has_no_move_to_cold():
    assert [step.what for step in calendar_from_start(date(2026, 10, 5), Period(60, 90), Period())] == ["start warm", "sow"]


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)), periods, periods)
def test_both_ways_of_counting_agree(day, warm, cold):
    forward = calendar_from_start(day, warm, cold)
    for sowing, start in ((forward[-1].latest, "earliest"), (forward[-1].earliest, "latest")):
        back = calendar_for_sowing(sowing, warm, cold)
        assert getattr(back[0], start) == day
        assert [step.what for step in back] == [step.what for step in forward]
    assert all(step.earliest <= step.latest for step in forward)


@pytest.mark.parametrize(
    ("warm", "cold", "words"),
    [(Period(-1, 3), Period(), "warm period is -1 days"), (Period(), Period(120, 90), "cold period is 120 to 90 days")],
)
@pytest.mark.parametrize("calendar", [calendar_from_start, calendar_for_sowing])
def test_a_period_that_cannot_be_is_named(calendar, warm, cold, words):
    with pytest.raises(ValueError, match=words):
        calendar(date(2026, 12, 1), warm, cold)


@pytest.mark.parametrize(("calendar", "day"), [(calendar_from_start, date.max), (calendar_for_sowing, date.min)])
def test_a_calendar_beyond_the_last_year_is_refused_in_words(calendar, day):
    with pytest.raises(ValueError, match="Check the year"):
        calendar(day, *BUTTERNUT)


@pytest.mark.parametrize(
    ("harvested", "use_by"),
    [(date(2026, 10, 2), date(2027, 6, 30)), (date(2027, 3, 2), date(2027, 6, 30)), (date(2027, 6, 30), date(2028, 6, 30))],
)
def test_nuts_have_a_use_by_of_30_june_after_harvest(harvested, use_by):
    # Common practice, no source.
    assert default_use_by(harvested) == use_by


@pytest.mark.parametrize(
    ("harvested", "month", "day", "use_by"),
    [
        (date(2026, 10, 2), 4, 15, date(2027, 4, 15)),
        (date(2026, 10, 2), 12, 24, date(2026, 12, 24)),
        (date(2027, 10, 2), 2, 29, date(2028, 2, 29)),
        (date(2026, 10, 2), 2, 29, date(2027, 2, 28)),
    ],
)
def test_the_handbook_may_have_another_day_of_the_year(harvested, month, day, use_by):
    assert default_use_by(harvested, month, day) == use_by


@pytest.mark.parametrize(("month", "day"), [(6, 31), (13, 1), (0, 1), (2, 30)])
def test_a_day_that_is_none_is_refused(month, day):
    with pytest.raises(ValueError, match=f"no day {day} of month {month}"):
        default_use_by(date(2026, 10, 2), month, day)


def test_a_harvest_in_the_last_calendar_year_is_refused_in_words():
    with pytest.raises(ValueError, match="outside the calendar"):
        default_use_by(date(9999, 10, 2))


@pytest.mark.parametrize(
    # Sections of Quercus: from memory.
    ("binomial", "group"),
    [("Quercus alba", "white oak group"), ("Quercus nigra", "red oak group"), ("Juglans nigra", ""), ("Quercus", ""), ("", "")],
)
def test_the_group_of_an_oak_is_found_by_its_name(binomial, group):
    assert dry_group(binomial) == group


@pytest.mark.parametrize(
    ("on", "left", "words"),
    [
        (date(2027, 6, 1), 29, "29 days left"),
        (date(2027, 6, 29), 1, "1 day left"),
        (date(2027, 6, 30), 0, "today is the last day"),
        (date(2027, 7, 1), -1, "passed 1 day ago"),
        (date(2030, 6, 30), -1096, "passed 1,096 days ago"),
    ],
)
def test_the_clock_counts_down_and_then_says_how_long_ago(on, left, words):
    assert days_left(date(2027, 6, 30), on) == left
    assert use_by_words(date(2027, 6, 30), on) == words


@given(st.dates(date(2000, 1, 1), date(2100, 1, 1)))
def test_use_by_lies_within_a_year_after_harvest(harvested):
    assert timedelta(0) < default_use_by(harvested) - harvested <= timedelta(days=366)


@pytest.mark.parametrize(
    # Limits from memory; Q. alba half alive at 32 %, Q. nigra half alive at 15 % moisture: Connor, Bonner & Vozzo 1996 (abstract).
    ("moisture", "group", "warned"),
    [
        (0.30, "white oak group", False),
        (0.299, "white oak group", True),
        (0.22, "white oak group", True),
        (0.22, "red oak group", False),
        (0.15, "red oak group", True),
        (0.05, "orthodox", False),
    ],
)
def test_recalcitrant_seed_drier_than_its_group_endures_is_warned_of(moisture, group, warned):
    said = dry_warning(moisture, group)
    assert ("dies when it dries" in said and "from memory" in said) if warned else said == ""


def test_a_moisture_in_percent_is_refused():
    with pytest.raises(ValueError, match=r"35 % is 0\.35"):
        dry_warning(35, "white oak group")
