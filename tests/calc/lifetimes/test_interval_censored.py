"""Deaths that are only known to lie between two looks: published values, a closed form, and the conditions of a maximum."""

from math import inf

import numpy as np
import pytest

from plantings.calc.lifetimes.curves import life_table
from plantings.calc.lifetimes.interval_censored import interval_band, interval_masses, interval_parts
from plantings.calc.lifetimes.rank_tests import rank_test
from tests.calc.lifetimes.reference_data import BOTH_TREATMENTS, RADIATION, intervals

# Fay & Shaw 2010, J. Stat. Softw. 36(2), section 4; log-likelihoods from an EM of our own to 1e-12.
PRINTED = {
    "radiation": (RADIATION, -58.060022, [(4, 5, 0.046347), (6, 7, 0.033363), (7, 8, 0.088667), (11, 12, 0.070753), (24, 25, 0.092646),
                                          (33, 34, 0.081786), (38, 40, 0.120880), (46, 48, 0.465558)]),
    "both": (BOTH_TREATMENTS, -65.636965, [(4, 5, 0.043283), (5, 8, 0.043283), (11, 12, 0.069206), (16, 17, 0.145398), (18, 19, 0.141095),
                                           (19, 20, 0.115746), (24, 25, 0.099865), (30, 31, 0.070881), (35, 36, 0.160831),
                                           (44, 48, 0.055206), (48, 60, 0.055206)]),
}  # fmt: skip


@pytest.mark.parametrize("group", PRINTED)
def test_the_curve_has_the_masses_printed_by_fay_and_shaw(group):
    words, height, masses = PRINTED[group]
    found = interval_masses(*intervals(words))
    assert found.log_likelihood == pytest.approx(height, abs=1e-6) and found.converged
    assert list(zip(found.left, found.right, strict=True)) == [(left, right) for left, right, _ in masses]
    assert found.mass == pytest.approx([mass for *_, mass in masses], abs=1e-6)


def test_two_groups_have_the_tests_printed_by_fay_and_shaw():
    (left, right), (left_2, right_2) = intervals(RADIATION), intervals(BOTH_TREATMENTS)
    numbers = np.stack([np.arange(94) < 46, np.arange(94) >= 46])
    ends = np.concatenate([left, left_2]), np.concatenate([right, right_2])
    assert interval_masses(*ends).log_likelihood == pytest.approx(-136.963804, abs=1e-6)
    values = ((-9.141846, 2.668387, 0.007622), (-5.656724, 2.167151, 0.030223))
    for part, (score, z, p) in zip(interval_parts(*ends, numbers), values, strict=True):
        test = rank_test([part])
        assert part.observed[0] - part.expected[0] == pytest.approx(score, abs=1e-6)
        assert (test.chi_square**0.5, test.p) == (pytest.approx(z, abs=1e-6), pytest.approx(p, abs=1e-6))


def test_the_conditions_of_a_maximum_hold_for_current_status_data():
    """One look a tree: the curve is the isotonic regression of dead on age (Ayer et al. 1955, from memory), by pooling violators."""
    random = np.random.default_rng(7)
    looks = np.sort(random.choice(np.arange(1.0, 1000.0), 400, replace=False))
    dead = random.random(400) < 1 - np.exp(-looks / 300)
    found = interval_masses(np.where(dead, 0, looks), np.where(dead, looks, inf))
    pooled = []
    for value in dead.astype(float):
        pooled.append([value, 1])
        while len(pooled) > 1 and pooled[-2][0] >= pooled[-1][0]:
            (value_1, n_1), (value_2, n_2) = pooled[-2:]
            pooled[-2:] = [[(value_1 * n_1 + value_2 * n_2) / (n_1 + n_2), n_1 + n_2]]
    isotonic = np.concatenate([np.full(n, value) for value, n in pooled])
    assert found.converged and found.gap < 1e-9
    assert [1 - found.survival(look) for look in looks] == pytest.approx(isotonic, abs=1e-8)


def test_with_a_census_for_all_each_year_it_is_the_life_table():
    """Deaths 5, 6, 7 of 23, 18, 10 at risk; two are not seen after the second census."""
    left, right = np.array([0, 1, 2, 2, 3]), np.array([1, 2, 3, inf, inf])
    numbers = np.array([[5, 6, 7, 2, 3]])
    steps = life_table([5, 6, 7], [23, 18, 10])
    band = interval_band(left, right, numbers, [1, 2, 3])
    for step, (share, error, low, high) in zip(steps, band, strict=True):
        assert (share, error, low, high) == pytest.approx((step.share, step.error, step.low, step.high), abs=1e-9)


def test_sites_that_differ_make_the_band_of_gaps_wider():
    left, right = np.array([0, 0, 1, 2]), np.array([1, 2, 2, inf])
    alike, apart = (
        interval_band(left, right, np.array(given), [2])[0] for given in ([[3, 4, 3, 10]] * 4, [[0, 1, 0, 19], [6, 7, 6, 1]] * 2)
    )
    assert alike[0] == pytest.approx(0.5) == apart[0] and apart[2] < alike[2] and apart[3] > alike[3]


@pytest.mark.parametrize("wrong", [([], []), ([1], [1]), ([-1], [2]), ([0, 1], [2])])
def test_impossible_intervals_are_refused(wrong):
    with pytest.raises(ValueError):
        interval_masses(*wrong)
