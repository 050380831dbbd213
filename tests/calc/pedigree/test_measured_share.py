"""Measured donor shares beside the expected ones."""

from math import sqrt

import numpy as np
import pytest

from registry.calc.pedigree.backcross import donor_share_variance
from registry.calc.pedigree.generation import Generation
from registry.calc.pedigree.measured_share import check_share, cross_spread, donor_share_spread, family_spread

ONE_MORGAN = [1.0]


def gamete(rng, first, second, morgan):
    """A gamete of two strands of loci, crossovers after Haldane: a Poisson number, anywhere."""
    places = np.sort(rng.uniform(0, morgan, rng.poisson(morgan)))
    loci = np.linspace(0, morgan, first.size)
    strand = (np.searchsorted(places, loci) + rng.integers(2)) % 2
    return np.where(strand == 0, first, second)


@pytest.mark.parametrize("generation", [Generation(0, 0), Generation(None, None, "native"), Generation(None, None, "donor")])
def test_native_donor_and_first_hybrid_trees_do_not_spread(generation):
    assert donor_share_spread(generation, ONE_MORGAN) == 0


def test_a_backcross_spreads_by_two_published_standard_deviations():
    # Hill 1993, J. Hered. 84:212-213: variance of the heterozygous share of B1, one chromosome of 1 Morgan, 0.14191691;
    # that of the donor share is a quarter of it
    assert donor_share_spread(Generation(1, 0), ONE_MORGAN) == pytest.approx(2 * sqrt(0.14191691 / 4), rel=1e-7)


def test_an_intercross_spreads_as_simulated_gametes_do():
    """F2 of one chromosome of 1 Morgan: mean of two gametes of the F1. Simulated, seed fixed, 4,000 trees, 201 loci."""
    rng = np.random.default_rng(7)
    donor, native = np.ones(201), np.zeros(201)
    shares = [(gamete(rng, donor, native, 1.0).mean() + gamete(rng, donor, native, 1.0).mean()) / 2 for _ in range(4_000)]
    # the standard error of a standard deviation from 4,000 draws is about 1.1 in 100: four of them allowed
    assert 2 * np.std(shares) == pytest.approx(donor_share_spread(Generation(0, 1), ONE_MORGAN), rel=0.045)


def test_a_later_intercross_has_the_spread_of_the_first():
    first, later = (donor_share_spread(Generation(3, number), ONE_MORGAN) for number in (1, 2))
    assert first == later == pytest.approx(2 * sqrt(2 * donor_share_variance(4, ONE_MORGAN)))
    assert donor_share_spread(Generation(None, None, "outcross"), ONE_MORGAN) is None


def test_a_share_is_odd_beyond_its_error_and_the_spread():
    # 3 x 0.02 + 0.06 = 0.12 about 0.0625
    assert not check_share(0.18, 0.02, 0.0625, 0.06).odd
    assert check_share(0.19, 0.02, 0.0625, 0.06).odd
    assert check_share(0.03, 0.0, 0.0, 0.0).odd  # a native tree with donor in it, no error stated


def test_the_mean_of_a_sample_spreads_less_than_a_tree():
    # the standard error of a mean of n: spread / sqrt(n)
    assert check_share(0.1, 0.01, 0.1, 0.06, plants=9).spread == pytest.approx(0.02)
    assert check_share(0.16, 0.01, 0.1, 0.06, plants=9).odd and not check_share(0.16, 0.01, 0.1, 0.06).odd


def test_without_an_expectation_nothing_is_odd():
    found = check_share(0.9, 0.01, None, None)
    assert (found.margin, found.odd) == (None, False)


def test_a_cross_spreads_by_the_gametes_of_both_parents():
    native, hybrid = Generation(None, None, "native"), Generation(0, 0)
    assert cross_spread([native, native], ONE_MORGAN) == 0
    # a first hybrid crossed with a native tree gives the first backcross; with another first hybrid the variances of two gametes add up
    backcross = donor_share_spread(Generation(1, 0), ONE_MORGAN)
    assert cross_spread([hybrid, native], ONE_MORGAN) == pytest.approx(backcross)
    assert cross_spread([hybrid, hybrid], ONE_MORGAN) == pytest.approx(sqrt(2) * backcross)
    assert cross_spread([None, native], ONE_MORGAN) == pytest.approx(backcross)


def tree(rng, mother, father, morgan=1.0):
    """Two strands: one gamete of each parent, a parent being two strands."""
    return gamete(rng, *mother, morgan), gamete(rng, *father, morgan)


def shares(trees):
    return np.array([(first.mean() + second.mean()) / 2 for first, second in trees])


@pytest.fixture(scope="module")
def simulated():
    """4,000 B1 trees, their selfed offspring and the selfed offspring of those, and B1 intercrossed; seed fixed, 101 loci of 1 Morgan."""
    rng = np.random.default_rng(11)
    native = (np.zeros(101), np.zeros(101))
    b1 = [tree(rng, native, (np.ones(101), np.zeros(101))) for _ in range(4_000)]
    selfed = [tree(rng, one, one) for one in b1]
    return {
        "B1": b1,
        "selfed": selfed,
        "again": [tree(rng, one, one) for one in selfed],
        "crossed": list(map(tree, [rng] * 2_000, b1[::2], b1[1::2])),
    }


def test_selfed_trees_spread_as_simulated_ones_do(simulated):
    crossed = donor_share_spread(Generation(1, 1), ONE_MORGAN)
    once = donor_share_spread(Generation(1, 1), ONE_MORGAN, selfings=1)
    twice = donor_share_spread(Generation(1, 2), ONE_MORGAN, selfings=2)
    # the standard error of a standard deviation from 4,000 draws is about 1.1 in 100, from 2,000 about 1.6
    assert 2 * np.std(shares(simulated["crossed"])) == pytest.approx(crossed, rel=0.06)
    assert 2 * np.std(shares(simulated["selfed"])) == pytest.approx(once, rel=0.045)
    assert 2 * np.std(shares(simulated["again"])) < 1.045 * twice
    assert crossed < once < twice
    parents = [Generation(1, 0), Generation(1, 0)]
    assert cross_spread(parents, ONE_MORGAN) == pytest.approx(crossed)
    assert cross_spread(parents, ONE_MORGAN, selfed=True) == pytest.approx(once)


def test_selfing_a_first_hybrid_is_an_intercross_of_two():
    assert donor_share_spread(Generation(0, 1), ONE_MORGAN, selfings=1) == donor_share_spread(Generation(0, 1), ONE_MORGAN)
    assert donor_share_spread(Generation(1, 0), ONE_MORGAN, selfings=3) == donor_share_spread(Generation(1, 0), ONE_MORGAN)


def test_families_spread_as_the_means_of_their_parents(simulated):
    b1, native = Generation(1, 0), Generation(None, None, "native")
    # the mean of a large family is the mean of its parents
    means = [(shares([one])[0] + shares([other])[0]) / 2 for one, other in zip(simulated["B1"][::2], simulated["B1"][1::2], strict=True)]
    assert 2 * np.std(means) == pytest.approx(family_spread([b1, b1], ONE_MORGAN), rel=0.06)
    assert family_spread([b1, b1], ONE_MORGAN, selfed=True) == donor_share_spread(b1, ONE_MORGAN)
    assert family_spread([native, Generation(0, 0)], ONE_MORGAN) == 0
    assert family_spread([native, None], ONE_MORGAN) == donor_share_spread(Generation(0, 1), ONE_MORGAN) / 2


def test_more_plants_of_one_family_do_not_narrow_it_further():
    assert check_share(0.1, 0.0, 0.1, 0.05, plants=1_000_000, family=0.03).spread == pytest.approx(0.03, rel=1e-4)
    assert check_share(0.1, 0.0, 0.1, 0.05, plants=4, family=0.03).spread == pytest.approx(sqrt(0.03**2 + 0.04**2 / 4))


def test_the_limit_is_what_is_not_odd():
    low, high = check_share(0.1, 0.01, 0.0625, 0.06).limit
    assert (low, high) == (0.0, pytest.approx(0.1525))
    assert not check_share(high - 1e-9, 0.01, 0.0625, 0.06).odd and check_share(high + 1e-9, 0.01, 0.0625, 0.06).odd
    assert check_share(0.9, 0.01, None, None).limit is None
