"""The check of the mixed model: against fits and integrals without the cell, on right and wrong models, and in words."""

import json

import numpy as np
import pytest
from scipy.special import expit
from scipy.stats import binom, norm

from plantings.calc.fits.check import Cell, FitCheck, binomial_residuals, fit_check, furthest_of
from plantings.calc.lineages.compare import compare_lineages
from plantings.calc.lineages.fit_words import counts_fit_sentence
from plantings.calc.lineages.lineage_model import lineage_cells, lineage_fit, lineage_fit_check
from plantings.calc.lineages.mixed_model import mixed_fit
from plantings.calc.lineages.model_answer import model_answer, read_answer
from plantings.calc.lineages.words import method_sentences
from tests.calc.lineages.test_compare import SPREAD, tally, trial

ALIVE, N = [14, 11, 17, 4, 12, 15, 9, 13], [20, 18, 22, 20, 17, 20, 15, 19]


def test_without_random_effects_a_cell_is_predicted_as_by_a_fit_without_it():
    """statsmodels fits the plain logistic model to the other cells; leaving one out by Laplace's approximation comes near it."""
    import statsmodels.api as sm

    kind = np.array([0, 0, 0, 0, 1, 1, 1, 1.0])
    fixed = np.column_stack([1 - kind, kind])
    fit = mixed_fit(ALIVE, [20] * 8, fixed, {"site": [0, 0, 1, 1, 1, 0, 0, 1]})
    assert fit.singular == ("site",)
    found = binomial_residuals(ALIVE, [20] * 8, fit.logits, fit.logit_variances)
    for cell in range(8):
        others = np.arange(8) != cell
        counts = np.column_stack([ALIVE, 20 - np.array(ALIVE)])[others]
        alone = sm.GLM(counts, fixed[others], family=sm.families.Binomial()).fit()
        logit, error = fixed[cell] @ alone.params, np.sqrt(fixed[cell] @ alone.cov_params() @ fixed[cell])
        share = norm.expect(expit, loc=logit, scale=error)
        assert found.expected[cell] == pytest.approx(share, abs=0.01)
        spread = 20 * norm.expect(lambda x: expit(x) * (1 - expit(x)), loc=logit, scale=error)
        spread += 400 * norm.expect(lambda x, share=share: (expit(x) - share) ** 2, loc=logit, scale=error)
        assert found.errors[cell] == pytest.approx((ALIVE[cell] - 20 * share) / np.sqrt(spread), abs=0.15)


def test_a_cell_is_predicted_as_by_the_exact_integral_over_the_others():
    """The mean and the effects of four sites are integrated over grids, given the other cells and the fitted standard deviation."""
    sites = np.array([0, 0, 1, 1, 2, 2, 3, 3])
    alive, n = np.array([14, 11, 5, 6, 12, 15, 9, 8]), np.array(N)
    fit = mixed_fit(alive, n, np.ones((8, 1)), {"site": sites})
    deviation = fit.deviations["site"]
    assert deviation > 0.2
    found = binomial_residuals(alive, n, fit.logits, fit.logit_variances)
    means, effects = np.linspace(-3, 4, 281), np.linspace(-5, 5, 201) * deviation
    share = expit(means[:, None] + effects)
    prior = norm.pdf(effects, scale=deviation)
    for cell in range(8):
        of_site = [
            np.prod([binom.pmf(alive[k], n[k], share) for k in range(8) if k != cell and sites[k] == site], axis=0) * prior
            for site in range(4)
        ]
        weight = of_site[sites[cell]] * np.prod([of_site[s].sum(axis=1) for s in range(4) if s != sites[cell]], axis=0)[:, None]
        weight /= weight.sum()
        chances = [float((weight * binom.pmf(count, n[cell], share)).sum()) for count in range(n[cell] + 1)]
        mean = chances @ np.arange(n[cell] + 1)
        error = np.sqrt(chances @ (np.arange(n[cell] + 1) - mean) ** 2)
        assert n[cell] * found.expected[cell] == pytest.approx(mean, abs=0.35)
        assert found.errors[cell] == pytest.approx((alive[cell] - mean) / error, abs=0.15)
        tail = 2 * min(sum(chances[: alive[cell] + 1]), sum(chances[alive[cell] :]))
        assert found.p[cell] == pytest.approx(min(1, tail), abs=0.04)


def test_the_variances_of_cells_are_those_of_the_full_matrix():
    """(X Z)(M'WM + 1/variances)⁻¹(X Z)' written out, with M = (X Z)."""
    random = np.random.default_rng(4)
    first, second = np.repeat(np.arange(5), 4), np.tile(np.arange(4), 5)
    n, fixed = np.full(20, 12), np.column_stack([second > 0, second == 0]).astype(float)
    eta = random.normal(0, 0.9, 5)[first] + random.normal(0, 0.7, 4)[second]
    fit = mixed_fit(random.binomial(n, expit(eta)), n, fixed, {"a": first, "b": second})
    assert not fit.singular
    whole = np.column_stack([fixed, np.eye(5)[first], np.eye(4)[second]])
    share = expit(fit.logits)
    inside = whole.T @ ((n * share * (1 - share))[:, None] * whole)
    inside += np.diag(np.repeat([0, fit.deviations["a"] ** -2, fit.deviations["b"] ** -2], [2, 5, 4]))
    assert fit.logits == pytest.approx(whole @ np.concatenate([fit.fixed, fit.modes["a"], fit.modes["b"]]))
    assert fit.logit_variances == pytest.approx(np.diag(whole @ np.linalg.inv(inside) @ whole.T))


def test_the_chance_to_lie_far_is_that_of_whole_trees():
    """scipy's binomial: of a logit known exactly, ten trees at 0.5 lie further than 2 × 1.58 from 5 as 0, 1, 9 or 10 alive."""
    found = binomial_residuals([5, 2], [10, 2], [0.0, 0.0], [1e-9, 1e-9])
    assert found.chance == pytest.approx([2 * binom.cdf(1, 10, 0.5), 0], abs=1e-6)
    assert found.p == pytest.approx([1, 0.5], abs=1e-6)  # 2 of 2 alive has a chance of 1 in 4


def checked(seed, spread=0.0, wrong=False):
    """The check of own invented counts: 8 lineages on 8 sites with 2 plantings each, 15 trees a cell."""
    random = np.random.default_rng(seed)
    site, part, line = (axis.ravel() for axis in np.meshgrid(range(8), range(2), range(8), indexing="ij"))
    eta = 0.5 + random.normal(0, 0.8, 8)[site] + random.normal(0, 0.5, 8)[line] + random.normal(0, 0.3, 64)[8 * site + line]
    alive = random.binomial(15, expit(eta + random.normal(0, 0.3, 16)[2 * site + part] + random.normal(0, spread, len(eta))))
    where = int(np.argmax(alive))
    if wrong:
        alive[where] = 0
    tallies = [
        tally(f"L{line[k]}", f"S{site[k]}", int(alive[k]), 15)._replace(planting=f"P-{site[k]}-{part[k]}") for k in range(len(alive))
    ]
    cells = lineage_cells(tallies)
    return lineage_fit_check(cells, lineage_fit(cells)), (f"L{line[where]}", f"P-{site[where]}-{part[where]}")


def test_a_right_model_passes():
    """More of them in tests/benchmarks/model_check.py; at a rate of 0.05, two of four fail in 1 of 70 tests."""
    found = [checked(seed)[0] for seed in range(4)]
    assert sum(not one.fits for one in found) <= 1 and {one.cells for one in found} == {128}
    assert all(4 < one.expected < 7 for one in found)  # 128 × 0.0455 = 5.8, a little less or more as trees are whole


def test_counts_with_extra_spread_fail():
    for seed in range(2):
        found, _cell = checked(seed, spread=1.0)
        assert found.too_many and not found.fits and found.beyond > 2 * found.expected


def test_one_wrong_count_is_found_and_named():
    found, (label, planting) = checked(1, wrong=True)
    assert found.too_far and not found.fits
    assert (found.furthest.label, found.furthest.planting, found.furthest.observed, found.furthest.n) == (label, planting, 0, 15)
    assert found.furthest.expected > 8
    said = counts_fit_sentence(found, has_native=True)
    assert said.startswith("The model does not describe the counts. Of 128 counts of a lineage or check on a planting, ")
    assert f"Furthest: {label} at S{planting[2]} ({planting}), 0 of 15 alive where {found.furthest.expected:.1f} are expected." in said
    assert said.endswith("check the records of this count first. Read the differences as observed, not the shrunken order.")
    assert counts_fit_sentence(found, has_native=False).endswith("Read survival as observed, not the shrunken order.")


def test_a_comparison_says_whether_its_model_describes_the_counts():
    found = compare_lineages(trial(SPREAD))
    assert found.check.fits and found.check.cells == 42  # six lineages and the native check on six sites
    assert counts_fit_sentence(found.check, True) in method_sentences(found)
    assert "The model describes the counts. Of 42 counts of a lineage or check on a planting, " in " ".join(method_sentences(found))
    thin = compare_lineages(trial({"A": 1, "B": -1}))
    assert thin.check is None and "describe" not in " ".join(method_sentences(thin))


def test_an_answer_is_read_with_its_check_and_one_stored_before_without():
    cells = lineage_cells(trial(SPREAD))
    answer = model_answer(cells, sorted(SPREAD))
    stored = json.loads(json.dumps(answer.values()))
    assert isinstance(answer.check, FitCheck) and read_answer(stored) == answer
    del stored["check"]
    assert read_answer(stored).check is None and read_answer(stored).lineages == answer.lineages


def test_the_tests_are_those_of_scipy():
    from scipy.stats import poisson

    found = binomial_residuals([5, 10, 5, 0], [10] * 4, [0.0] * 4, [1e-9] * 4)
    check = fit_check(found, None)
    # 10 and 0 of 10 at 0.5 have p = 2 / 1,024; four times that is 0.0078
    assert (check.beyond, check.furthest_p, furthest_of(found) in (1, 3)) == (2, pytest.approx(8 / 1024, rel=1e-5), True)
    assert check.beyond_p == pytest.approx(poisson.sf(1, 4 * 22 / 1024), rel=1e-4)
    assert check.skewness is None and check.limit == 0.025


def test_few_counts_cannot_tell_that_a_model_is_right():
    few = binomial_residuals([5] * 29, [10] * 29, [0.0] * 29, [0.01] * 29)
    cell = Cell("", "A", "S1", "P-1", 10, 5, 5.0)
    check = fit_check(few, cell)
    assert check.fits and not check.can_tell
    assert counts_fit_sentence(check, True).startswith("There are too few counts to tell whether the model describes them. Of 29 counts")
    more = binomial_residuals([5] * 30, [10] * 30, [0.0] * 30, [0.01] * 30)
    assert fit_check(more, cell).can_tell
    wrong = binomial_residuals([0, 5], [10, 10], [0.0, 0.0], [1e-9, 1e-9])
    assert fit_check(wrong, cell).can_tell and not fit_check(wrong, cell).fits
