"""Scores of resistance: whether a score lies on its scale, and where it lies between the checks rated the same day."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale of scores. `lowest`, `highest` and `step` are Decimal, so that a quarter point is exact."""

    lowest: Decimal
    highest: Decimal
    step: Decimal


@dataclass(frozen=True, slots=True)
class Comparison:
    """A reading beside the checks of its day.

    `native`, `donor` and `f1` are mean readings of the checks, None where none was rated; `position` is 0 at the native mean and 1 at
    the donor mean, None where `reason` says why there is none.
    """

    native: float | None
    donor: float | None
    f1: float | None
    position: float | None
    reason: str


def score_problem(score: Decimal, scale: Scale) -> str:
    """What is wrong with a score on a scale; empty when it lies on one of its steps.

    Parameters
    ----------
    score : Decimal
    scale : Scale

    Returns
    -------
    str
        A sentence; "" when nothing is wrong.

    Source
    ------
    Definition of this programme: a score is one of the steps of its scale.

    Examples
    --------
    >>> scale = Scale(Decimal(1), Decimal(5), Decimal("0.25"))
    >>> score_problem(Decimal("3.25"), scale)
    ''
    >>> score_problem(Decimal("3.3"), scale)
    'The score 3.3 is between two steps of the scale (1 to 5 in steps of 0.25). Write 3.25 or 3.5.'
    """
    span = f"{_decimal_words(scale.lowest)} to {_decimal_words(scale.highest)} in steps of {_decimal_words(scale.step)}"
    if not scale.lowest <= score <= scale.highest:
        return f"The score {_decimal_words(score)} is outside the scale ({span}). Read it again."
    over = (score - scale.lowest) % scale.step
    if not over:
        return ""
    below, above = score - over, min(score - over + scale.step, scale.highest)
    nearest = f"{_decimal_words(below)} or {_decimal_words(above)}"
    return f"The score {_decimal_words(score)} is between two steps of the scale ({span}). Write {nearest}."


def _decimal_words(value: Decimal) -> str:
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def standardised_position(score: float, native_mean: float, donor_mean: float) -> float | None:
    """Where a score lies between the same-day checks: 0 = mean of the native checks, 1 = mean of the donor checks.

    Parameters
    ----------
    score, native_mean, donor_mean : float
        Of one scale, one orchard and one day. The scale may run either way.

    Returns
    -------
    float or None
        May lie below 0 or above 1. None when both checks score the same: then the day distinguishes nothing.

    Notes
    -----
    A position of one day, not a measure of resistance: it takes over the error of both check means, and two diseases have two.

    Source
    ------
    Linear rescaling between two anchors; common practice, no source.

    Examples
    --------
    >>> standardised_position(3.0, 4.5, 1.5)
    0.5
    """
    if native_mean == donor_mean:
        return None
    return (score - native_mean) / (donor_mean - native_mean) + 0.0  # turns -0.0 into 0.0


def compare(reading: float, native: Sequence[float], donor: Sequence[float], f1: Sequence[float] = ()) -> Comparison:
    """A reading beside those of the checks of the same day and place: scores of one scale, or canker lengths in mm.

    Parameters
    ----------
    reading : float
        A score of the scale, or a canker length in mm.
    native, donor, f1 : sequence of float
        Readings of the checks, any number of each, on the same scale or in the same unit.

    Returns
    -------
    Comparison
        Means of the checks and the position of the reading between them; None and a reason where it is not comparable.

    Source
    ------
    Common practice of inoculation trials, no source: checks of the same day and place. Position: `standardised_position`.

    Examples
    --------
    >>> compare(3.0, [4.0, 5.0], [1.0, 2.0]).position
    0.5
    >>> compare(3.0, [4.0, 5.0], []).reason
    'not comparable: no donor check'
    """
    means = [sum(readings) / len(readings) if readings else None for readings in (native, donor, f1)]
    missing = [word for word, mean in zip(("native", "donor"), means, strict=False) if mean is None]
    if missing:
        return Comparison(*means, None, f"not comparable: no {' and no '.join(missing)} check")
    position = standardised_position(reading, means[0], means[1])
    return Comparison(*means, position, "not comparable: both checks read the same" if position is None else "")
