"""A share of a count, and how far it can be trusted."""

from dataclasses import dataclass
from functools import cache, lru_cache
from math import isfinite, sqrt
from statistics import NormalDist


@dataclass(frozen=True, slots=True)
class ShareInterval:
    """A share with its interval, all between 0 and 1, and the number it comes from."""

    share: float
    low: float
    high: float
    n: int


def wilson_interval(successes: int, n: int, confidence: float = 0.95) -> ShareInterval:
    """A share with Wilson's score interval.

    Parameters
    ----------
    successes, n : int
        Seeds or plants with the character, and those looked at; n is at least 1.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    ShareInterval
        Share and both ends, 0 to 1.

    Raises
    ------
    ValueError
        As for `score_limits`.

    Source
    ------
    Wilson 1927, J. Am. Stat. Assoc. 22:209-212; method 3 of Newcombe 1998, Stat. Med. 17:857-872.

    Examples
    --------
    >>> found = wilson_interval(81, 263)
    >>> round(found.low, 4), round(found.high, 4)
    (0.2553, 0.3662)
    """
    low, high = score_limits(successes, n, confidence)
    return ShareInterval(successes / n, low, high, n)


@lru_cache(maxsize=4_096)  # a survival table computes the same few proportions many times
def score_limits(successes: float, n: float, confidence: float = 0.95) -> tuple[float, float]:
    """Both ends of Wilson's score interval for a share.

    Parameters
    ----------
    successes : number, 0 to n
        Items with the character. It may be a fraction: an effective sample is one.
    n : number above 0
        Items looked at.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    tuple of two floats
        Lower and upper end, 0 to 1.

    Raises
    ------
    ValueError
        When n is 0, successes lies outside 0 to n, a value is not finite, or confidence lies outside (0, 1).

    Notes
    -----
    Chosen over estimate ± 1.96 standard errors because it stays inside 0 to 1 and keeps its coverage when n is small or
    the share is near 0 or 1. No continuity correction. Items are taken as independent draws. With no successes the lower
    end is exactly 0, with n successes the upper end is exactly 1.

    Source
    ------
    Wilson 1927, J. Am. Stat. Assoc. 22:209-212; method 3 of Newcombe 1998, Stat. Med. 17:857-872.

    Examples
    --------
    >>> [round(end, 4) for end in score_limits(0, 20)]
    [0.0, 0.1611]
    """
    check_count(successes, n)
    z = _normal_quantile(confidence)
    if n == 0:
        raise ValueError("Nothing was counted, so there is no share. Give a count of 1 or more.")
    low, high = score_ends(successes / n, n, z)
    # The ends that are exact in theory are set, so that rounding cannot move them.
    return 0.0 if successes == 0 else low, 1.0 if successes == n else high


def score_ends(share: float, n: float, quantile: float) -> tuple[float, float]:
    """Both ends of Wilson's score interval for a given quantile, which may be that of t.

    Parameters
    ----------
    share : float
        0 to 1.
    n : number above 0
        Items looked at, or the number of independent items that tell as much.
    quantile : float
        Of the distribution of the score, such as 1.96.

    Returns
    -------
    tuple of two floats
        Lower and upper end, 0 to 1 but for rounding.

    Source
    ------
    Wilson 1927, J. Am. Stat. Assoc. 22:209-212.

    Examples
    --------
    >>> [round(end, 4) for end in score_ends(0.5, 20, 1.96)]
    [0.2993, 0.7007]
    """
    spread = quantile * quantile / n
    centre = share + spread / 2
    half = quantile * sqrt((share * (1 - share) + spread / 4) / n)
    return (centre - half) / (1 + spread), (centre + half) / (1 + spread)


def check_count(successes: float, n: float) -> None:
    """Make sure that `successes` of `n` can be a count.

    Parameters
    ----------
    successes, n : number
        Items with the character, and items looked at; n may be 0.

    Raises
    ------
    ValueError
        When successes lies outside 0 to n, or n is not finite.

    Source
    ------
    Definition of this programme: a part is never larger than its total.
    """
    if not (isfinite(n) and 0 <= successes <= n):
        raise ValueError(f"{successes} of {n} is not a count. Give a number from 0 up to the number looked at.")


def check_confidence(confidence: float) -> None:
    """Make sure that a confidence lies between 0 and 1.

    Parameters
    ----------
    confidence : float
        Between 0 and 1, both excluded.

    Raises
    ------
    ValueError
        When it does not.

    Source
    ------
    Definition of this programme: a confidence is a share, never a percentage.
    """
    if not 0 < confidence < 1:
        raise ValueError(f"The confidence is {confidence}. Give a number between 0 and 1, such as 0.95.")


def check_share(name: str, value: float, above_zero: bool = False) -> float:
    """The share itself, once it is known to lie within 0 to 1.

    Parameters
    ----------
    name : str
        What the share is of, for the message.
    value : float
        A share, 0 to 1; never a percentage.
    above_zero : bool
        Whether 0 is refused too.

    Returns
    -------
    float
        The value as given.

    Raises
    ------
    ValueError
        When it lies outside; a number over 1 up to 100 is named as a likely percentage.

    Source
    ------
    Definition of this programme: shares are stored as 0 to 1.

    Examples
    --------
    >>> check_share("purity", 0.98)
    0.98
    """
    if isfinite(value) and 1 < value <= 100:
        raise ValueError(f"The {name} is {value:g}, which looks like a percentage. Write {value / 100:g}.")
    if not (isfinite(value) and (value > 0 if above_zero else value >= 0) and value <= 1):
        raise ValueError(f"The {name} is {value:g}. Give a share {'above 0 and up to' if above_zero else 'from 0 to'} 1.")
    return value


@cache
def _normal_quantile(confidence: float) -> float:
    check_confidence(confidence)
    return NormalDist().inv_cdf((1 + confidence) / 2)
