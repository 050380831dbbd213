"""The account of a lot. Sums by hand: common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.lots.account import lot_account

ENTRIES = [("harvested", 500), ("sampled", -100), ("sown", -380), ("discarded", -25), ("discarded", 5)]


def test_an_account_adds_up_each_kind_and_closes_at_zero():
    account = lot_account(ENTRIES)
    assert [(line.kind, line.quantity, line.entries) for line in account.lines] == [
        ("harvested", 500, 1), ("sampled", -100, 1), ("sown", -380, 1), ("discarded", -20, 2),
    ]  # fmt: skip
    assert (account.came_in, account.went_out, account.on_hand, account.closes) == (500, 500, 0, True)


def test_an_account_with_seed_on_hand_does_not_close():
    account = lot_account(ENTRIES[:2])
    assert (account.on_hand, account.closes) == (400, False)


def test_a_reversed_entry_leaves_a_line_of_zero():
    account = lot_account([("harvested", 500), ("sown", -80), ("sown", 80)])
    assert [(line.kind, line.quantity) for line in account.lines] == [("harvested", 500), ("sown", 0)]


def test_a_lot_without_entries_closes():
    assert lot_account([]).closes


def test_more_out_than_in_is_refused():
    with pytest.raises(ValueError, match="80 went out but only 50 came in"):
        lot_account([("harvested", 50), ("sown", -80)])


@given(st.lists(st.tuples(st.sampled_from(["harvested", "sown", "counted"]), st.integers(-40, 60)), max_size=25))
def test_in_less_out_is_on_hand_and_is_the_sum_of_the_ledger(entries):
    total = sum(quantity for _, quantity in entries)
    if total < 0:
        with pytest.raises(ValueError):
            lot_account(entries)
        return
    account = lot_account(entries)
    assert account.came_in - account.went_out == account.on_hand == total
    assert sum(line.entries for line in account.lines) == len(entries)
    assert account.closes is (total == 0)
