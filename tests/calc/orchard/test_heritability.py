"""Heritability of binary traits. Source unless named: Dempster & Lerner 1950, Genetics 35:212, Robertson's appendix (from memory), computed apart."""

import pytest

from registry.calc.orchard.heritability import (
    liability_factor,
    liability_heritability,
    logit_heritability,
    selection_intensity,
    threshold_height,
)


@pytest.mark.parametrize(
    ("incidence", "factor", "observed", "liability"),
    [(0.5, 1.570796, 0.25, 0.392699), (0.1, 2.922110, 0.05, 0.146105), (0.2, 2.041372, 0.10, 0.204137)],
)
def test_heritability_of_the_liability(incidence, factor, observed, liability):
    assert liability_factor(incidence) == pytest.approx(factor, abs=6e-7)
    assert liability_heritability(observed, incidence) == pytest.approx(liability, abs=6e-7)


def test_factor_of_a_rare_trait():
    assert liability_factor(0.02) == pytest.approx(8.360648, abs=6e-7)
    assert liability_factor(0.98) == pytest.approx(liability_factor(0.02))


def test_height_and_intensity_of_a_truncated_normal():
    assert [threshold_height(p) for p in (0.1, 0.2)] == pytest.approx([0.175498, 0.279962], abs=6e-7)
    assert [selection_intensity(p) for p in (0.1, 0.2)] == pytest.approx([1.754983, 1.399810], abs=6e-7)


@pytest.mark.parametrize(
    ("variance", "families", "other", "expected"),
    [
        (0.1, "half sibs", 0, 0.117999),
        (0.2, "half sibs", 0, 0.229235),
        (0.1, "full sibs", 0, 0.058999),
        (0.2, "full sibs", 0, 0.114618),
        (0.2, "half sibs", 0.5, 0.200508),
    ],
)
def test_heritability_on_the_logit_scale(variance, families, other, expected):
    # 4 or 2 times the family variance over family + other + pi^2/3, computed apart: common practice, no source
    assert logit_heritability(variance, families, other) == pytest.approx(expected, abs=6e-7)


@pytest.mark.parametrize(
    ("work", "message"),
    [
        (lambda: liability_factor(0), "incidence is 0"),
        (lambda: selection_intensity(1), "incidence is 1"),
        (lambda: liability_heritability(1.2, 0.5), "observed heritability"),
        (lambda: logit_heritability(-0.1), "variance among families"),
        (lambda: logit_heritability(0.1, other_variance=float("nan")), "other variance"),
        (lambda: logit_heritability(0.1, "cousins"), "half sibs, full sibs"),
    ],
)
def test_values_outside_their_range_are_refused(work, message):
    with pytest.raises(ValueError, match=message):
        work()
