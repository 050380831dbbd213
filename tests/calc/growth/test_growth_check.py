"""The check of the model of growth: against predictions without the cell, on right and wrong models, stored, and in words."""

import json

import numpy as np
import pytest
from scipy.stats import skewtest

from plantings.calc.fits.check import fit_check
from plantings.calc.growth.fit_words import means_fit_sentence
from plantings.calc.growth.growth import growth_of
from plantings.calc.growth.growth_values import growth_values, read_growth
from plantings.calc.growth.linear_model import GrowthCell, linear_fit, linear_residuals
from plantings.calc.survival.measured import MeasuredGroup


def cells_of(seed, lineages=8, sites=10, wrong=0.0, reaction=4.0, tail=None):
    """Own invented heights: 5 trees a cell on most sites, trees ± 15 cm, sites ± 20 cm."""
    random = np.random.default_rng(seed)
    of_site, found = random.normal(0, 20, sites), []
    for line in range(lineages):
        for site in range(sites):
            if random.random() < 0.15 and site:
                continue
            trees = 150 + 3 * line + of_site[site] + random.normal(0, reaction) + random.normal(0, 15, 5)
            if tail is not None:
                trees = trees + random.exponential(tail) - tail
            if wrong and (line, site) == (2, 0):
                trees = trees + wrong
            found.append(GrowthCell(f"L{line}", f"S{site}", 5, trees.mean(), ((trees - trees.mean()) ** 2).sum()))
    return found


def test_a_mean_is_predicted_as_by_the_other_cells_alone():
    """Kriging with matrices written out: generalised least squares and the covariance with the cell, of all cells but it."""
    cells = [*cells_of(3, 4, 5), GrowthCell("alone", "S1", 3, 140.0, 90.0)]
    fit = linear_fit(cells)
    assert fit.site_sd > 0
    found, places = linear_residuals(cells, fit)
    assert places == list(range(len(cells) - 1))  # nothing else is known of the lineage on one site
    design = np.array([[float(cell.lineage == label) for label in fit.lineages] for cell in cells])
    site = np.array([[float(a.site == b.site) for b in cells] for a in cells])
    n, mean = np.array([cell.n for cell in cells]), np.array([cell.mean for cell in cells])
    whole = fit.site_sd**2 * site + np.diag(fit.reaction_sd**2 + fit.tree_sd**2 / n)
    for cell in places:
        others = [k for k in range(len(cells)) if k != cell]
        used = [k for k, label in enumerate(fit.lineages) if design[others, k].any()]
        x, y, inverse = design[np.ix_(others, used)], mean[others], np.linalg.inv(whole[np.ix_(others, others)])
        spread = np.linalg.inv(x.T @ inverse @ x)
        beta, beside = spread @ x.T @ inverse @ y, inverse @ whole[others, cell]
        expected = design[cell, used] @ beta + beside @ (y - x @ beta)
        gap = design[cell, used] - x.T @ beside
        variance = whole[cell, cell] - whole[cell, others] @ beside + gap @ spread @ gap
        assert found.expected[cell] == pytest.approx(expected)
        assert found.errors[cell] == pytest.approx((mean[cell] - expected) / np.sqrt(variance))


def test_the_skewness_is_that_of_scipy():
    cells = cells_of(5)
    found, _places = linear_residuals(cells, linear_fit(cells))
    check = fit_check(found, None, with_skewness=True)
    assert check.skewness_p == pytest.approx(skewtest(found.errors).pvalue) and check.limit == pytest.approx(0.05 / 3)
    assert check.expected == pytest.approx(0.0455 * len(cells), rel=1e-3)


def check_of(**how):
    cells = cells_of(**how)
    found, _places = linear_residuals(cells, linear_fit(cells))
    return fit_check(found, None, with_skewness=True)


def test_a_right_model_seldom_fails_and_a_wrong_one_often():
    """40 runs; more of them in tests/benchmarks/model_check.py. A rate of 0.05 fails more than 6 of 40 times in 1 of 100 tests."""
    assert sum(not check_of(seed=seed).fits for seed in range(40)) <= 6
    assert sum(check_of(seed=seed, wrong=60.0).too_far for seed in range(10)) >= 8
    assert sum(check_of(seed=seed, tail=25.0).is_skewed for seed in range(10)) >= 7


def by_age(cells):
    """Trees of a cell as they are read: the value and how many have it, so that mean and spread are those of the cell."""
    found = []
    for cell in cells:
        half = float(np.sqrt(cell.squares / 4))
        for value, trees in ((cell.mean - half, 2), (cell.mean + half, 2), (cell.mean, 1)):
            found.append(MeasuredGroup((cell.lineage,), "test", "", False, cell.site, cell.site, value, trees))
    return {5: found, 2: [one for one in found if one.site in ("S1", "S2")]}


def test_growth_names_the_furthest_mean_in_words():
    growth = growth_of(by_age(cells_of(1, wrong=80.0)))
    assert list(growth.checks) == [5]  # at 2 there is no model: two sites
    check, far = growth.checks[5], growth.checks[5].furthest
    assert (far.label, far.site, far.n, check.too_far) == ("L2", "S0", 5, True) and far.observed > far.expected + 50
    said = means_fit_sentence(check, 5, "cm")
    assert said.startswith("After 5 growing seasons the model does not describe the means. Of ")
    assert f"Furthest: L2 at S0, {far.observed:.0f} cm (5 trees) where {far.expected:.0f} is expected." in said
    assert said.endswith("Compare the means on the single sites before you rely on these.")
    right = growth_of(by_age(cells_of(2))).checks[5]
    assert right.fits and means_fit_sentence(right, 5, "cm").startswith("After 5 growing seasons the model describes the means. Of ")


def test_stored_growth_has_its_checks_and_that_stored_before_has_none():
    growth = growth_of(by_age(cells_of(1)))
    stored = json.loads(json.dumps(growth_values(growth)))
    assert growth.checks and read_growth(stored) == growth
    del stored["checks"]
    assert read_growth(stored).checks == {} and read_growth(stored).grown == growth.grown
