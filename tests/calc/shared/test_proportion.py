"""One share and its interval, against a published table and a second program."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint

from plantings.calc.survival.proportions import wilson
from registry.calc.shared.proportion import check_count, check_share, score_limits, wilson_interval

counted = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
confidences = st.sampled_from([0.8, 0.9, 0.95, 0.99])

# Newcombe 1998, Stat. Med. 17:857-872, table I, method 3 (from memory); the sixth decimal from R 4.2.2,
# prop.test(x, n, correct=FALSE).
PUBLISHED = [
    (81, 263, 0.255289, 0.366210),
    (15, 148, 0.062386, 0.160487),
    (0, 20, 0.0, 0.161125),
    (1, 29, 0.006113, 0.171755),
    (29, 29, 0.883030, 1.0),
]


@pytest.mark.parametrize(("successes", "n", "low", "high"), PUBLISHED)
def test_the_interval_is_the_published_one(successes, n, low, high):
    assert score_limits(successes, n) == (pytest.approx(low, abs=5e-7), pytest.approx(high, abs=5e-7))


@given(counted, confidences)
def test_the_interval_agrees_with_statsmodels(count, confidence):
    low, high = proportion_confint(*count, alpha=1 - confidence, method="wilson")
    assert score_limits(*count, confidence) == (pytest.approx(low, abs=1e-9), pytest.approx(high, abs=1e-9))


@given(counted, confidences)
def test_seeds_and_trees_have_the_same_interval(count, confidence):
    of_seeds, of_trees = wilson_interval(*count, confidence), wilson(*count, confidence)
    assert (of_seeds.low, of_seeds.high) == (of_trees.low, of_trees.high)
    assert of_seeds.low <= of_seeds.share == count[0] / count[1] <= of_seeds.high


def test_the_ends_are_exact_when_none_or_all_have_it():
    assert (wilson_interval(0, 40).low, wilson_interval(40, 40).high) == (0.0, 1.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: wilson_interval(0, 0),
        lambda: wilson_interval(5, 4),
        lambda: wilson_interval(1, 4, 1.0),
        lambda: score_limits(1, float("inf")),
        lambda: check_count(-1, 4),
        lambda: check_share("purity", -0.1),
        lambda: check_share("purity", 0, above_zero=True),
    ],
)
def test_shares_that_cannot_be_are_refused(call):
    with pytest.raises(ValueError, match="Give"):
        call()


def test_a_percentage_given_as_a_share_is_named():
    with pytest.raises(ValueError, match=r"looks like a percentage\. Write 0\.98"):
        check_share("purity", 98)
