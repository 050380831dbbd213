"""Shares of trees and how far they can be trusted: one share, and two shares of separate trees."""

from math import sqrt

from plantings.calc.results import Difference, Interval
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.proportion import check_confidence, check_count, score_limits

NO_TREES = gettext_noop("no trees")


def wilson(successes: float, n: float, confidence: float = 0.95) -> Interval:
    """Wilson's score interval for a share of trees, or why there is none.

    Parameters
    ----------
    successes : number, 0 to n
        Trees with the character (alive, cankered).
    n : number, 0 or more
        Trees looked at.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Interval
        Both ends within 0 to 1. With n = 0 it is not estimable and says "no trees".

    Raises
    ------
    ValueError
        When successes lies outside 0 to n, a value is not finite, or confidence outside (0, 1).

    Source
    ------
    Wilson 1927, J. Am. Stat. Assoc. 22:209-212: `registry.calc.shared.proportion.score_limits`, which is used for seeds too.

    Examples
    --------
    >>> interval = wilson(81, 263)
    >>> round(interval.low, 4), round(interval.high, 4)
    (0.2553, 0.3662)
    >>> wilson(0, 0).reason
    'no trees'
    """
    if n == 0 == successes:
        check_confidence(confidence)
        return Interval(None, None, NO_TREES)
    return Interval(*score_limits(successes, n, confidence))


def newcombe_difference(successes_1: float, n_1: float, successes_2: float, n_2: float, confidence: float = 0.95) -> Difference:
    """First share minus second, with Newcombe's hybrid score interval (his method 10).

    Parameters
    ----------
    successes_1, n_1, successes_2, n_2 : number
        Trees with the character and trees looked at, in two separate sets of trees.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    Difference
        Not estimable, with the reason, when either set has no trees.

    Raises
    ------
    ValueError
        As for `wilson`.

    Notes
    -----
    Takes trees as independent. Where both sets are on the same few sites the interval is too
    narrow, since trees within a site share its fate.

    Source
    ------
    Newcombe 1998, Stat. Med. 17:873-890, method 10.

    Examples
    --------
    >>> difference = newcombe_difference(56, 70, 48, 80)
    >>> [round(x, 4) for x in (difference.estimate, difference.low, difference.high)]
    [0.2, 0.0524, 0.3339]
    """
    check_count(successes_1, n_1)
    check_count(successes_2, n_2)
    check_confidence(confidence)
    if n_1 == 0 or n_2 == 0:
        which = "either set" if n_1 == n_2 else "the first set" if n_1 == 0 else "the second set"
        return Difference(None, None, None, f"{NO_TREES} in {which}")
    share_1, share_2 = successes_1 / n_1, successes_2 / n_2
    return Difference(share_1 - share_2, *newcombe_ends(share_1, share_2, n_1, n_2, confidence))


def newcombe_ends(share_1: float, share_2: float, n_1: float, n_2: float, confidence: float = 0.95) -> tuple[float, float]:
    """Both ends of Newcombe's hybrid score interval for the first share minus the second.

    Parameters
    ----------
    share_1, share_2 : float
        0 to 1.
    n_1, n_2 : number above 0
        Trees behind each share; an effective number may be a fraction.
    confidence : float
        Between 0 and 1, both excluded.

    Returns
    -------
    tuple of two floats
        Lower and upper end, -1 to 1.

    Raises
    ------
    ValueError
        As for `score_limits`.

    Source
    ------
    Newcombe 1998, Stat. Med. 17:873-890, method 10.

    Examples
    --------
    >>> [round(end, 4) for end in newcombe_ends(0.8, 0.6, 70, 80)]
    [0.0524, 0.3339]
    """
    # a weighted share may pass 0 or 1 by rounding
    low_1, high_1 = score_limits(min(share_1, 1.0) * n_1, n_1, confidence)
    low_2, high_2 = score_limits(min(share_2, 1.0) * n_2, n_2, confidence)
    estimate = share_1 - share_2
    below = sqrt((share_1 - low_1) ** 2 + (high_2 - share_2) ** 2)
    above = sqrt((high_1 - share_1) ** 2 + (share_2 - low_2) ** 2)
    return estimate - below, estimate + above
