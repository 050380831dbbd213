"""Shares and differences over sites, against R and by simulation."""

from math import isfinite

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.survival import over_sites
from plantings.calc.survival.over_sites import difference_over_sites, share_over_sites, site_spread, t_half
from plantings.calc.survival.proportions import newcombe_ends, wilson
from registry.calc.shared.proportion import score_ends

# Source of all values of this block: R 4.2.2, clubSandwich 0.5.8, CR2 with Satterthwaite's degrees of freedom; the intervals by the
# formulas of the docstrings, in numpy. Eight plots, and six sites with their checks: own invented counts.
EIGHT = [12, 9, 15, 11, 7, 14, 13, 10], [16, 16, 16, 15, 16, 16, 14, 16]
SIX = [57, 22, 8, 90, 14, 31], [90, 27, 25, 112, 30, 40]
SIX_CHECKS = [8, 13, 3, 12, 9, 15], [30, 27, 28, 28, 24, 30]


@pytest.mark.parametrize(
    ("sites", "share", "error", "df", "low", "high", "trees", "of_trees"),
    [
        (EIGHT, 0.7280000, 0.06409429, 6.984432, 0.558811, 0.849752, 48.20162, (0.644065, 0.798339)),
        (SIX, 0.6851852, 0.06652716, 3.364446, 0.470969, 0.841797, 48.73771, (0.632694, 0.733337)),
    ],
)
def test_a_share_over_sites_has_the_error_and_interval_of_reference(sites, share, error, df, low, high, trees, of_trees):
    found = share_over_sites(*sites)
    assert found.share == pytest.approx(share, abs=5e-8)
    assert found.standard_error == pytest.approx(error, abs=5e-9)
    assert found.df == pytest.approx(df, abs=5e-7)
    assert (found.low, found.high) == (pytest.approx(low, abs=5e-7), pytest.approx(high, abs=5e-7))
    assert found.sites == len(sites[0])
    assert share_in(sites) * (1 - share_in(sites)) / found.standard_error**2 == pytest.approx(trees, abs=5e-6)
    assert wilson(sum(sites[0]), sum(sites[1]))[:2] == pytest.approx(of_trees, abs=5e-7)  # the narrower one


def share_in(sites):
    return sum(sites[0]) / sum(sites[1])


def test_a_difference_over_sites_has_the_reference_values():
    found = difference_over_sites(*SIX, *SIX_CHECKS)
    assert found.estimate == pytest.approx(0.2928755, abs=5e-8)
    assert (found.low, found.high) == (pytest.approx(0.184210, abs=5e-7), pytest.approx(0.401541, abs=5e-7))
    weights = [n * m / (n + m) for n, m in zip(SIX[1], SIX_CHECKS[1], strict=True)]
    spread = site_spread([x / n - y / m for x, n, y, m in zip(*SIX, *SIX_CHECKS, strict=True)], weights)
    assert spread.variance**0.5 == pytest.approx(0.04143262, abs=5e-9)
    assert spread.df == pytest.approx(4.689114, abs=5e-7)


# The same reference: Newcombe on the site-weighted shares, the narrower of the two for these sites.
def test_newcombe_at_the_weights_of_the_sites_has_the_reference_ends():
    weights = np.array([n * m / (n + m) for n, m in zip(SIX[1], SIX_CHECKS[1], strict=True)])
    w = weights / weights.sum()
    (x, n), (y, m) = (np.array(part) for part in SIX), (np.array(part) for part in SIX_CHECKS)
    low, high = newcombe_ends(w @ (x / n), w @ (y / m), 1 / (w**2 @ (1 / n)), 1 / (w**2 @ (1 / m)))
    assert (low, high) == (pytest.approx(0.197021, abs=5e-7), pytest.approx(0.381085, abs=5e-7))


# The definition with full matrices: Bell & McCaffrey 2002, Survey Methodology 28:169-181 (from memory).
@given(st.lists(st.tuples(st.floats(0, 1), st.integers(1, 200)), min_size=2, max_size=12))
def test_the_sums_are_those_of_the_full_matrices(sites):
    v, h = (np.array(part, float) for part in zip(*sites, strict=True))
    w = h / h.sum()
    m = np.eye(len(v)) - np.outer(np.ones(len(v)), w)
    b = m.T @ np.diag(w**2 / (1 - w)) @ m @ np.diag(1 / h)
    found = site_spread(v.tolist(), h.tolist())
    assert found.df == pytest.approx(np.trace(b) ** 2 / np.trace(b @ b), rel=1e-6)
    assert found.variance == pytest.approx(float((w**2 / (1 - w)) @ (v - w @ v) ** 2), abs=1e-12)


def test_one_common_site_gives_a_difference_without_an_interval():
    found = difference_over_sites([15, 4], [20, 8], [8, 0], [16, 0])
    assert (found.estimate, found.low, found.high) == (0.25, None, None)
    assert found.reason == "one common site: cannot tell"


def test_without_a_site_that_has_both_there_is_no_difference():
    found = difference_over_sites([15, 0], [20, 0], [0, 8], [0, 16])
    assert (found.estimate, found.reason) == (None, "no site has both")


# Worked by hand: with share 0.5, n 20 and z 1.96 the centre is 0.5 and the half width 1.96 sqrt((0.25 + 0.04802)/20)/(1 + 0.19208).
def test_the_score_interval_takes_any_quantile():
    assert score_ends(0.5, 20, 1.96) == (pytest.approx(0.2993, abs=5e-5), pytest.approx(0.7007, abs=5e-5))
    low, high = score_ends(0.5, 20, 2.57)
    assert low < 0.2993 and high > 0.7007


def test_sites_that_agree_leave_the_interval_to_the_trees():
    share = share_over_sites([8, 8, 8], [10, 10, 10])
    assert (share.low, share.high) == (pytest.approx(wilson(24, 30).low), pytest.approx(wilson(24, 30).high))
    # 0.8 - 0.5 twice and 0.7 - 0.4 once differ by rounding alone
    difference = difference_over_sites([8, 7, 8], [10, 10, 10], [5, 4, 5], [10, 10, 10])
    assert difference.reason == "no spread over the sites: interval from the trees alone"
    difference = difference_over_sites([8, 8], [10, 10], [5, 5], [10, 10])
    assert (difference.low, difference.high) == tuple(map(pytest.approx, newcombe_ends(0.8, 0.5, 20, 20)))


@pytest.mark.parametrize(("alive", "share"), [([10, 20], 1.0), ([0, 0], 0.0)])
def test_all_trees_alike_leave_the_design_effect_open(alive, share):
    found = share_over_sites(alive, [10, 20])
    assert (found.share, found.design_effect, found.holds) == (share, None, False)
    assert (found.low, found.high) == (wilson(30 * share, 30).low, wilson(30 * share, 30).high)


@pytest.mark.parametrize(("alive", "holds"), [(1, False), (2, True), (18, True), (19, False)])
def test_a_share_beyond_nine_tenths_says_that_no_interval_holds(alive, holds):
    assert share_over_sites([alive, alive], [20, 20]).holds is holds


def test_a_site_without_trees_is_left_out():
    assert share_over_sites([*EIGHT[0], 0], [*EIGHT[1], 0]) == share_over_sites(*EIGHT)
    without = difference_over_sites(*SIX, *SIX_CHECKS)
    assert difference_over_sites([*SIX[0], 3], [*SIX[1], 9], [*SIX_CHECKS[0], 0], [*SIX_CHECKS[1], 0]) == without


def test_what_cannot_be_counted_is_refused():
    with pytest.raises(ValueError, match="2 sites with trees alive and 1 with trees assessed"):
        share_over_sites([1, 2], [3])
    with pytest.raises(ValueError, match="5 of 3 is not a count"):
        difference_over_sites([1, 5], [3, 3], [1, 1], [3, 3])
    with pytest.raises(ValueError, match="two sites or more"):
        share_over_sites([5, 0], [10, 0])
    with pytest.raises(ValueError, match="1 sites of the lineage and 2 of the check"):
        difference_over_sites([1], [3], [1, 1], [3, 3])
    with pytest.raises(ValueError, match="confidence is"):
        share_over_sites([1, 2], [5, 5], confidence=95)


# Own simulation, seeded; beta-binomial sites of 20 trees, share 0.7, likeness 0.1. Three standard errors of 1,000 draws are 2 points.
@pytest.mark.parametrize("sites", [3, 12])
def test_the_interval_over_sites_holds_the_true_share(sites):
    random = np.random.default_rng(20260912)
    over_sites = over_trees = 0
    for _ in range(1_000):
        alive = random.binomial(20, random.beta(0.7 * 9, 0.3 * 9, sites)).tolist()
        found, independent = share_over_sites(alive, [20] * sites), wilson(sum(alive), 20 * sites)
        over_sites += found.low <= 0.7 <= found.high
        over_trees += independent.low <= 0.7 <= independent.high
    assert over_sites >= 930
    assert over_trees < 850


# Own simulation, seeded; a lineage that reacts to a site in its own way (SD 1 on the logit scale), 60 test and 15 check trees a site.
def test_the_difference_holds_where_a_lineage_reacts_to_the_site():
    random = np.random.default_rng(20261129)

    def shares(number):
        site = random.normal(0, 1, number)
        return 1 / (1 + np.exp(-(0.5 + site + random.normal(0, 1, number)))), 1 / (1 + np.exp(-site))

    test, check = shares(400_000)
    truth, held, trees_only = float(np.mean(test - check)), 0, 0
    for _ in range(600):
        test, check = shares(12)
        x, y = random.binomial(60, test), random.binomial(15, check)
        found = difference_over_sites(x.tolist(), [60] * 12, y.tolist(), [15] * 12)
        held += found.low <= truth <= found.high
        low, high = newcombe_ends(x.sum() / 720, y.sum() / 180, 720, 180)
        trees_only += low <= truth <= high
    assert held / 600 >= 0.925
    assert trees_only / 600 < 0.9


pair = st.integers(0, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(st.lists(st.tuples(pair, pair), min_size=1, max_size=12))
def test_no_figure_over_sites_is_ever_infinite_or_inside_out(sites):
    (alive, n), (alive_check, n_check) = (zip(*part, strict=True) for part in zip(*sites, strict=True))
    found = difference_over_sites(alive, n, alive_check, n_check)
    if found.estimable:
        assert -1 <= found.low <= found.estimate + 1e-9 and found.estimate - 1e-9 <= found.high <= 1
    if sum(trees > 0 for trees in n) > 1:
        share = share_over_sites(alive, n)
        assert all(isfinite(value) for value in (share.low, share.high, share.standard_error, share.df))
        assert -1e-9 <= share.low <= share.share + 1e-9 and share.share - 1e-9 <= share.high <= 1 + 1e-9


def test_half_an_interval_by_t():
    # t at 0.975: 12.7062 and 2.2281 with 1 and 10 degrees of freedom (any table of t, such as Fisher & Yates)
    assert t_half(1, 4) == pytest.approx(2 * 12.7062, abs=1e-3) and t_half(10, 1) == pytest.approx(2.2281, abs=1e-4)
    assert t_half(5, 0) == 0


def test_the_spread_over_many_sites_is_that_of_the_sums_over_few(monkeypatch):
    """Own invented values: the same formula in plain sums, which the tests above compare with R."""
    random = np.random.default_rng(6)
    values, weights = random.random(400).tolist(), random.integers(1, 40, 400).tolist()
    found = site_spread(values, weights), site_spread([0.5] * 400, weights)
    monkeypatch.setattr(over_sites, "_MANY", 400)
    for mine, plain in zip(found, (site_spread(values, weights), site_spread([0.5] * 400, weights)), strict=True):
        assert mine == pytest.approx(plain, rel=1e-10)
    assert found[1].variance == 0
