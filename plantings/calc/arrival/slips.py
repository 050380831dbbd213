"""A reading in another unit, or with a moved decimal point, told by what the trees of its planting grew since the last one.

`compare_with_last` sees a slip where a tree hardly grew: the ratio of both readings is then that of the two units. A tree that grew by a
third has another ratio. Here the reading is converted, and set beside what the tree would have if it had grown as its planting did.
"""

from collections.abc import Iterable

from plantings.calc.arrival.growth import Arrived, UsualGrowth
from plantings.calc.census.changes import TENFOLD, UNIT_SLIPS, explained, growing, is_length, years_between
from plantings.calc.census.codes import ALIVE
from plantings.calc.census.limits import LIMITS, CheckLimits
from plantings.calc.census.measurements import WARNING, Measurement, reading_words, value_of
from plantings.calc.results import Finding
from registry.calc.shared.marked import gettext_noop

FAR, NEAR = 4.0, 2.0  # standard deviations of the usual growth: further off as it was typed, at most as far once converted


def slip_findings(
    one: Arrived, growth: dict[str, UsualGrowth], limits: CheckLimits = LIMITS, own: Iterable[Measurement] = ()
) -> tuple[Finding, ...]:
    """A warning for each reading that would fit its tree in another unit, and does not as it is.

    Parameters
    ----------
    one : Arrived
        Judged where it is alive; a lower reading with damage that explains it is passed over.
    growth : dict of {field: UsualGrowth}
        As `planting_growth` gives it.
    limits : CheckLimits
    own : iterable of Measurement
        The programme's own measurements. One that is not a length is looked at for ten times and a tenth alone.

    Notes
    -----
    With g the growth of the tree a year, and m and s the median and the spread of the planting, a reading is far off where |g - m| > 4 s,
    and a converted one fits where |g - m| <= 2 s. Of several that fit the nearest is named.

    Source
    ------
    A definition of this programme; the ratios of units are those of `compare_with_last`.

    Examples
    --------
    >>> from datetime import date
    >>> from plantings.calc.census.rows import LastSeen, SeenRow
    >>> record = SeenRow(status="A", observed_on=date(2026, 9, 12), height_cm=71)
    >>> one = Arrived(1, "T1", record, LastSeen("A", {"height_cm": (140, date(2025, 9, 12))}))
    >>> [found] = slip_findings(one, {"height_cm": UsualGrowth(40, 10, 50)})
    >>> found.message
    'Height is 71 cm, last time 140 cm: 180.3 cm would fit, as if inches and centimetres were mixed up. Check the unit.'
    """
    found = []
    for item in growing(own):
        reading = value_of(one.record, item)
        if not reading or item.field not in growth or item.field not in one.last.readings or one.record.status not in ALIVE:
            continue
        earlier, earlier_on = one.last.readings[item.field]
        reading, earlier, usual = float(reading), float(earlier), growth[item.field]
        if reading < earlier and explained(one.record, limits.growth_of(item).damage_explains):
            continue
        years = years_between(earlier_on, one.record.observed_on)

        def off(value: float, earlier: float = earlier, years: float = years, usual: UsualGrowth = usual) -> float:
            return abs((value - earlier) / years - usual.median) / usual.spread

        if off(reading) <= FAR:
            continue
        ratios = UNIT_SLIPS if is_length(item) else ((TENFOLD, ""),)
        fitting = [(off(meant), meant, units) for ratio, units in ratios for meant in (reading * ratio, reading / ratio)]
        distance, meant, units = min(fitting)
        if distance <= NEAR:
            found.append(_finding(item, reading, earlier, meant, units))
    return tuple(found)


def _finding(item: Measurement, reading: float, earlier: float, meant: float, units: str) -> Finding:
    values = {"label": item.label, "unit": item.unit, "value": reading_words(reading), "last": reading_words(earlier)}
    values["meant"] = reading_words(round(meant, 1))
    if not units:
        words = gettext_noop(
            "%(label)s is %(value)s %(unit)s, last time %(last)s %(unit)s: %(meant)s %(unit)s would fit. Check the digits."
        )
        return Finding(item.field, WARNING, words, values)
    words = gettext_noop(
        "%(label)s is %(value)s %(unit)s, last time %(last)s %(unit)s: %(meant)s %(unit)s would fit, as if %(units)s were mixed up. "
        "Check the unit."
    )
    return Finding(item.field, WARNING, words, values | {"units": units})
