"""Scores on their scale, and between the checks of the day."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.orchard.ratings import Scale, compare, score_problem, standardised_position

# The composite score of one programme: 1 = resistant to 5 = very susceptible, quarter points in use (trade notes; common practice).
QUARTERS = Scale(Decimal(1), Decimal(5), Decimal("0.25"))


@pytest.mark.parametrize("score", ["1", "5", "3.25", "3.75", "4.00"])
def test_a_score_on_a_step_of_its_scale_is_good(score):
    assert score_problem(Decimal(score), QUARTERS) == ""


@pytest.mark.parametrize(
    ("score", "words"),
    [
        ("0.75", "is outside the scale (1 to 5 in steps of 0.25)"),
        ("5.25", "is outside the scale"),
        ("3.3", "Write 3.25 or 3.5"),
        ("4.9", "Write 4.75 or 5"),
    ],
)
def test_a_score_off_the_steps_says_what_to_write(score, words):
    assert words in score_problem(Decimal(score), QUARTERS)


@given(st.integers(0, 40), st.integers(-20, 20), st.sampled_from(["0.1", "0.25", "0.5", "1"]))
def test_a_scale_accepts_its_steps_but_not_half_steps(steps, lowest, step):
    step, lowest = Decimal(step), Decimal(lowest)
    scale = Scale(lowest, lowest + 41 * step, step)
    assert score_problem(lowest + steps * step, scale) == ""
    assert "between two steps" in score_problem(lowest + steps * step + step / 2, scale)


def test_the_checks_are_at_zero_and_one_on_either_scale():
    # by the definition: 0 = mean of the native checks, 1 = mean of the donor checks
    assert (standardised_position(4.5, 4.5, 1.5), standardised_position(1.5, 4.5, 1.5)) == (0, 1)
    assert (standardised_position(10, 10, 90), standardised_position(90, 10, 90)) == (0, 1)
    # donor 1-2, F1 about 3, native 4-5 on the composite score (trade notes): the F1 lies half-way
    assert standardised_position(3, 4.5, 1.5) == 0.5
    assert standardised_position(5, 4.5, 1.5) < 0 and standardised_position(1, 4.5, 1.5) > 1


@given(
    st.floats(-100, 100), st.floats(-100, 100), st.floats(-100, 100), st.floats(0.1, 10), st.floats(-50, 50), st.booleans()
)  # fmt: skip
def test_the_position_is_the_same_on_a_stretched_or_reversed_scale(score, native, donor, factor, shift, turned):
    if abs(native - donor) < 0.01:
        return
    factor = -factor if turned else factor
    moved = [factor * value + shift for value in (score, native, donor)]
    assert standardised_position(*moved) == pytest.approx(standardised_position(score, native, donor), rel=1e-6, abs=1e-6)


def test_a_reading_without_both_checks_is_not_comparable():
    assert compare(3, [], [1.0]).reason == "not comparable: no native check"
    assert compare(3, [], []).reason == "not comparable: no native and no donor check"
    same = compare(3, [2.0], [1.0, 3.0])
    assert (same.position, same.reason) == (None, "not comparable: both checks read the same")


def test_checks_of_a_kind_count_by_their_mean():
    found = compare(3.0, [4.0, 5.0], [1.0, 2.0], [3.0, 3.5])
    assert (found.native, found.donor, found.f1, found.position, found.reason) == (4.5, 1.5, 3.25, 0.5, "")
