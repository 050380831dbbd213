"""Beta-binomial shrinkage and the chance of a place, against published values."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import betabinom

from plantings.calc.lineages.ranking import beta_draws, beta_place_chances, normal_draws, place_chances
from plantings.calc.lineages.shrinkage import NO_SPREAD, TOO_FEW, BetaBinomial, beta_binomial_fit, shrunken_shares

# Tarone 1982: rats with tumours and rats in 70 historical groups (Gelman et al., Bayesian Data Analysis, 3rd ed., table 5.1).
TUMOURS = [0] * 14 + [1] * 8 + [2] * 9 + [1, 5, 2, 5, 3, 2, 7, 7, 3, 3, 2, 9, 10, 4, 4, 4, 4, 4, 4, 4, 10, 4, 4, 4, 5, 11, 12, 5, 5, 6, 5]
TUMOURS += [6, 6, 6, 6, 16, 15, 15, 9]
RATS = (
    [20] * 7 + [19] * 4 + [18, 18, 17] + [20] * 4 + [19, 19, 18, 18, 25, 24, 23] + [20] * 6 + [10, 49, 19, 46, 27, 17, 49, 47, 20, 20, 13]
)
RATS += [48, 50] + [20] * 7 + [48, 19, 19, 19, 22, 46, 49, 20, 20, 23, 19, 22, 20, 20, 20, 52, 46, 47, 24]


def of_one(fit, alive, n):
    """The shrunken share of one family."""
    [found] = shrunken_shares(fit, [alive], [n])
    return found


def test_the_fit_and_the_shrunken_share_have_the_reference_values():
    """R 4.2.2; the book prints .223 and .083 for the current group of 4 in 14."""
    shares = np.array(TUMOURS) / RATS
    assert (len(shares), shares.mean(), shares.std(ddof=1)) == (70, pytest.approx(0.136007, abs=5e-7), pytest.approx(0.103492, abs=5e-7))
    fit = beta_binomial_fit(TUMOURS, RATS)
    assert (fit.alpha, fit.beta) == (pytest.approx(2.304783, abs=2e-5), pytest.approx(14.079809, abs=1e-4))
    assert fit.log_likelihood == pytest.approx(-154.140250, abs=5e-7)
    with_current = beta_binomial_fit([*TUMOURS, 4], [*RATS, 14])
    assert (with_current.alpha, with_current.beta) == (pytest.approx(2.341614, abs=2e-5), pytest.approx(14.114804, abs=1e-4))
    assert of_one(with_current, 4, 14).share == pytest.approx(0.208219, abs=1e-6)
    moments = of_one(BetaBinomial(1.356149, 8.615058, None), 4, 14)
    assert (moments.share, moments.deviation) == (pytest.approx(0.223441, abs=5e-7), pytest.approx(0.083358, abs=5e-7))
    assert moments.low < moments.share < moments.high


def test_the_interval_is_wider_by_what_the_fit_leaves_open():
    """The variance added is that of the posterior mean over draws of the fit's own parameters, by a normal with a hundredth of the
    covariance, where the mean is as good as linear."""
    fit = beta_binomial_fit([2, 9, 14, 18, 5], [20] * 5)
    known = of_one(replace(fit, covariance=None), 9, 20)
    covariance = fit.covariance / 100
    found = of_one(replace(fit, covariance=covariance), 9, 20)
    middle = [np.log(fit.alpha / fit.beta), np.log(fit.alpha + fit.beta)]
    draws = np.random.default_rng(5).multivariate_normal(middle, covariance, 400_000)
    mean, total = 1 / (1 + np.exp(-draws[:, 0])), np.exp(draws[:, 1])
    means = (mean * total + 9) / (total + 20)
    assert found.share == known.share
    assert found.deviation**2 - known.deviation**2 == pytest.approx(means.var(), rel=0.02)
    whole = of_one(fit, 9, 20)
    assert whole.low < known.low and known.high < whole.high


def test_the_covariance_of_the_fit_is_that_of_its_likelihood():
    """Many families: the variance of the logit of the mean is near that of the mean of their shares, by the delta method."""
    random = np.random.default_rng(8)
    alive = random.binomial(30, random.beta(6, 4, 400))
    fit = beta_binomial_fit(alive.tolist(), [30] * 400)
    mean = fit.alpha / (fit.alpha + fit.beta)
    expected = (alive / 30).var(ddof=1) / 400 / (mean * (1 - mean)) ** 2
    assert fit.covariance[0, 0] == pytest.approx(expected, rel=0.05)
    assert of_one(fit, 15, 30).deviation == pytest.approx(
        of_one(replace(fit, covariance=None), 15, 30).deviation, rel=0.01
    )  # fmt: skip


def test_a_small_spread_is_found_where_it_is_most_likely():
    """The likelihoods are those of `scipy.stats.betabinom`. A search that counts steps alone gives up here, and calls the families alike."""
    n = np.array([150, 170, 53, 171, 120, 127, 144, 92, 196, 58, 91, 107])
    alive = np.array([97, 127, 36, 119, 95, 92, 103, 71, 141, 37, 73, 71])
    fit = beta_binomial_fit(alive.tolist(), n.tolist())

    def log_likelihood(times):
        return float(betabinom(n, times * fit.alpha, times * fit.beta).logpmf(alive).sum())

    assert fit.log_likelihood == pytest.approx(log_likelihood(1), abs=1e-6)
    assert log_likelihood(1) > max(map(log_likelihood, (0.5, 0.9, 1.1, 2, 1000)))


def test_families_alike_or_too_few_have_a_reason_and_no_numbers():
    assert beta_binomial_fit([5, 5, 5, 5], [10] * 4).reason == NO_SPREAD
    assert beta_binomial_fit([1, 9], [10, 10]).reason == TOO_FEW
    assert beta_binomial_fit([10, 10, 10], [10] * 3).alpha is None
    with pytest.raises(ValueError, match="cannot be shrunken"):
        of_one(BetaBinomial(None, None, None, TOO_FEW), 1, 2)


def test_the_chance_of_a_place_is_exact_where_it_can_be_worked_out():
    """Of two with a difference of 1 and SD 1 each, the first is better with chance Φ(1/√2) = 0.76025 (table of the normal)."""
    found = place_chances(normal_draws(np.array([1.0, 0.0]), np.eye(2)), 0.5)
    assert found.places == 1 and found.best[0] == pytest.approx(0.76025, abs=0.013) and found.best[0] == found.worst[1]
    # all errors in common leave the order certain
    assert place_chances(normal_draws(np.array([2.0, 1.0, 0.0]), np.ones((3, 3)) * 9), 1 / 3).best.tolist() == [1, 0, 0]
    # Beta(2, 1) above Beta(1, 1): the integral of 2x·x is 2/3
    assert place_chances(beta_draws(np.array([2.0, 1.0]), np.array([1.0, 1.0])), 0.5).best[0] == pytest.approx(2 / 3, abs=0.014)
    with pytest.raises(ValueError, match="up to 1/2"):
        place_chances(np.zeros((1, 2)), 0.7)


def test_of_many_lineages_chances_of_a_place_are_those_of_draws():
    """Own invented counts. With 10,000 draws a chance is off by up to 0.005 (standard deviation of a share of 1/2)."""
    random = np.random.default_rng(4)
    trees = random.integers(20, 400, 500)
    alive = random.binomial(trees, random.beta(18, 12, 500))
    alpha, beta = 18 + alive, 12 + trees - alive
    found, drawn = beta_place_chances(alpha, beta), place_chances(beta_draws(alpha, beta))
    assert found.places == drawn.places == 125
    for mine, theirs in ((found.best, drawn.best), (found.worst, drawn.worst)):
        assert np.abs(mine - theirs).max() < 0.025 and (mine - theirs).std() < 0.005
        assert mine.sum() == pytest.approx(125, abs=0.5)  # so many places there are


def test_of_many_lineages_alike_each_has_the_same_chance():
    """By symmetry the share of places: 75 of 300."""
    found = beta_place_chances(np.full(300, 30.0), np.full(300, 20.0))
    assert found.best == pytest.approx(np.full(300, 0.25), abs=0.02) and found.worst == pytest.approx(np.full(300, 0.25), abs=0.02)
    with pytest.raises(ValueError, match="up to 1/2"):
        beta_place_chances(np.ones(300), np.ones(300), 0.7)


def test_many_families_are_shrunken_as_each_by_itself():
    fit = beta_binomial_fit([2, 9, 14, 18, 5], [20] * 5)
    for known in (fit, replace(fit, covariance=None)):
        found = shrunken_shares(known, [2, 9, 0], [20, 20, 0])
        alone = [of_one(known, alive, n) for alive, n in ((2, 20), (9, 20), (0, 0))]
        assert [vars_of(one) for one in found] == [pytest.approx(vars_of(one), rel=1e-12) for one in alone]


def vars_of(shrunken):
    return shrunken.share, shrunken.deviation, shrunken.low, shrunken.high
