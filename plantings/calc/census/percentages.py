"""Whether numbers that are to be counts of living trees look like percentages of survival.

A percentage taken for a count makes trees that never were. It can only be mistaken where a plot has at least 100 planted: otherwise some
percentage is more than was planted, and is refused for that. So the question is asked where every plot of a column has the same number
planted, 100 or more, or an unknown one, and no value is above 100; and then where the header speaks of survival, or the values look like
it:

* at least 6 of 10 of them are multiples of 5. Of counts about 2 in 10 are: among 20 independent counts, 12 such happen in one of 10,000
  cases (binomial, n = 20, p = 0.2);
* or at least 1 in 20 of them, and at least 3, are exactly 100 while another is below 80: nearly all alive, so often, beside a plot that
  lost a fifth.

Where the number planted is unknown the values have to reach 50 as well: small counts are often 0, 5 or 10.

Fewer than 20 values say nothing by themselves, and percentages of plots with 25 trees or more are told by their header alone. A header that
says count or number is believed; whoever has counts under another one declares it in the mapping.

Source
------
A definition of this programme. The limits were chosen for few false alarms; no source.
"""

import re
from collections.abc import Sequence

UNKNOWN_REACHES = 50
VALUES_MIN, FIVES_SHARE, FULL_SHARE, FULL_MIN, LOST_BELOW = 20, 0.6, 0.05, 3, 80
_RATE = re.compile(r"surv(?!ey)|percent|pct|%|\brate\b|proportion|\bshare\b", re.IGNORECASE)
_SURVIVAL = re.compile(r"surv(?!ey)", re.IGNORECASE)
_COUNT = re.compile(r"count|number|\bno\b|\bn\b|#", re.IGNORECASE)


def names_a_rate(header: str) -> bool:
    """Whether a header speaks of a percentage or a rate, and not of a count.

    Examples
    --------
    >>> [names_a_rate(header) for header in ("Surv", "% alive", "Surviving (count)", "Survey date", "Alive")]
    [True, True, False, False, False]
    """
    return bool(_RATE.search(header)) and not says_count(header)


def names_survival(header: str) -> bool:
    """Whether a header speaks of survival, and not of a count of survivors.

    Examples
    --------
    >>> [names_survival(header) for header in ("Surv", "% cover", "Survivors (count)")]
    [True, False, False]
    """
    return bool(_SURVIVAL.search(header)) and not says_count(header)


def says_count(header: str) -> bool:
    """Whether a header says that its numbers are counts.

    Examples
    --------
    >>> [says_count(header) for header in ("Alive (count)", "No. alive", "Surv")]
    [True, True, False]
    """
    return bool(_COUNT.search(header))


def look_like_percentages(values: Sequence[int], planted: Sequence[int | None], header: str = "") -> bool:
    """Whether a column of counts of living trees looks like percentages.

    Parameters
    ----------
    values : sequence of int
        Counts of living trees or seedlings, 0 or more.
    planted : sequence of int or None
        How many were planted in the plot of each, 1 or more; None where nobody knows.
    header : str
        What the column is called.

    Returns
    -------
    bool

    Examples
    --------
    >>> look_like_percentages([90, 85, 100, 70, 65] * 4, [100] * 20)
    True
    >>> look_like_percentages([91, 83, 88, 72, 64] * 4, [100] * 20)
    False
    """
    if says_count(header) or not values or len(set(planted)) != 1 or max(values) > 100:
        return False
    is_unknown = planted[0] is None
    if planted[0] is not None and planted[0] < 100:
        return False
    if names_a_rate(header):
        return True
    if len(values) < VALUES_MIN or (is_unknown and max(values) < UNKNOWN_REACHES):
        return False
    fives = sum(value % 5 == 0 for value in values)
    full = sum(value == 100 for value in values)
    is_full_often = full >= max(FULL_MIN, FULL_SHARE * len(values)) and min(values) < LOST_BELOW
    return fives >= FIVES_SHARE * len(values) or is_full_often
