"""Shares and their intervals, against published tables and a second program."""

from math import isfinite

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from plantings.calc.survival.proportions import newcombe_difference, ratio_over_sites, wilson

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
    with pytest.raises(ValueError, match="confidence is"):
        ratio_over_sites([1, 2], [2, 2], confidence)


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


# Source: ratio estimator of Cochran 1977, Sampling Techniques 3rd ed., ch. 3; the eight plots
# and the four figures recomputed in R 4.2.2.
PLOTS_ALIVE = [12, 9, 15, 11, 7, 14, 13, 10]
PLOTS_PLANTED = [16, 16, 16, 15, 16, 16, 14, 16]


def test_the_ratio_over_sites_gives_the_reference_figures():
    result = ratio_over_sites(PLOTS_ALIVE, PLOTS_PLANTED)
    assert result.estimate == pytest.approx(0.728000, abs=5e-7)
    assert result.standard_error == pytest.approx(0.064066, abs=5e-7)
    assert result.binomial_standard_error == pytest.approx(0.039801, abs=5e-7)
    assert result.design_effect == pytest.approx(2.590945, abs=5e-7)
    assert result.sites == 8
    assert result.reason == ""


def test_the_interval_over_sites_is_that_of_the_effective_sample():
    result = ratio_over_sites(PLOTS_ALIVE, PLOTS_PLANTED)
    # 125 trees over the reference design effect.
    assert result.effective_n == pytest.approx(125 / 2.590945, rel=1e-6)
    low, high = proportion_confint(0.728 * result.effective_n, result.effective_n, method="wilson")
    assert (result.low, result.high) == (pytest.approx(low, abs=1e-9), pytest.approx(high, abs=1e-9))
    independent = wilson(91, 125)
    assert result.low < independent.low and independent.high < result.high


# Beta-binomial sites of 20 trees, share 0.7, likeness within sites 0.1: own simulation, seeded. The
# nominal 95 % is met within 2.5 points, which three standard errors of 2,000 draws (0.015) leave room for.
def test_the_interval_over_twenty_sites_covers_the_true_share():
    rng = np.random.default_rng(20260912)
    clustered = independent = 0
    for _ in range(2_000):
        alive = rng.binomial(20, rng.beta(0.7 * 9, 0.3 * 9, 20)).tolist()
        over_sites, over_trees = ratio_over_sites(alive, [20] * 20), wilson(sum(alive), 400)
        clustered += over_sites.low <= 0.7 <= over_sites.high
        independent += over_trees.low <= 0.7 <= over_trees.high
    assert 0.925 <= clustered / 2_000 <= 0.975
    assert independent / 2_000 < 0.80


def test_sites_more_even_than_chance_do_not_narrow_the_interval():
    result = ratio_over_sites([8, 8, 8], [10, 10, 10])
    assert result.design_effect == pytest.approx(0, abs=1e-20)
    assert result.effective_n == 30
    assert result.low == pytest.approx(wilson(24, 30).low, abs=1e-12)


# Worked by hand: share 6/12, residuals 1 - 0.5 and 5 - 5.5, so the error is sqrt(2 * (0.25 + 0.25)) / 12.
def test_a_site_with_one_tree_counts():
    result = ratio_over_sites([1, 5], [1, 11])
    assert (result.sites, result.estimate) == (2, 0.5)
    assert result.standard_error == pytest.approx(1 / 12, abs=1e-15)


def test_a_site_without_trees_is_left_out():
    with_empty = ratio_over_sites([*PLOTS_ALIVE, 0], [*PLOTS_PLANTED, 0])
    assert with_empty == ratio_over_sites(PLOTS_ALIVE, PLOTS_PLANTED)


@pytest.mark.parametrize(("alive", "n"), [([], []), ([0, 0], [0, 0])])
def test_no_trees_on_any_site_is_not_estimable(alive, n):
    result = ratio_over_sites(alive, n)
    assert (result.estimate, result.low, result.high, result.sites) == (None, None, None, 0)
    assert result.reason == "no trees"


@pytest.mark.parametrize(("alive", "n"), [([7], [10]), ([7, 0], [10, 0])])
def test_one_site_gives_a_share_but_no_interval(alive, n):
    result = ratio_over_sites(alive, n)
    assert result.estimate == 0.7
    assert (result.standard_error, result.design_effect, result.effective_n) == (None, None, None)
    assert not result.estimable
    assert result.sites == 1
    assert result.reason.startswith("one site only")


@pytest.mark.parametrize(("alive", "share"), [([10, 20], 1.0), ([0, 0], 0.0)])
def test_all_trees_alike_leaves_the_design_effect_open_and_says_so(alive, share):
    result = ratio_over_sites(alive, [10, 20])
    plain = wilson(30 * share, 30)
    assert result.estimate == share
    assert result.design_effect is None
    assert (result.low, result.high) == (plain.low, plain.high)
    assert result.reason.startswith("every tree has the same fate")


def test_sites_that_do_not_pair_up_are_refused():
    with pytest.raises(ValueError, match="alive has 2 sites and n has 1"):
        ratio_over_sites([1, 2], [3])


def test_an_impossible_site_is_refused():
    with pytest.raises(ValueError, match="5 of 3 is not a count"):
        ratio_over_sites([1, 5], [3, 3])


@given(st.lists(counted, min_size=1, max_size=12))
def test_the_ratio_over_sites_never_gives_a_figure_that_is_not_finite(sites):
    result = ratio_over_sites([alive for alive, _ in sites], [n for _, n in sites])
    figures = (result.estimate, result.standard_error, result.design_effect, result.effective_n, result.low, result.high)
    assert all(figure is None or isfinite(figure) for figure in figures)
    if result.estimable:
        assert 0 <= result.low <= result.estimate + 1e-12 and result.estimate - 1e-12 <= result.high <= 1
        assert result.effective_n <= sum(n for _, n in sites)
