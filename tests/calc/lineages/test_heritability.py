"""Heritability from the spread of families, against a simulation with known truth and small-variance arithmetic."""

import numpy as np
import pytest

from plantings.calc.lineages.compare import compare_lineages
from plantings.calc.lineages.heritability import NO_SPREAD, TOO_FAR_APART, TOO_FEW, family_heritability
from plantings.calc.lineages.heritability_words import heritability_sentences
from tests.calc.lineages.test_compare import trial


def test_a_small_variance_has_the_value_of_the_first_order():
    """4 s² p(1 - p), by the slope p(1 - p) of the logistic curve; times π/2 on the liability at one half (Dempster & Lerner 1950)."""
    found = family_heritability(0.0, 0.02, 0.1, {}, 40)
    assert found.observed[0] == pytest.approx(4 * 0.02**2 / 4, rel=1e-3)
    assert found.liability[0] == pytest.approx(found.observed[0] * np.pi / 2, rel=1e-6)
    assert found.observed[1] == pytest.approx(found.observed[0] * np.exp(-0.2 * 1.959964), rel=1e-3)


def test_the_observed_scale_is_that_of_simulated_half_sibs():
    """Of two trees of one family on two sites, the covariance of being alive is a quarter of the additive variance: 600,000 pairs."""
    random = np.random.default_rng(5)
    family, first, second = random.normal(0, (0.8, 0.6, 0.6), (600_000, 3)).T
    alive = [random.random(len(family)) < 1 / (1 + np.exp(-(0.7 + family + site))) for site in (first, second)]
    share = np.mean(alive)
    found = family_heritability(0.7, 0.8, 0.0, {"site": 0.6}, 40)
    assert found.alive == pytest.approx(share, abs=0.002)
    assert found.observed[0] == pytest.approx(4 * np.cov(*alive)[0, 1] / (share * (1 - share)), abs=0.02)


def test_where_it_cannot_be_told_the_page_says_why_and_what_is_needed():
    reasons = [family_heritability(0.0, *given).reason for given in ((0.5, 0.1, {}, 9), (0.0, 0.0, {}, 30), (3.0, 0.1, {}, 30))]
    assert reasons == [TOO_FEW, NO_SPREAD, TOO_FAR_APART]
    few = compare_lineages(trial({"A": 1.2, "B": 0.6, "C": 0.2, "D": -0.2, "E": -0.7, "F": -1.3})).heritability
    assert heritability_sentences(few) == [
        "Heritability cannot be told: fewer than 10 mothers in the order. Needed: Ten mothers or more, better thirty, each with trees on "
        "several sites."
    ]
    many = compare_lineages(trial({f"M{number}": value for number, value in enumerate(np.linspace(-0.7, 0.7, 12))})).heritability
    assert many.reason == "" and many.observed[1] < many.observed[0] < many.observed[2] and many.liability[0] > many.observed[0]
    assert heritability_sentences(many)[0].startswith("Heritability of being alive, from 12 mothers: 0.")
