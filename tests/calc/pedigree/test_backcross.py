"""Spread of backcross generations and plants to grow, against published values."""

from fractions import Fraction
from math import exp, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import binom

from registry.calc.pedigree.backcross import (
    chance_of_dropping_linked,
    donor_on_carrier_morgan,
    donor_segment_morgan,
    donor_share_variance,
    native_share_range,
    share_homozygous_native,
)
from registry.calc.pedigree.seedlings_needed import plants_needed, seeds_needed, share_carrying_all


# Hill 1993, J. Hered. 84:212-213; equal to the integral of the two-locus covariance and to a crossover simulation
@pytest.mark.parametrize(
    ("length", "expected"),
    [
        (0.5, [0.18393972, 0.12744909, 0.06821543, 0.03339205, 0.01573978, 0.00729986]),
        (1.0, [0.14191691, 0.09453905, 0.04863729, 0.02290949, 0.01041425, 0.00467233]),
        (2.0, [0.09432236, 0.06083371, 0.03032699, 0.01386726, 0.00613552, 0.00268759]),
    ],
)
def test_variance_of_the_heterozygous_share_of_one_chromosome(length, expected):
    assert [4 * donor_share_variance(t, [length]) for t in range(1, 7)] == pytest.approx(expected, abs=6e-9)


@pytest.mark.parametrize(
    ("chromosomes", "expected"),
    [
        ([1.0] * 12, [0.054375, 0.044380, 0.031832, 0.021847, 0.014730, 0.009866]),
        ([0.6] * 12, [0.060212, 0.049867, 0.036294, 0.025263]),
        ([2.0] * 10, [0.048560, 0.038998, 0.027535]),
    ],
)
def test_standard_deviation_of_the_donor_share_of_a_genome(chromosomes, expected):
    # Hill 1993 for one chromosome, independent chromosomes weighted by length
    found = [sqrt(donor_share_variance(t, chromosomes)) for t in range(1, len(expected) + 1)]
    assert found == pytest.approx(expected, abs=6e-7)


def test_a_chromosome_without_crossing_over_is_one_locus():
    # one locus is donor with chance 2^-t and then half donor: variance 2^-t (1 - 2^-t)/4, binomial
    for t in (1, 3):
        for length in (1e-7, 1e-5):
            assert donor_share_variance(t, [length]) == pytest.approx(0.5**t * (1 - 0.5**t) / 4, rel=1e-4)


def test_chromosomes_of_unequal_length_are_weighted():
    # V = sum(l^2 V_l)/(sum l)^2 with the values of Hill's formula above
    expected = (0.25 * 0.06821543 + 4 * 0.03032699) / 4 / 2.5**2
    assert donor_share_variance(3, [0.5, 2.0]) == pytest.approx(expected, abs=5e-9)


def test_range_of_single_trees():
    # mean 15/16 and 2 x 0.031832 (Hill 1993); the upper end would be 1.0012 and is cut at 1
    assert native_share_range(3, [1.0] * 12) == pytest.approx((0.9375 - 0.063664, 1), abs=2e-6)
    assert native_share_range(1, [1.0] * 12) == pytest.approx((0.75 - 0.10875, 0.75 + 0.10875), abs=2e-6)
    assert native_share_range(1, [0.1])[0] == 0.5


@pytest.mark.parametrize(
    ("backcrosses", "expected_cm"), [(1, 78.694), (2, 63.212), (3, 51.791), (4, 43.233), (5, 36.717), (6, 31.674), (10, 19.865)]
)
def test_donor_segment_about_a_gene_in_the_middle(backcrosses, expected_cm):
    # Stam & Zeven 1981, Euphytica 30:227-238; the abstract prints 32 cM for t = 6 and 100 cM
    assert 100 * donor_segment_morgan(backcrosses, 0.5, 0.5) == pytest.approx(expected_cm, abs=6e-4)


@pytest.mark.parametrize(("backcrosses", "expected_cm"), [(3, 31.674), (6, 16.625)])
def test_donor_segment_about_a_gene_at_the_end(backcrosses, expected_cm):
    # Stam & Zeven 1981
    assert 100 * donor_segment_morgan(backcrosses, 0, 1) == pytest.approx(expected_cm, abs=6e-4)


def test_all_donor_pieces_on_the_chromosome_of_the_gene():
    # the question of Stam & Zeven 1981 for t = 6 in the middle of 100 cM, computed apart from this code
    assert 100 * donor_on_carrier_morgan(6, 0.5, 0.5) == pytest.approx(35.394, abs=6e-4)
    for t in (1, 3, 10):  # never less than the unbroken segment, never more than the chromosome
        assert donor_segment_morgan(t, 0.2, 0.9) < donor_on_carrier_morgan(t, 0.2, 0.9) < 1.1


def test_all_donor_pieces_equal_the_integral_of_haldanes_chance():
    # numerical integral by scipy of ((1 + exp(-2x))/2)^t over both sides
    for t, left, right in ((1, 0.5, 0.5), (3, 0.0, 1.2), (8, 0.3, 0.7)):
        sides = [quad(lambda x, t=t: ((1 + exp(-2 * x)) / 2) ** t, 0, side)[0] for side in (left, right)]
        assert donor_on_carrier_morgan(t, left, right) == pytest.approx(sum(sides), abs=1e-10)


@pytest.mark.parametrize(
    ("m", "n", "expected"),
    [(3, 1, 0.8750), (3, 5, 0.5129), (3, 10, 0.2631), (5, 10, 0.7280), (5, 21, 0.5134), (6, 10, 0.8543), (6, 21, 0.7184)],
)
def test_share_homozygous_for_the_native_alleles(m, n, expected):
    # Allard 1960, Principles of Plant Breeding (from memory)
    assert share_homozygous_native(m, n) == pytest.approx(expected, abs=6e-5)


@pytest.mark.parametrize(
    ("c", "expected", "digit"), [(0.5, 0.984, 3), (0.2, 0.738, 3), (0.1, 0.469, 3), (0.02, 0.114, 3), (0.01, 0.0585, 4), (0.001, 0.0060, 4)]
)
def test_chance_of_dropping_a_linked_gene(c, expected, digit):
    # Allard 1960, table for five backcrosses (from memory)
    assert chance_of_dropping_linked(5, c) == pytest.approx(expected, abs=0.6 * 10**-digit)


WANTED = (1, 2, 3, 4, 5, 6, 8, 10, 15)
# Sedcole 1977, Crop Sci. 17:667-668 (from memory for 1/2 and below); exact binomial computed with scipy
SEDCOLE = {
    (0.95, "1/2"): [5, 8, 11, 13, 16, 18, 23, 28, 40],
    (0.95, "1/3"): [8, 13, 17, 21, 25, 29, 37, 44, 62],
    (0.95, "1/4"): [11, 18, 23, 29, 34, 40, 50, 60, 84],
    (0.95, "1/8"): [23, 37, 49, 60, 71, 82, 103, 123, 172],
    (0.95, "1/16"): [47, 75, 99, 122, 144, 166, 208, 248, 347],
    (0.95, "1/32"): [95, 150, 200, 246, 291, 334, 418, 500, 697],
    (0.95, "1/64"): [191, 302, 401, 494, 584, 671, 839, 1002, 1397],
    (0.99, "1/2"): [7, 11, 14, 17, 19, 22, 27, 33, 45],
    (0.99, "1/4"): [17, 24, 31, 37, 43, 49, 60, 70, 96],
    (0.99, "1/8"): [35, 51, 64, 77, 89, 101, 124, 146, 198],
    (0.99, "1/16"): [72, 104, 132, 158, 182, 206, 252, 296, 402],
    (0.99, "1/64"): [293, 423, 535, 640, 739, 835, 1020, 1198, 1623],
}


@pytest.mark.parametrize(("confidence", "share"), SEDCOLE)
def test_plants_needed(confidence, share):
    assert [plants_needed(Fraction(share), r, confidence) for r in WANTED] == SEDCOLE[confidence, share]


def test_plants_needed_for_loci():
    # Sedcole 1977 with 1/2^k and 1/4^k
    found = [plants_needed(share_carrying_all(k, intercross)) for k, intercross in ((2, False), (3, False), (2, True), (3, True))]
    assert found == [11, 23, 47, 191]


def test_a_chance_that_is_met_exactly_is_enough():
    # by hand: 1 - (1/2)^4 = 0.9375
    assert plants_needed(0.5, 1, 0.9375) == 4
    assert plants_needed(0.1, 1, 0.19) == 2


@given(st.floats(0.01, 1), st.integers(1, 12), st.floats(0.01, 0.99))
def test_plants_needed_agree_with_a_second_program(share, r, confidence):
    # scipy.stats.binom
    n = plants_needed(share, r, confidence)
    assert binom.sf(r - 1, n, share) >= confidence - 1e-9
    assert n == r or binom.sf(r - 1, n - 1, share) < confidence + 1e-9


def test_seeds_needed_allow_for_germination_and_losses():
    # by hand: 1/4 x 0.8 x 0.625 = 1/8, whose number Sedcole 1977 gives
    assert seeds_needed(Fraction(1, 4), 5, 0.95, germination=0.8, surviving=0.625) == 71
    assert seeds_needed(1, 3) == 3


@pytest.mark.parametrize(
    ("work", "message"),
    [
        (lambda: plants_needed(0), "wanted share"),
        (lambda: plants_needed(1.1), "wanted share"),
        (lambda: plants_needed(0.5, 0), "plants wanted"),
        (lambda: plants_needed(0.5, 1, 1), "confidence"),
        (lambda: seeds_needed(0.5, germination=0), "germination"),
        (lambda: seeds_needed(0.5, surviving=1.2), "surviving"),
        (lambda: share_carrying_all(-1), "loci"),
        (lambda: donor_share_variance(0, [1]), "backcrosses"),
        (lambda: donor_share_variance(1, []), "chromosome"),
        (lambda: donor_share_variance(1, [1, 0]), "chromosome"),
        (lambda: donor_segment_morgan(1, -1, 0), "beside the gene"),
        (lambda: donor_on_carrier_morgan(1, 0, -1), "beside the gene"),
        (lambda: donor_on_carrier_morgan(0, 1, 1), "backcrosses"),
        (lambda: share_homozygous_native(1, -1), "loci"),
        (lambda: chance_of_dropping_linked(1, 0.6), "recombination"),
    ],
)
def test_values_outside_their_range_are_refused(work, message):
    with pytest.raises(ValueError, match=message):
        work()
