"""Survival of a group, its interval, its band, and how it is printed."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.census.fate import Fate, Status
from plantings.calc.census.planting_fates import fate_tally, histories
from plantings.calc.survival.proportions import wilson
from plantings.calc.survival.survival import Counts, counts_from_tally, pressure, survival, survival_text

FATE_COUNTS = ("alive", "dead", "presumed_dead", "not_found", "unclear", "not_located", "not_visited", "removed", "removed_excluded")

group = st.builds(
    lambda cells: Counts(planted=sum(cells), **dict(zip(FATE_COUNTS, cells, strict=True))),
    st.lists(st.integers(0, 60), min_size=len(FATE_COUNTS), max_size=len(FATE_COUNTS)),
)


def counts_of(**fates_given):
    return Counts(planted=sum(fates_given.values()), **fates_given)


# Worked by hand: 26/40 and (26 + 8)/40. Common practice, no source.
def test_the_band_spans_all_unaccounted_dead_to_all_alive():
    result = survival(counts_of(alive=26, dead=6, not_found=8))
    assert (result.share, result.band_low, result.band_high) == (0.65, 0.65, 0.85)
    assert (result.n, result.alive, result.unaccounted) == (40, 26, 8)


# Worked by hand: 26 of 32 assessed; the band over all 40, 26/40 to 34/40. Definition of this programme.
@pytest.mark.parametrize("kind", ["not_located", "not_visited", "unclear"])
def test_who_was_not_assessed_is_not_dead_and_widens_the_band(kind):
    result = survival(counts_of(alive=26, dead=6, **{kind: 8}))
    assert (result.n, result.countable, result.share) == (32, 40, 0.8125)
    assert (result.band_low, result.band_high, result.unaccounted) == (0.65, 0.85, 8)


@pytest.mark.parametrize("kind", ["dead", "presumed_dead", "removed"])
def test_a_dead_tree_is_counted_and_leaves_the_band_alone(kind):
    result = survival(counts_of(alive=15, **{kind: 5}))
    assert (result.n, result.share, result.band_high, result.unaccounted) == (20, 0.75, 0.75, 0)


def test_a_tree_removed_for_another_reason_leaves_the_denominator():
    result = survival(counts_of(alive=15, dead=5, removed_excluded=10))
    assert (result.n, result.share) == (20, 0.75)


# Source of the interval: Wilson 1927; whole percents worked by hand, see test_proportions.
def test_the_interval_is_that_of_wilson():
    result = survival(counts_of(alive=80, dead=20))
    assert result.interval == wilson(80, 100)
    assert (round(100 * result.interval.low), round(100 * result.interval.high)) == (71, 87)


@pytest.mark.parametrize(("n", "leads"), [(1, True), (9, True), (10, False), (11, False)])
def test_the_count_leads_under_ten_trees(n, leads):
    assert survival(counts_of(alive=n)).count_leads is leads


def test_trees_that_left_the_denominator_do_not_count_towards_ten():
    assert survival(counts_of(alive=9, removed_excluded=5)).count_leads


def test_a_group_without_trees_has_no_share_and_no_band():
    for counts in (Counts(), counts_of(removed_excluded=4)):
        result = survival(counts)
        assert (result.n, result.share, result.interval) == (0, None, None)
        assert (result.band_low, result.band_high) == (None, None)
        assert result.reason == "no trees"


@pytest.mark.parametrize("kind", ["not_located", "not_visited", "unclear"])
def test_a_group_of_which_no_tree_was_assessed_has_no_share(kind):
    result = survival(counts_of(**{kind: 30}))
    assert (result.share, result.interval, result.reason) == (None, None, "not assessed")
    assert (result.band_low, result.band_high, result.n) == (0.0, 1.0, 0)


def test_a_skipped_round_does_not_look_like_deaths():
    skipped = survival(counts_of(alive=4, dead=2, not_visited=8))
    assert (skipped.alive, skipped.n, skipped.countable) == (4, 6, 14)
    assert (skipped.band_low, skipped.band_high) == (pytest.approx(4 / 14), pytest.approx(12 / 14))


# 124/180 with Wilson's interval worked by hand to two decimals; form of print: the programme's own.
@pytest.mark.parametrize(
    ("counts", "text"),
    [
        (counts_of(alive=124, dead=56), "0.69 (0.62–0.75), n 180"),
        (counts_of(alive=7, dead=2), "7 of 9"),
        (counts_of(alive=0, dead=3), "0 of 3"),
        (counts_of(alive=8, dead=2), "0.80 (0.49–0.94), n 10"),
        (counts_of(dead=10), "0.00 (0.00–0.28), n 10"),
        # the band by its definition: alive / n to (alive + unaccounted) / n
        (counts_of(alive=26, dead=6, not_found=4, not_located=3, not_visited=1), "0.72 (0.56–0.84), n 36 of 40, band 0.65–0.85"),
        (counts_of(alive=6, not_found=3), "6 of 9, band 0.67–1.00"),
        (counts_of(alive=1000, dead=999, not_found=1), "0.50 (0.48–0.52), n 2,000"),
        (counts_of(alive=6, dead=1, unclear=3), "6 of 7 assessed, 10 planted, band 0.60–0.90"),
        (counts_of(not_visited=4), "not assessed"),
        (counts_of(not_visited=40), "not assessed"),
        (Counts(), "no trees"),
    ],
)
def test_survival_is_printed_one_way(counts, text):
    assert survival_text(survival(counts)) == text


def test_sums_of_counts_are_field_by_field_and_zero_changes_nothing():
    first = Counts(*range(1, 16))
    second = Counts(*range(100, 1600, 100))
    assert (first + second)._asdict() == {name: getattr(first, name) + getattr(second, name) for name in Counts._fields}
    assert first + Counts() == first
    assert sum([first, second], start=Counts()) == first + second


def test_counts_add_to_nothing_but_counts():
    for other in (1, (1, 2)):
        with pytest.raises(TypeError, match=f"not to {type(other).__name__}"):
            Counts() + other


def test_counts_cannot_be_changed():
    with pytest.raises(AttributeError):
        Counts().alive = 3


@given(group)
def test_the_share_and_its_interval_lie_within_their_limits(counts):
    result = survival(counts)
    if result.share is not None:
        assert result.band_low <= result.share <= 1 and result.band_low <= result.band_high <= 1
        assert result.interval.low <= result.share <= result.interval.high
        assert result.n + counts.not_visited + counts.not_located + counts.unclear == result.countable


@given(group, group)
def test_a_pooled_share_lies_between_the_shares_it_pools(first, second):
    shares = [survival(counts).share for counts in (first, second)]
    pooled = survival(first + second).share
    if None not in shares:
        assert min(shares) - 1e-12 <= pooled <= max(shares) + 1e-12


@pytest.mark.parametrize(
    ("counts", "named"),
    [
        (Counts(planted=10, alive=9), "the fates add up to 9 trees but 10 were planted"),
        (Counts(planted=10, alive=11), "the fates add up to 11 trees but 10 were planted"),
        (Counts(planted=0, alive=1, dead=-1), "dead is -1"),
        (Counts(planted=3, alive=3, resprout=4), "resprout is 4 and alive is 3"),
        (Counts(planted=3, alive=3, canker_assessed=1, cankered=2), "cankered is 2 and canker_assessed is 1"),
    ],
)
def test_counts_that_cannot_be_are_refused(counts, named):
    for figure in (survival, pressure):
        with pytest.raises(ValueError, match=named):
            figure(counts)


# Source of the interval: Wilson 1927; x/n from Newcombe 1998, Stat. Med. 17:857-872, Table I.
def test_pressure_is_the_share_of_assessed_trees_with_its_interval():
    result = pressure(Counts(planted=300, alive=300, canker_assessed=263, cankered=81))
    assert result.share == pytest.approx(0.307985, abs=5e-7)
    assert result.interval.low == pytest.approx(0.255289, abs=5e-7)
    assert result.interval.high == pytest.approx(0.366210, abs=5e-7)
    assert (result.assessed, result.cankered, result.reason) == (263, 81, "")


def test_pressure_without_records_is_not_assessed():
    looked, not_looked = pressure(Counts(planted=5, alive=5, canker_assessed=5)), pressure(Counts(planted=5, alive=5))
    assert looked.share == 0.0
    assert (not_looked.share, not_looked.interval, not_looked.reason) == (None, None, "not assessed")


def test_counts_from_a_tally_name_every_fate_and_are_plain_integers():
    tally = np.array([0, 20, 3, 4, 5, 6, 7, 8, 9, 10, 11])
    then = np.array([0, 18, 3, 4, 0, 13, 7, 8, 9, 10, 11])
    counts = counts_from_tally(tally, then, canker_assessed=np.int64(12), cankered=np.int64(2))
    assert counts == Counts(
        planted=83,
        alive=23,
        resprout=3,
        dead=4,
        presumed_dead=5,
        not_found=6,
        unclear=11,
        not_located=7,
        not_visited=8,
        removed=9,
        removed_excluded=10,
        alive_then=21,
        assessed_then=47,  # 18 + 3 + 4 + 13 + 9
        canker_assessed=12,
        cankered=2,
    )
    assert counts_from_tally(tally) == counts._replace(canker_assessed=0, cankered=0, alive_then=23, assessed_then=47)
    assert set(map(type, counts)) == {int}
    assert (counts.countable, counts.assessed) == (73, 47)


def test_a_tally_of_the_wrong_length_is_refused():
    with pytest.raises(ValueError, match="the tally has 9 cells: give 11"):
        counts_from_tally([0] * 9)


@given(st.lists(st.lists(st.sampled_from(Status), min_size=4, max_size=4), min_size=1, max_size=20))
def test_any_planting_adds_up_from_records_to_survival(records):
    history = histories(np.array(records, np.uint8))
    tally, then = (fate_tally(fate, np.zeros(len(records), int), 1) for fate in (history.fate, history.fate_then))
    for number in range(4):
        result = survival(counts_from_tally(tally[0, number], then[0, number]))
        assert result.countable == len(records) - int((history.fate[:, number] == Fate.REMOVED_EXCLUDED).sum())
