"""What is said of how far two records of the same trees agree.

`agreement_of_classes.py` works it out of statuses and classes, `agreement_of_readings.py` of heights and other readings. Where a
figure cannot be estimated it is None, and `reason` says why in words for a screen.
"""

from typing import NamedTuple

from registry.calc.shared.marked import gettext_noop

NO_PAIRS = gettext_noop("no tree has two records")
ONE_CLASS = gettext_noop("no disagreement possible to tell: both have recorded one and the same class everywhere")
ALL_AGREE = gettext_noop("both agree everywhere, which gives no interval")
FEW_KINDS = gettext_noop("too few kinds of records for an interval")
ONE_PAIR = gettext_noop("one tree only: a spread needs two")
NO_SPREAD = gettext_noop("all readings are the same: no difference between trees to compare with")
NOTHING = 1e-12  # what is left of a sum of squares that is 0, after rounding


class Kappa(NamedTuple):
    """Agreement of two records beyond chance, -1 to 1, with its standard error and interval; None and a reason where undefined.

    `agreed` of `pairs` trees have the same class in both records. Where the standard error is 0 there is an estimate and no interval.
    """

    estimate: float | None
    error: float | None
    low: float | None
    high: float | None
    agreed: int
    pairs: int
    reason: str = ""


class BiasAndSpread(NamedTuple):
    """Second reading less first, in the unit of the readings: mean, standard deviation, limits between which 95 % of differences lie."""

    bias: float | None
    spread: float | None
    low: float | None
    high: float | None
    pairs: int
    reason: str = ""


class Correlation(NamedTuple):
    """An intraclass correlation with its interval; None and a reason where it cannot be estimated."""

    estimate: float | None
    low: float | None
    high: float | None
    reason: str = ""


class Correlations(NamedTuple):
    """Intraclass correlations of single readings, where the observers differ from tree to tree (1,1), are a sample of those there
    might be (2,1), or are all there are (3,1)."""

    one_way: Correlation
    two_way: Correlation
    fixed: Correlation
