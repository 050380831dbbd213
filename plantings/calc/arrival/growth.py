"""How the trees of one planting grew since their last readings: what a single reading is set beside."""

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median
from typing import NamedTuple

from plantings.calc.census.changes import growing, years_between
from plantings.calc.census.codes import ALIVE
from plantings.calc.census.limits import LIMITS, CheckLimits
from plantings.calc.census.measurements import HEIGHT, WARNING, Measurement, value_of
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.calc.results import Finding
from registry.calc.shared.marked import gettext_noop

FEWEST_TREES = 10
_STEP = 0.1
_MAD_TO_SD = 1.4826  # the median absolute deviation of normal values times this is their standard deviation


@dataclass(frozen=True, slots=True)
class Arrived:
    """One record of a round as it is checked: where its tree is, what was recorded, what is known of the tree from earlier rounds.

    `key` is the caller's own name of the tree; `row` and `position` are whole numbers, or both None; `record` is a SeenRow or a record
    with the same fields.
    """

    key: int
    tag: str
    record: SeenRow
    last: LastSeen
    observer: str = ""
    block: str = ""
    row: int | None = None
    position: int | None = None


class UsualGrowth(NamedTuple):
    """Growth of one measurement a year, in its unit: the median of the trees, their standard deviation, and how many trees."""

    median: float
    spread: float
    trees: int


def tree_growth(record: SeenRow, last: LastSeen, item: Measurement) -> float | None:
    """How much a tree grew in a year since its last reading.

    Parameters
    ----------
    record : SeenRow
    last : LastSeen
    item : Measurement

    Returns
    -------
    float, unit of the measurement a year, below 0 for a loss; None without two readings of it

    Source
    ------
    A definition of this programme.

    Examples
    --------
    >>> from datetime import date
    >>> from plantings.calc.census.measurements import HEIGHT
    >>> record = SeenRow(status="A", observed_on=date(2026, 9, 1), height_cm=150)
    >>> tree_growth(record, LastSeen("A", {"height_cm": (100, date(2024, 9, 1))}), HEIGHT)
    25.0
    """
    reading = value_of(record, item)
    if reading is None or item.field not in last.readings:
        return None
    earlier, earlier_on = last.readings[item.field]
    return round((float(reading) - float(earlier)) / years_between(earlier_on, record.observed_on), 1)


def planting_growth(arrived: Iterable[Arrived], limits: CheckLimits = LIMITS, own: Iterable[Measurement] = ()) -> dict[str, UsualGrowth]:
    """The growth of each measurement over the trees alive on their own stem at both visits.

    Parameters
    ----------
    arrived : iterable of Arrived
    limits : CheckLimits
        The spread is at least the loss that a reading may have by itself, and a tenth of the unit, to which growth is rounded.
    own : iterable of Measurement
        The programme's own measurements.

    Returns
    -------
    dict of {field of the measurement: UsualGrowth}
        Without measurements of which fewer than `FEWEST_TREES` trees have two readings.

    Source
    ------
    Median absolute deviation as a spread that single wrong readings do not move: Hampel 1974, J. Am. Stat. Assoc. 69:383-393 (from memory).
    """
    found = {}
    arrived = [one for one in arrived if one.record.status == "A" and one.last.status in ALIVE]
    for item in growing(own):
        grown = [growth for one in arrived if (growth := tree_growth(one.record, one.last, item)) is not None]
        if len(grown) >= FEWEST_TREES:
            middle = median(grown)
            spread = _MAD_TO_SD * median(abs(growth - middle) for growth in grown)
            found[item.field] = UsualGrowth(middle, max(spread, limits.growth_of(item).loss, _STEP), len(grown))
    return found


def leap_findings(
    one: Arrived, growth: dict[str, UsualGrowth], limits: CheckLimits = LIMITS, own: Iterable[Measurement] = ()
) -> tuple[Finding, ...]:
    """A warning for each reading that grew far more than the trees of its planting did.

    Parameters
    ----------
    one : Arrived
    growth : dict of {field: UsualGrowth}
        As `planting_growth` gives it.
    limits : CheckLimits
    own : iterable of Measurement
        The programme's own measurements; one that only grows is compared whether or not it limits the growth of a year.

    Notes
    -----
    Where the median tree did not grow there is nothing to compare with. Growth within the loss a reading may have by itself is no leap.
    A stem is left to its own limit: thick stems grow by many times the median of a planting whose trees differ in size.

    Source
    ------
    Common practice of permanent plots, no source: more than three times the site's median.
    """
    found = []
    for item in growing(own):
        if (item.is_own or item is HEIGHT) and item.field in growth:
            grown, usual = tree_growth(one.record, one.last, item), growth[item.field].median
            if grown is not None and usual > 0 and grown > max(limits.height_gain_times * usual, limits.growth_of(item).loss):
                words = gettext_noop(
                    "%(label)s: it grew by %(grown)s %(unit)s in a year, the median tree of this planting by %(usual)s %(unit)s. "
                    "Check the reading and the tag."
                )
                values = {"label": item.label, "grown": f"{grown:g}", "usual": f"{usual:g}", "unit": item.unit}
                found.append(Finding(item.field, WARNING, words, values))
    return tuple(found)
