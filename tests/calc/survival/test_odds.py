"""Odds within sites and the exact interval against R, and what they say where nothing can be told."""

import pytest

from plantings.calc.survival.odds import ALL_ALIKE, NO_RATIO, clopper_pearson, odds_over_sites

# Bickel, Hammel & O'Connell 1975, as UCBAdmissions of R: admitted and applied, men and women, of six departments.
MEN, MEN_ALL = [512, 353, 120, 138, 53, 22], [825, 560, 325, 417, 191, 373]
WOMEN, WOMEN_ALL = [89, 17, 202, 131, 94, 24], [108, 25, 593, 375, 393, 341]


def test_the_common_ratio_and_both_tests_are_those_of_r():
    """R 4.2.2 mantelhaen.test without correction; Breslow-Day without Tarone's correction."""
    found = odds_over_sites(MEN, MEN_ALL, WOMEN, WOMEN_ALL)
    assert (found.ratio, found.low, found.high) == pytest.approx((0.9046968, 0.7719074, 1.0603298), abs=1e-6)
    assert (found.chi_square, found.p) == pytest.approx((1.524607, 0.2169237), abs=1e-6)
    assert (found.alike_chi_square, found.alike_df, found.alike_p) == pytest.approx((18.825514, 5, 0.002071), abs=1e-6)


def test_where_no_ratio_can_be_told_the_reason_is_said():
    assert odds_over_sites([5], [5], [7], [7]).reason == ALL_ALIKE == odds_over_sites([5], [9], [0], [0]).reason
    one = odds_over_sites([9], [9], [3], [9])
    assert (one.ratio, one.reason) == (None, NO_RATIO) and one.p < 0.01
    alone = odds_over_sites([6, 5], [9, 5], [3, 5], [9, 5])
    assert alone.ratio == pytest.approx(4) and alone.alike_p is None  # (6 · 6) / (3 · 3); the second site tells nothing
    assert odds_over_sites([4, 8], [8, 12], [5, 10], [10, 15]).alike_p == pytest.approx(1, abs=1e-9)
    with pytest.raises(ValueError):
        odds_over_sites([1], [2, 2], [1], [2])


# Newcombe 1998, Stat. Med. 17:857-872, Table I, exact method; the sixth decimal from R binom.test.
@pytest.mark.parametrize(
    ("successes", "n", "low", "high"),
    [
        (81, 263, 0.252737, 0.367622),
        (15, 148, 0.057844, 0.161650),
        (0, 20, 0, 0.168433),
        (1, 29, 0.000873, 0.177644),
        (29, 29, 0.880555, 1),
    ],
)
def test_the_exact_interval_is_the_published_one(successes, n, low, high):
    assert clopper_pearson(successes, n)[:2] == pytest.approx((low, high), abs=1e-6)


def test_the_exact_interval_without_trees_says_why():
    assert clopper_pearson(0, 0).reason == "no trees"
