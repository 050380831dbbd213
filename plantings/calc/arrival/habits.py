"""What the readings of one observer look like together: rounded, repeated, in another unit, or grown too evenly to have been measured.

Source
------
Preference for the digits 0 and 5 as Whipple's index of demography: five times their share in percent, 100 for none (from memory).
Repeated and too even values, and those in another unit: common practice, no source.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from itertools import groupby
from math import log
from statistics import median
from typing import NamedTuple

from plantings.calc.arrival.growth import Arrived, tree_growth
from plantings.calc.census.changes import UNIT_SLIPS, growing, is_length
from plantings.calc.census.limits import LIMITS, CheckLimits
from plantings.calc.census.measurements import Measurement, value_of

FEWEST_READINGS = 20
# The middle tree of a visit has neither lost a fifth nor grown five times; in its own unit it has lost little and at most doubled.
_SHRUNK, _GROWN, _LEAST_MEANT, _MOST_MEANT = 0.8, 5, 0.95, 2


class Habit(NamedTuple):
    """Something about the readings of one observer: `count` of `readings` of a measurement, in `words`."""

    observer: str
    measurement: Measurement
    count: int
    readings: int
    words: str


def reading_habits(arrived: Iterable[Arrived], limits: CheckLimits = LIMITS, own: Iterable[Measurement] = ()) -> tuple[Habit, ...]:
    """What stands out in the readings of each observer of a round.

    Parameters
    ----------
    arrived : iterable of Arrived
        In the order of the walk. Records without an observer are taken together.
    limits : CheckLimits
        Digits and growth are judged from `FEWEST_READINGS` readings on, a run of equal readings from its own length on.
    own : iterable of Measurement
        The programme's own measurements: one that only grows is judged like those of the table, another by its digits alone.

    Notes
    -----
    Digits are those of readings to the whole unit, where the measurement says up to where it is taken so finely (`fine_below`).
    """
    by_observer = defaultdict(list)
    for one in arrived:
        by_observer[one.observer].append(one)
    found = []
    items = (*growing(own), *(item for item in own if item.fine_below and not item.growth))
    for observer, records in sorted(by_observer.items()):
        for item in items:
            found += _of_measurement(observer, item, records, limits)
    return tuple(found)


def _of_measurement(observer: str, item: Measurement, records: Sequence[Arrived], limits: CheckLimits) -> list[Habit]:
    readings = [float(reading) for one in records if (reading := value_of(one.record, item)) is not None]
    found = []
    fine = [reading for reading in readings if item.fine_below and reading < item.fine_below and reading.is_integer()]
    round_ones = sum(reading % 5 == 0 for reading in fine)
    if len(fine) >= FEWEST_READINGS and 100 * round_ones > limits.end_digit_percent * len(fine):
        words = f"{round_ones:,} of {len(fine):,} readings under {item.fine_below:g} {item.unit} end in 0 or 5; a fifth does by chance"
        found.append(Habit(observer, item, round_ones, len(fine), words))
    if not item.growth:
        return found
    run, value = max(((len(list(same)), value) for value, same in groupby(readings)), default=(0, 0.0))
    if run >= limits.same_run:
        words = f"{run:,} trees in a row have the same reading, {item.words(value)}"
        found.append(Habit(observer, item, run, len(readings), words))
    ratios = [ratio for one in records if (ratio := _ratio_to_last(one, item))] if is_length(item) else []
    if len(ratios) >= FEWEST_READINGS and (units := _other_unit(middle := median(ratios))):
        words = f"the middle one of {len(ratios):,} readings is {middle:.2g} times the last, as if {units} were mixed up"
        found.append(Habit(observer, item, len(ratios), len(readings), words))
    growths = [growth for one in records if (growth := tree_growth(one.record, one.last, item)) is not None]
    grown, same = Counter(growths).most_common(1)[0] if growths else (0.0, 0)
    if len(growths) >= FEWEST_READINGS and 100 * same > limits.same_percent * len(growths):
        words = f"{same:,} of {len(growths):,} trees changed by exactly {grown:g} {item.unit} a year, as if taken from last year's"
        found.append(Habit(observer, item, same, len(growths), words))
    return found


def _ratio_to_last(one: Arrived, item: Measurement) -> float | None:
    """How many times the last reading a tree on its own stem has; None where it was not measured both times."""
    reading, (last, _on) = value_of(one.record, item), one.last.readings.get(item.field, (None, None))
    return float(reading) / float(last) if reading and last and one.record.status == one.last.status == "A" else None


def _other_unit(middle: float) -> str:
    """The two units that a middle ratio to the last readings points at; "" where trees can have grown by it."""
    if _SHRUNK < middle < _GROWN:
        return ""
    meant = [
        (abs(log(one)), units)
        for ratio, units in UNIT_SLIPS
        for one in (middle * ratio, middle / ratio)
        if _LEAST_MEANT <= one <= _MOST_MEANT
    ]
    return min(meant)[1] if meant else ""
