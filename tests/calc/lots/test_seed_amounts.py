"""Pure live seed, seed to sow, seeds for trees."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, nbinom

from registry.calc.lots import seed_amounts
from registry.calc.lots.seed_amounts import bulk_per_pure_live_seed, pure_live_seed_share, seed_to_sow, seeds_for_trees
from registry.calc.pedigree.seedlings_needed import plants_needed


def test_pure_live_seed_is_purity_times_germination():
    # Texas Department of Transportation, page "Pure live seed": purity 85 %, germination 75 %. The page rounds .6375 to .64
    # before it divides and prints 1.56; unrounded it is 1.568627.
    assert pure_live_seed_share(0.85, 0.75) == pytest.approx(0.6375)
    assert bulk_per_pure_live_seed(0.85, 0.75) == pytest.approx(1.568627, abs=5e-7)
    assert bulk_per_pure_live_seed(0.85, 0.75) == pytest.approx(1.56, abs=0.01)


@pytest.mark.parametrize(("purity", "germination", "bulk_kg"), [(1, 0.95, 1.05), (0.9, 0.8, 1.4), (0.6, 0.6, 2.8), (0.5, 0.5, 4.0)])
def test_bulk_seed_per_pure_live_seed_agrees_with_the_table(purity, germination, bulk_kg):
    # USDA-SCS 1980, as printed by the US Geological Survey (table 4), rounded there to .05.
    assert bulk_per_pure_live_seed(purity, germination) == pytest.approx(bulk_kg, abs=0.025)


@pytest.mark.parametrize(("purity", "germination"), [(0, 0.5), (0.5, 0)])
def test_dead_or_impure_seed_has_no_weight_that_is_enough(purity, germination):
    with pytest.raises(ValueError, match="no weight of this seed is enough"):
        bulk_per_pure_live_seed(purity, germination)


def test_a_percentage_instead_of_a_share_is_refused_with_the_share():
    with pytest.raises(ValueError, match=r"germination is 65, which looks like a percentage\. Write 0\.65"):
        pure_live_seed_share(0.98, 65)


@pytest.mark.parametrize("share", [-0.1, 101, float("nan"), float("inf")])
def test_a_share_outside_zero_to_one_is_refused(share):
    with pytest.raises(ValueError, match="purity"):
        pure_live_seed_share(share, 0.5)


@pytest.mark.parametrize(
    ("numbers", "weight"),
    [((2000, 6, 30, 1, 0.65, 0.70), 879.1209), ((100, 50, 290, 0.98, 0.72, 0.6), 40.725)],
)
def test_the_weight_of_seed_for_a_bed(numbers, weight):
    # Formula of Williams & Hanks 1976, USDA Agric. Handb. 473 (from memory); numbers worked by hand.
    assert seed_to_sow(*numbers) == pytest.approx(weight, abs=5e-4)


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ((0, 50, 290, 1, 0.7, 0.6), "area is 0"),
        ((100, -5, 290, 1, 0.7, 0.6), "density wanted is -5"),
        ((100, 50, 0, 1, 0.7, 0.6), "number of seeds per unit of weight is 0"),
        ((100, 50, 290, 98, 0.7, 0.6), "purity is 98, which looks like a percentage"),
        ((100, 50, 290, 1, 0, 0.6), "germination is 0"),
        ((100, 50, 290, 1, 0.7, 1.5), "survival is 1.5, which looks like a percentage"),
    ],
)
def test_a_bed_that_cannot_be_calculated_says_which_number_is_wrong(numbers, words):
    with pytest.raises(ValueError, match=words):
        seed_to_sow(*numbers)


def test_seeds_for_trees_on_average_and_with_confidence():
    need = seeds_for_trees(100, 0.65, 0.8, 0.7)
    # 100 / (.65 x .8 x .7 = .364) = 274.7; the sure number by scipy's binomial.
    assert (need.expected, need.share) == (275, pytest.approx(0.364))
    assert binom.sf(99, need.sure, 0.364) >= 0.95 > binom.sf(99, need.sure - 1, 0.364)


def test_seeds_that_all_become_trees_need_no_reserve():
    need = seeds_for_trees(40)
    assert (need.expected, need.sure) == (40, 40)


@given(
    trees=st.integers(1, 60),
    shares=st.tuples(*[st.sampled_from([0.3, 0.5, 0.65, 0.8, 0.9, 1.0])] * 3),
    confidence=st.sampled_from([0.5, 0.8, 0.95, 0.99]),
)
def test_the_sure_number_of_seeds_is_the_smallest_that_suffices(trees, shares, confidence):
    need = seeds_for_trees(trees, *shares, confidence)
    product = shares[0] * shares[1] * shares[2]
    assert binom.sf(trees - 1, need.sure, product) >= confidence - 1e-9
    assert binom.sf(trees - 1, need.sure - 1, product) < confidence + 1e-9
    assert need.expected >= trees and need.expected - trees / product < 1 + 1e-9


@pytest.mark.parametrize(
    ("trees", "shares", "confidence"),
    [(1_000, (0.653, 0.812, 0.07), 0.95), (20_000, (0.65, 0.8, 0.7), 0.95), (5_000, (0.9, 1.0, 1.0), 0.5), (200, (0.01, 1.0, 1.0), 0.999), (2_900, (0.97, 0.999999, 0.999999), 0.95),
     (3_001, (0.999, 1.0, 1.0), 0.99), (1_000_000, (0.05, 0.8, 0.5), 0.95), (10_000, (0.001, 1.0, 1.0), 0.95)],
)  # fmt: skip
def test_large_numbers_keep_their_word_too(trees, shares, confidence):
    need = seeds_for_trees(trees, *shares, confidence)
    product = shares[0] * shares[1] * shares[2]
    # scipy's binomial survival function
    assert binom.sf(trees - 1, need.sure, product) >= confidence - 1e-9
    assert binom.sf(trees - 1, need.sure - 1, product) < confidence + 1e-9


@pytest.mark.parametrize(
    ("trees", "shares"),
    [(1_000_000, (0.05, 0.8, 0.5)), (10_000, (0.001, 1.0, 1.0)), (10_000_000, (0.65, 0.8, 0.7)), (60, (0.01, 0.9, 0.5))],
)
def test_the_sure_number_is_a_negative_binomial_quantile(trees, shares):
    # scipy's negative binomial: seeds that fail before the last wanted one; the seeds are these and the wanted ones
    need = seeds_for_trees(trees, *shares, 0.95)
    assert need.sure == trees + nbinom.ppf(0.95, trees, shares[0] * shares[1] * shares[2])


def test_a_first_term_below_floating_point_range_ends_the_sum(monkeypatch):
    # the sum goes down from its largest term; where that is 0 in floating point, so are the million below it
    steps = []
    monkeypatch.setattr(seed_amounts, "range", lambda *numbers: (steps.append(k) or k for k in range(*numbers)), raising=False)
    assert seed_amounts._tail(1_000_000, 100_000_000, 0.02) == 0.0
    assert len(steps) == 1


@pytest.mark.parametrize("trees", [90, 108, 110, 900, 1_100])
@pytest.mark.parametrize("confidence", [0.1, 0.5, 0.95])
def test_whole_numbers_and_floating_point_agree_where_they_meet(trees, confidence):
    # share .364: up to 300 seeds in whole numbers (Sedcole 1977, the exact method), beyond that in floating point
    assert seeds_for_trees(trees, 0.65, 0.8, 0.7, confidence).sure == plants_needed(Fraction(364, 1000), trees, confidence)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        ({"trees": 50_000, "germination_share": 0.5, "confidence": 1.0}, "confidence is 1.0"),
        ({"trees": 0}, "trees wanted are 0"),
        ({"trees": 5, "germination_share": 65}, "germination is 65, which looks like a percentage"),
        ({"trees": 5, "kept_share": 0}, "share kept at culling is 0"),
        ({"trees": 5, "field_survival_share": -1}, "field survival is -1"),
        ({"trees": 5, "confidence": 1}, "confidence"),
    ],
)
def test_a_need_that_cannot_be_calculated_says_which_number_is_wrong(call, words):
    with pytest.raises(ValueError, match=words):
        seeds_for_trees(**call)


def test_a_bed_too_large_for_a_number_is_refused_in_words():
    with pytest.raises(ValueError, match="weight of seed is too large to calculate"):
        seed_to_sow(1e308, 1e3, 290, 1, 1, 1)
