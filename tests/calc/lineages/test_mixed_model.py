"""The binomial mixed model against lme4 and glmmTMB, and what it says where it cannot tell."""

import numpy as np
import pytest

from plantings.calc.lifetimes.hazards import LOGIT, grouped_fit
from plantings.calc.lineages.mixed_model import mixed_fit

# Lesnoff et al. 2004, as `cbpp` of R lme4: herd, cases, animals, period.
CBPP = np.array([
    [1, 2, 14, 1], [1, 3, 12, 2], [1, 4, 9, 3], [1, 0, 5, 4], [2, 3, 22, 1], [2, 1, 18, 2], [2, 1, 21, 3], [3, 8, 22, 1], [3, 2, 16, 2],
    [3, 0, 16, 3], [3, 2, 20, 4], [4, 2, 10, 1], [4, 0, 10, 2], [4, 2, 9, 3], [4, 0, 6, 4], [5, 5, 18, 1], [5, 0, 25, 2], [5, 0, 24, 3],
    [5, 1, 4, 4], [6, 3, 17, 1], [6, 0, 17, 2], [6, 0, 18, 3], [6, 1, 20, 4], [7, 8, 16, 1], [7, 1, 10, 2], [7, 3, 9, 3], [7, 0, 5, 4],
    [8, 12, 34, 1], [9, 2, 9, 1], [9, 0, 6, 2], [9, 0, 8, 3], [9, 0, 6, 4], [10, 1, 22, 1], [10, 1, 22, 2], [10, 0, 18, 3], [10, 2, 22, 4],
    [11, 0, 25, 1], [11, 5, 27, 2], [11, 3, 22, 3], [11, 1, 22, 4], [12, 2, 10, 1], [12, 1, 8, 2], [12, 0, 6, 3], [12, 0, 5, 4], [13, 1, 21, 1],
    [13, 2, 24, 2], [13, 0, 19, 3], [13, 0, 23, 4], [14, 11, 19, 1], [14, 0, 2, 2], [14, 0, 3, 3], [14, 0, 2, 4], [15, 1, 19, 1], [15, 1, 15, 2],
    [15, 1, 15, 3], [15, 0, 15, 4],
])  # fmt: skip
HERD, CASES, ANIMALS, PERIOD = CBPP.T
PERIODS = np.column_stack([np.ones(len(CBPP)), *(period == PERIOD for period in (2, 3, 4))])

# McCullagh & Nelder 1989, section 14.5 (R package glmm): the six males of each of 20 females, twice repeated with other animals, and
# whether each pair mated. Females 1 to 10 and males 1 to 10 of each 20 are rough butt (R), the others white side (W).
MALES = [
    [1, 14, 5, 11, 4, 15], [5, 15, 3, 13, 1, 12], [2, 11, 1, 14, 3, 13], [4, 12, 2, 15, 5, 14], [3, 13, 4, 12, 2, 11],
    [19, 9, 20, 7, 16, 8], [18, 8, 19, 9, 17, 6], [16, 6, 17, 10, 20, 9], [20, 7, 18, 6, 19, 10], [17, 10, 16, 8, 18, 7],
    [9, 19, 7, 20, 10, 18], [7, 16, 9, 17, 6, 20], [8, 17, 6, 19, 7, 16], [10, 20, 8, 18, 9, 19], [6, 18, 10, 16, 8, 17],
    [15, 2, 13, 4, 12, 1], [14, 1, 15, 2, 11, 5], [11, 4, 12, 5, 15, 3], [13, 3, 11, 1, 14, 4], [12, 5, 14, 3, 13, 2],
]  # fmt: skip
MATED = (
    "111011 111111 101111 111011 111111 111011 000100 010011 001111 001010 011101 000100 000001 011101 010000 001000 111011 101010 111110 100110 "
    "101010 111001 011111 100000 101000 111000 110101 100010 111101 001110 010001 010001 010101 001101 000000 101111 101000 000000 111111 101110 "
    "111011 000100 111011 101100 011010 011111 010000 111110 001011 011111 000101 010101 101001 111000 011101 001000 101000 001010 100010 001010 "
)  # fmt: skip


def test_one_factor_has_the_values_of_three_reference_fits():
    """R 4.2.2, lme4 1.1-31 with tight tolerances, glmmTMB 1.1.5 and a fit of our own in scipy agree on them."""
    fit = mixed_fit(CASES, ANIMALS, PERIODS, {"herd": HERD - 1})
    assert fit.fixed == pytest.approx([-1.39853, -0.99233, -1.12867, -1.58031], abs=5e-6)
    assert fit.fixed_errors == pytest.approx([0.23247, 0.30664, 0.32664, 0.42744], abs=5.5e-6)
    assert fit.deviations["herd"] == pytest.approx(0.64226, abs=5e-6)
    assert fit.log_likelihood == pytest.approx(-92.026282, abs=5e-7)
    modes = [0.59002, -0.29890, 0.40626, 0.03928, -0.19002, -0.40027, 0.88939, 0.59937, -0.23766, -0.54094, -0.08464, -0.06482]
    assert fit.modes["herd"] == pytest.approx([*modes, -0.68992, 0.97072, -0.53048], abs=5.5e-6)
    assert fit.mode_errors["herd"][:5] == pytest.approx([0.34827, 0.36556, 0.29732, 0.41639, 0.35040], abs=5.5e-6)
    assert fit.reason == "" and fit.curved and fit.slope < 1e-6


def test_quadrature_has_the_reference_values_and_checks_do_not_change_them():
    """R 4.2.2, lme4 1.1-31 with nAGQ = 25; its variance is a little above Laplace's. Cells without a level have a likelihood of their own."""
    fit = mixed_fit(CASES, ANIMALS, PERIODS, {"herd": HERD - 1}, nodes=25)
    assert fit.fixed == pytest.approx([-1.39923, -0.99140, -1.12782, -1.57947], abs=1e-5)
    assert fit.deviations["herd"] ** 2 == pytest.approx(0.41928, abs=1e-5) and fit.reason == ""
    design = [*([*row, 0] for row in PERIODS), [0] * 4 + [1], [0] * 4 + [1]]
    whole = mixed_fit([*CASES, 30, 10], [*ANIMALS, 50, 40], design, {"herd": [*(HERD - 1), -1, -1]}, nodes=25)
    checks = mixed_fit([30, 10], [50, 40], [[1.0], [1.0]], {"herd": [0, 0]})
    assert whole.fixed == pytest.approx([*fit.fixed, np.log(40 / 50)], abs=1e-6)
    assert whole.log_likelihood == pytest.approx(fit.log_likelihood + checks.log_likelihood, abs=1e-6)


def test_the_null_model_has_the_reference_values():
    fit = mixed_fit(CASES, ANIMALS, PERIODS[:, :1], {"herd": HERD - 1})
    assert fit.fixed[0] == pytest.approx(-2.04616, abs=5e-6)
    assert fit.deviations["herd"] ** 2 == pytest.approx(0.65934, abs=5e-6)
    assert fit.log_likelihood == pytest.approx(-104.831314, abs=5e-7)


def test_the_gain_over_the_model_without_herds_is_that_of_r():
    """R 4.2.2 glm of the same cells: its coefficients, its log-likelihood, and twice the gain of the mixed model."""
    from scipy.special import gammaln

    plain = grouped_fit(CASES, ANIMALS, PERIODS, LOGIT)
    constant = (gammaln(ANIMALS + 1) - gammaln(CASES + 1) - gammaln(ANIMALS - CASES + 1)).sum()
    assert plain.coefficients == pytest.approx([-1.26902, -1.17076, -1.30141, -1.78228], abs=5.5e-6)
    assert plain.log_likelihood + constant == pytest.approx(-99.029199, abs=1e-6)
    fit = mixed_fit(CASES, ANIMALS, PERIODS, {"herd": HERD - 1})
    assert 2 * (fit.log_likelihood - plain.log_likelihood - constant) == pytest.approx(14.005835, abs=1e-6)


def test_crossed_factors_have_the_reference_values():
    """Salamander mating: lme4 with tight tolerances and glmmTMB agree."""
    pairs = [(female, 20 * (female // 20) + male - 1) for female in range(60) for male in MALES[female % 20]]
    crosses = [(female % 20 >= 10, male % 20 >= 10) for female, male in pairs]
    mated = [int(mark) for mark in MATED.replace(" ", "")]
    kinds = [(False, False), (False, True), (True, False), (True, True)]
    assert [sum(mate for mate, cross in zip(mated, crosses, strict=True) if cross == kind) for kind in kinds] == [60, 50, 19, 60]
    factors = dict(zip(("female", "male"), map(list, zip(*pairs, strict=True)), strict=True))
    fit = mixed_fit(mated, [1] * 360, [[float(cross == kind) for kind in kinds] for cross in crosses], factors)
    assert fit.fixed == pytest.approx([1.00822, 0.30618, -1.89599, 0.99041], abs=1e-5)
    assert fit.fixed_errors == pytest.approx([0.39377, 0.37467, 0.44604, 0.39118], abs=1e-5)
    assert [fit.deviations[name] ** 2 for name in factors] == pytest.approx([1.17437, 1.04100], abs=1e-5)
    assert fit.log_likelihood == pytest.approx(-209.276586, abs=5e-7)


def test_a_factor_that_tells_nothing_leaves_the_plain_model():
    """Without herds: the plain logistic model of R glm."""
    alive, n = np.array([8, 12, 9, 11] * 3), np.full(12, 20)
    fit = mixed_fit(alive, n, np.ones((12, 1)), {"site": np.arange(12) // 4})
    assert fit.singular == ("site",) and fit.deviations["site"] == 0 and fit.modes["site"].tolist() == [0, 0, 0]
    assert fit.fixed[0] == pytest.approx(0, abs=1e-9) and fit.fixed_errors[0] == pytest.approx((240 / 4) ** -0.5) and fit.reason == ""


def test_a_share_of_one_everywhere_is_said_not_to_converge():
    assert mixed_fit([10, 10, 10, 10], [10] * 4, np.ones((4, 1)), {"site": [0, 0, 1, 1]}).reason != ""


def test_the_joint_covariance_is_that_of_the_full_matrix():
    """The inverse of the matrix of mixed model equations, built without elimination (Henderson 1975, from memory)."""
    random = np.random.default_rng(5)
    site, lineage = (part.ravel() for part in np.meshgrid(np.arange(6), np.arange(9), indexing="ij"))
    alive = random.binomial(12, 1 / (1 + np.exp(-(np.linspace(-1, 1, 6)[site] + np.linspace(-1.5, 1.5, 9)[lineage]))))
    fit = mixed_fit(alive, np.full(54, 12), np.ones((54, 1)), {"site": site, "lineage": lineage}, joint_of=("site", "lineage"))
    design = np.hstack([np.ones((54, 1)), np.eye(6)[site], np.eye(9)[lineage]])
    eta = fit.fixed[0] + fit.modes["site"][site] + fit.modes["lineage"][lineage]
    share = 1 / (1 + np.exp(-eta))
    ridge = np.diag([0] + [fit.deviations["site"] ** -2] * 6 + [fit.deviations["lineage"] ** -2] * 9)
    full = np.linalg.inv(design.T @ (design * (12 * share * (1 - share))[:, None]) + ridge)
    for name, start, size in (("site", 1, 6), ("lineage", 7, 9)):
        places = [0, *range(start, start + size)]
        assert fit.joint[name] == pytest.approx(full[np.ix_(places, places)], abs=1e-8)
    assert 0 < fit.reliability["lineage"].min() < 1


def test_cells_without_a_level_add_nothing_to_a_factor():
    """Checks on a site of their own, without a lineage: the two parts of the likelihood are separate and add up."""
    whole = mixed_fit(
        [*CASES, 30, 10],
        [*ANIMALS, 50, 40],
        [*([*row, 0] for row in PERIODS), [0] * 4 + [1]] + [[0] * 4 + [1]],
        {"herd": [*(HERD - 1), -1, -1]},
    )
    alone = mixed_fit(CASES, ANIMALS, PERIODS, {"herd": HERD - 1}, joint_of=("herd",))
    checks = mixed_fit([30, 10], [50, 40], [[1.0], [1.0]], {"herd": [0, 0]})
    assert whole.fixed == pytest.approx([*alone.fixed, np.log(40 / 50)], abs=1e-6) and checks.singular == ("herd",)
    assert whole.log_likelihood == pytest.approx(alone.log_likelihood + checks.log_likelihood, abs=1e-6)
    assert whole.modes["herd"] == pytest.approx(alone.modes["herd"], abs=1e-6)


@pytest.mark.parametrize("wrong", [{"alive": [3, 11]}, {"n": [10, 0]}, {"factors": {}}, {"factors": {"site": [0]}}])
def test_impossible_cells_are_refused(wrong):
    given = {"alive": [3, 4], "n": [10, 10], "fixed": [[1.0], [1.0]], "factors": {"site": [0, 1]}} | wrong
    with pytest.raises(ValueError):
        mixed_fit(**given)
