"""Shares and their intervals, against published tables and a second program."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from plantings.calc.survival.proportions import newcombe_difference, wilson

counted = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


# Source: Newcombe 1998, Stat. Med. 17:857-872, Table I, Wilson column (method 3, no continuity
# correction); the sixth decimal from R 4.2.2, prop.test(x, n, correct=FALSE).
@pytest.mark.parametrize(
    ("successes", "n", "low", "high"),
    [
        (81, 263, 0.255289, 0.366210),
        (15, 148, 0.062386, 0.160487),
        (0, 20, 0.0, 0.161125),
        (1, 29, 0.006113, 0.171755),
        (29, 29, 0.883030, 1.0),
    ],
)
def test_wilson_gives_the_published_interval(successes, n, low, high):
    interval = wilson(successes, n)
    assert interval.low == pytest.approx(low, abs=5e-7)
    assert interval.high == pytest.approx(high, abs=5e-7)


# Percentages worked out by hand for the programme's own guide to survival counts: common practice,
# no source. Rounded to a whole percent, as printed there.
@pytest.mark.parametrize(
    ("alive", "n", "low", "high"),
    [
        (8, 10, 49, 94),
        (16, 20, 58, 92),
        (24, 30, 63, 90),
        (40, 50, 67, 89),
        (80, 100, 71, 87),
        (0, 10, 0, 28),
        (5, 5, 57, 100),
    ],
)
def test_wilson_gives_the_rounded_percents_of_the_guide(alive, n, low, high):
    interval = wilson(alive, n)
    assert (round(100 * interval.low), round(100 * interval.high)) == (low, high)


def test_wilson_ends_are_exact_when_none_or_all_live():
    assert wilson(0, 7).low == 0.0
    assert wilson(7, 7).high == 1.0


def test_wilson_without_trees_is_not_estimable_and_says_why():
    interval = wilson(0, 0)
    assert (interval.low, interval.high, interval.estimable, interval.reason) == (None, None, False, "no trees")


@pytest.mark.parametrize(
    ("successes", "n"), [(-1, 10), (11, 10), (1, 0), (0, -1), (float("nan"), 10), (1, float("inf")), (1, float("nan"))]
)
def test_wilson_refuses_an_impossible_count(successes, n):
    with pytest.raises(ValueError, match="is not a count"):
        wilson(successes, n)


@pytest.mark.parametrize("confidence", [0, 1, 95, -0.5, float("nan")])
def test_an_impossible_confidence_is_refused(confidence):
    with pytest.raises(ValueError, match="confidence is"):
        wilson(1, 2, confidence)
    with pytest.raises(ValueError, match="confidence is"):
        newcombe_difference(1, 2, 1, 2, confidence)


# Reference: statsmodels, proportion_confint(method="wilson").
@given(counted, st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_wilson_agrees_with_statsmodels(count, confidence):
    interval = wilson(*count, confidence)
    low, high = proportion_confint(*count, alpha=1 - confidence, method="wilson")
    assert interval.low == pytest.approx(low, abs=1e-9)
    assert interval.high == pytest.approx(high, abs=1e-9)


@given(counted)
def test_wilson_holds_the_share_within_0_and_1_and_mirrors(count):
    alive, n = count
    interval, mirrored = wilson(alive, n), wilson(n - alive, n)
    assert 0 <= interval.low <= alive / n <= interval.high <= 1
    assert interval.low == pytest.approx(1 - mirrored.high, abs=1e-12)


# Source: Newcombe 1998, Stat. Med. 17:873-890, Table II, method 10; sixth decimal recomputed.
@pytest.mark.parametrize(
    ("counts", "estimate", "low", "high"),
    [
        ((56, 70, 48, 80), 0.2000, 0.052431, 0.333873),
        ((9, 10, 3, 10), 0.6000, 0.170523, 0.809018),
        ((6, 7, 2, 7), 0.5714, 0.058228, 0.806250),
        ((5, 56, 0, 29), 0.0893, -0.038137, 0.192560),
        ((0, 10, 0, 20), 0.0, -0.161125, 0.277533),
        ((0, 10, 0, 10), 0.0, -0.277533, 0.277533),
        ((10, 10, 0, 20), 1.0, 0.679086, 1.0),
        ((10, 10, 0, 10), 1.0, 0.607509, 1.0),
    ],
)
def test_newcombe_gives_the_published_interval(counts, estimate, low, high):
    difference = newcombe_difference(*counts)
    assert difference.estimate == pytest.approx(estimate, abs=5e-5)
    assert difference.low == pytest.approx(low, abs=5e-7)
    assert difference.high == pytest.approx(high, abs=5e-7)


# Reference: statsmodels, confint_proportions_2indep(method="newcomb", compare="diff").
@given(counted, counted)
def test_newcombe_agrees_with_statsmodels(first, second):
    difference = newcombe_difference(*first, *second)
    low, high = confint_proportions_2indep(*first, *second, method="newcomb", compare="diff")
    assert difference.low == pytest.approx(low, abs=1e-9)
    assert difference.high == pytest.approx(high, abs=1e-9)


@given(counted, counted)
def test_newcombe_reversed_changes_only_the_sign(first, second):
    there, back = newcombe_difference(*first, *second), newcombe_difference(*second, *first)
    assert -1 <= there.low <= there.estimate <= there.high <= 1
    assert there.low == pytest.approx(-back.high, abs=1e-12)


@pytest.mark.parametrize(
    ("counts", "reason"),
    [
        ((0, 0, 3, 10), "no trees in the first set"),
        ((3, 10, 0, 0), "no trees in the second set"),
        ((0, 0, 0, 0), "no trees in either set"),
    ],
)
def test_newcombe_without_trees_is_not_estimable_and_says_where(counts, reason):
    difference = newcombe_difference(*counts)
    assert (difference.estimate, difference.low, difference.high) == (None, None, None)
    assert not difference.estimable
    assert difference.reason == reason


@pytest.mark.parametrize("counts", [(11, 10, 1, 10), (1, 10, 11, 10), (1, 10, -1, 10)])
def test_newcombe_refuses_an_impossible_count(counts):
    with pytest.raises(ValueError, match="is not a count"):
        newcombe_difference(*counts)
