"""A share of seeds and how far it can be trusted."""

from dataclasses import dataclass
from math import isfinite, sqrt
from statistics import NormalDist


@dataclass(frozen=True, slots=True)
class ShareInterval:
    """A share with its interval, all between 0 and 1."""

    share: float
    low: float
    high: float
    n: int


def wilson_interval(successes: int, n: int, confidence: float = 0.95) -> ShareInterval:
    """Wilson's score interval for a share of seeds.

    Parameters
    ----------
    successes, n : int
        Seeds with the character, and seeds looked at; n at least 1.
    confidence : float
        Between 0 and 1, both excluded.

    Raises
    ------
    ValueError
        When n is below 1, successes lies outside 0 to n, or confidence outside (0, 1).

    Notes
    -----
    Takes seeds as independent draws from the lot. With no successes the lower end is exactly 0, with n successes the upper exactly 1.

    Source
    ------
    Wilson 1927, J. Am. Stat. Assoc. 22:209-212; method 3 of Newcombe 1998, Stat. Med. 17:857-872.

    Examples
    --------
    >>> found = wilson_interval(81, 263)
    >>> round(found.low, 4), round(found.high, 4)
    (0.2553, 0.3662)
    """
    if n < 1:
        raise ValueError(f"The number of seeds is {n}. Give 1 or more.")
    if not 0 <= successes <= n:
        raise ValueError(f"{successes} of {n} seeds cannot be. Give a count from 0 to {n}.")
    if not 0 < confidence < 1:
        raise ValueError(f"The confidence is {confidence}. Give a number between 0 and 1, such as 0.95.")
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    share = successes / n
    spread = z * z / n
    half = sqrt(spread * (share * (1 - share) + spread / 4))
    low = 0.0 if successes == 0 else (share + spread / 2 - half) / (1 + spread)
    high = 1.0 if successes == n else (share + spread / 2 + half) / (1 + spread)
    return ShareInterval(share, low, high, n)


def check_share(name: str, value: float, above_zero: bool = False) -> float:
    """The share itself, once it is known to lie within 0 to 1.

    Raises
    ------
    ValueError
        When it does not (with `above_zero`: or is 0); a number over 1 up to 100 is named as a likely percentage.

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
