"""Balances of a lot. Expected numbers are sums done by hand: common practice, no source."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.lots.stock import LedgerLine, balance_on, first_overdraw, running

HARVEST = date(2025, 10, 2)
SOWING = date(2026, 5, 4)
COUNT = date(2026, 6, 1)

lines_of_a_lot = st.lists(
    st.builds(LedgerLine, on=st.dates(date(2025, 1, 1), date(2025, 1, 12)), quantity=st.integers(-50, 50)),
    max_size=20,
)


def test_a_lot_without_lines_has_no_balance_and_no_overdraw():
    assert running([]) == []
    assert first_overdraw([]) is None
    assert balance_on([], HARVEST) == 0


def test_lines_in_any_order_run_in_time_order():
    lines = [LedgerLine(COUNT, -5), LedgerLine(HARVEST, 500), LedgerLine(SOWING, -80)]
    assert running(lines) == [(HARVEST, 500), (SOWING, 420), (COUNT, 415)]


def test_lines_of_one_day_are_netted_in_any_order():
    assert first_overdraw([LedgerLine(HARVEST, -80), LedgerLine(HARVEST, 80)]) is None


def test_taking_out_exactly_what_is_left_does_not_overdraw():
    assert first_overdraw([LedgerLine(HARVEST, 80), LedgerLine(SOWING, -80)]) is None


def test_the_first_overdrawn_day_is_named_with_its_balance():
    lines = [LedgerLine(HARVEST, 50), LedgerLine(SOWING, -80), LedgerLine(COUNT, -5)]
    assert first_overdraw(lines) == (SOWING, -30)


def test_a_later_delivery_does_not_heal_an_earlier_overdraw():
    lines = [LedgerLine(HARVEST, 50), LedgerLine(SOWING, -80), LedgerLine(COUNT, 500)]
    assert first_overdraw(lines) == (SOWING, -30)


@pytest.mark.parametrize(
    ("on", "balance"),
    [(HARVEST - timedelta(days=1), 0), (HARVEST, 500), (SOWING - timedelta(days=1), 500), (SOWING, 420), (COUNT, 420)],
)
def test_the_balance_on_a_day_includes_that_day(on, balance):
    assert balance_on([LedgerLine(SOWING, -80), LedgerLine(HARVEST, 500)], on) == balance


@given(lines_of_a_lot)
def test_an_overdraw_is_found_exactly_when_some_day_closes_below_zero(lines):
    closing = {line.on: balance_on(lines, line.on) for line in lines}
    below = [day for day in sorted(closing) if closing[day] < 0]
    expected = (below[0], closing[below[0]]) if below else None
    assert first_overdraw(lines) == expected


@given(lines_of_a_lot)
def test_the_last_running_balance_is_the_sum_of_all_lines(lines):
    balances = running(lines)
    assert (balances[-1][1] if balances else 0) == sum(line.quantity for line in lines)
