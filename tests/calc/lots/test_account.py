"""The account of a lot. Sums by hand: common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.lots.account import lot_account
from registry.calc.lots.proportion import check_share, wilson_interval

ENTRIES = [("harvested", 500), ("sampled", -100), ("sown", -380), ("discarded", -25), ("discarded", 5)]


def test_an_account_adds_up_each_kind_and_closes_when_every_seed_has_gone_somewhere():
    account = lot_account(ENTRIES)
    assert [(line.kind, line.quantity, line.entries) for line in account.lines] == [
        ("harvested", 500, 1), ("sampled", -100, 1), ("sown", -380, 1), ("discarded", -20, 2),
    ]  # fmt: skip
    assert (account.came_in, account.went_out, account.on_hand, account.closes) == (500, 500, 0, True)


def test_an_account_with_seed_on_hand_does_not_close():
    account = lot_account(ENTRIES[:2])
    assert (account.on_hand, account.closes) == (400, False)


def test_a_reversed_entry_leaves_a_line_of_nought():
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


@pytest.mark.parametrize(
    # Newcombe 1998, Stat. Med. 17:857-872, table I, method 3.
    ("successes", "n", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_of_a_share_of_seeds_is_wilsons(successes, n, low, high):
    interval = wilson_interval(successes, n)
    assert (round(interval.low, 4), round(interval.high, 4)) == (low, high)


def test_an_interval_touches_its_end_when_all_or_none_germinate():
    assert (wilson_interval(0, 40).low, wilson_interval(40, 40).high) == (0.0, 1.0)


@pytest.mark.parametrize("call", [lambda: wilson_interval(0, 0), lambda: wilson_interval(5, 4), lambda: wilson_interval(1, 4, 1.0),
                                  lambda: check_share("purity", -0.1)])  # fmt: skip
def test_shares_that_cannot_be_are_refused(call):
    with pytest.raises(ValueError, match="Give"):
        call()
