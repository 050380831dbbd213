"""A date that is only a year or a month means every day of it: reading, writing, comparing and counting."""

import pickle
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.shared.part_dates import (
    PartDate,
    days_apart,
    days_between,
    first_day,
    last_day,
    read_some_date,
    surely_before,
)
from registry.calc.shared.screen import day_words

DAYS = st.dates(date(1900, 1, 1), date(2100, 12, 31))
SOME = st.one_of(DAYS, DAYS.map(lambda day: PartDate(day.year)), DAYS.map(lambda day: PartDate(day.year, day.month)))


def any_day(some, place):
    """One of the days a date can be: the first at place 0, the last at 1."""
    return first_day(some) + timedelta(round(place * (last_day(some) - first_day(some)).days))


@given(SOME)
def test_what_is_written_is_read_again(some):
    assert read_some_date(some.isoformat()) == some
    assert pickle.loads(pickle.dumps(some)) == some
    assert day_words(some).endswith(str(some.year))


@given(SOME, SOME)
def test_dates_sort_as_their_texts_do(one, other):
    texts = one.isoformat(), other.isoformat()
    assert (one < other, one == other, one > other) == (texts[0] < texts[1], texts[0] == texts[1], texts[0] > texts[1])
    assert (one <= other, one >= other) == (texts[0] <= texts[1], texts[0] >= texts[1])


@given(SOME, SOME, st.floats(0, 1), st.floats(0, 1))
def test_what_is_said_of_two_dates_holds_for_any_of_their_days(one, other, early, late):
    first, second = any_day(one, early), any_day(other, late)
    least, most = days_between(one, other)
    assert least <= (second - first).days <= most
    assert abs((second - first).days) <= days_apart(one, other)
    if surely_before(one, other):
        assert first < second


@given(DAYS)
def test_a_year_holds_its_months_and_they_their_days(day):
    year, month = PartDate(day.year), PartDate(day.year, day.month)
    assert year.first <= month.first <= day <= month.last <= year.last
    assert last_day(day) == first_day(day) == day
    assert year != year.first and month != month.first and len({year, month, day}) == 3


@pytest.mark.parametrize("text", ["", "19", "2019-5", "2019-00", "2019-13", "2019-02-30", "0000", "2019-05-12T00:00", "٢٠١٩"])
def test_no_other_text_is_a_date(text):
    with pytest.raises(ValueError, match=r"."):
        read_some_date(text)


def test_no_day_is_made_up():
    with pytest.raises(TypeError):
        date(2020, 1, 1) - PartDate(2019)
    with pytest.raises(TypeError):
        PartDate(2019) + timedelta(1)
    with pytest.raises(AttributeError):
        _ = PartDate(2019).day
