"""What looks odd when a census row is set beside the same tree's last values."""

from collections.abc import Iterable

from plantings.calc.census.codes import ALIVE, DEAD, REMOVED, STATUS_LABELS
from plantings.calc.census.limits import LIMITS, CheckLimits
from plantings.calc.census.measurements import MEASUREMENTS, WARNING, Measurement, reading_words, value_of
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.calc.results import CLEAN, Finding
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.part_dates import SomeDate, days_between

DAYS_A_YEAR = 365.25
# Ratio of two readings of one length in two units; each is looked for both ways round, so 0.1 with 10.
UNIT_SLIPS = (
    (2.54, gettext_noop("inches and centimetres")),
    (3.28, gettext_noop("feet and metres")),
    (10.0, gettext_noop("millimetres and centimetres, or a moved decimal point")),
    (30.48, gettext_noop("feet and centimetres")),
)
TENFOLD = 10.0  # of any other number: a decimal point or a digit that slipped
_LENGTHS = frozenset({"mm", "cm", "dm", "m", "in", "ft"})


def is_length(item: Measurement) -> bool:
    """Whether the readings of a measurement can be mixed up with those in another unit of length.

    Parameters
    ----------
    item : Measurement
        Those of the table are lengths where they can grow.

    Source
    ------
    A definition of this programme.

    Examples
    --------
    >>> from plantings.calc.census.measurements import HEIGHT
    >>> is_length(HEIGHT)
    True
    """
    return not item.is_own or item.unit in _LENGTHS


def growing(own: Iterable[Measurement] = ()) -> tuple[Measurement, ...]:
    """The measurements of the table, and of a programme's `own`, that say what looks odd beside an earlier reading.

    Source
    ------
    A definition of this programme.

    Examples
    --------
    >>> [item.name for item in growing()]
    ['height', 'diameter']
    """
    return tuple(item for item in (*MEASUREMENTS, *own) if item.growth)


def compare_with_last(row: SeenRow, last: LastSeen, limits: CheckLimits = LIMITS, own: Iterable[Measurement] = ()) -> tuple[Finding, ...]:
    """Judge one row against the last values of the same tree. Warnings only: each asks for a reason.

    Parameters
    ----------
    row : SeenRow, or a record with the same fields
    last : LastSeen
        A measurement without a reading now, without an earlier one, or with an earlier one of 0 is not compared. Less than a
        year between two readings counts as one, since growth is seasonal.
    limits : CheckLimits
    own : iterable of Measurement
        The programme's own measurements that the round asks for. One is compared where its definition says that it only grows, with
        readings of the same version.

    Returns
    -------
    tuple of Finding, all warnings; the shared empty tuple `CLEAN` when there is nothing to say.

    Notes
    -----
    What is odd is declared with each measurement (`Growth`), with the programme's own limits. A ratio close to that of two units is
    named as a likely unit slip and then not named again as shrinkage or leap. Young trees can grow by such a ratio: it is a question.
    A tree recorded dead that has grown since is named as that alone.

    Source
    ------
    Common practice of permanent plots, no source; the limits are this programme's own.

    Examples
    --------
    >>> from datetime import date
    >>> row = SeenRow(status="A", observed_on=date(2026, 9, 12), height_cm=120)
    >>> [found] = compare_with_last(row, LastSeen("A", {"height_cm": (300, date(2025, 9, 12))}))
    >>> found.message
    'Height is 120 cm, last time 300 cm: as if inches and centimetres were mixed up. Check the unit.'
    """
    found: list[Finding] = []
    if row.status in ALIVE and last.status in (DEAD, REMOVED):
        words = gettext_noop(
            "Recorded %(status)s (%(code)s) last time and alive now. Say in the note why: resprout, earlier error, other tree."
        )
        found.append(Finding("status", WARNING, words, {"status": STATUS_LABELS[last.status], "code": last.status}))
    for item in growing(own):
        if item.field in last.readings:
            _compare(found, row, item, limits, *last.readings[item.field])
    return tuple(found) if found else CLEAN


def _compare(found: list[Finding], row: SeenRow, item: Measurement, limits: CheckLimits, earlier: float, earlier_on: SomeDate) -> None:
    reading = value_of(row, item)
    if reading is None or not earlier:
        return
    value, last = float(reading), float(earlier)  # readings may come as Decimal, which does not mix with floats
    growth, change = limits.growth_of(item), value - last
    if change < 0 and explained(row, growth.damage_explains):
        return
    values = {"label": item.label, "value": reading_words(value), "last": reading_words(last), "unit": item.unit}
    years = years_between(earlier_on, row.observed_on)
    if row.status == DEAD and change > growth.loss:
        words = gettext_noop(
            "%(label)s is %(value)s %(unit)s, last time %(last)s %(unit)s: it has grown, but is recorded dead. Check status and tag."
        )
    elif not is_length(item) and _is_ratio(value, last, TENFOLD, limits.unit_slip_percent):
        words = gettext_noop(
            "%(label)s is %(value)s %(unit)s, last time %(last)s %(unit)s: ten times as much or as little. Check the digits and the unit."
        )
    elif is_length(item) and (slip := _unit_slip(value, last, limits.unit_slip_percent)):
        words = gettext_noop("%(label)s is %(value)s %(unit)s, last time %(last)s %(unit)s: as if %(units)s were mixed up. Check the unit.")
        values["units"] = slip
    elif -change > growth.loss and -change > growth.loss_share * last:
        words = gettext_noop("%(label)s is %(value)s %(unit)s, last time %(last)s %(unit)s. %(advice)s")
        values["advice"] = growth.loss_words
    elif growth.gain_a_year is not None and change > growth.gain_a_year * years:
        words = gettext_noop(
            "%(label)s is %(value)s %(unit)s, last time %(last)s %(unit)s: more than %(most)s %(unit)s a year. "
            "Check the reading and the tag."
        )
        values["most"] = f"{growth.gain_a_year:g}"
    else:
        return
    found.append(Finding(item.field, WARNING, words, values))


def years_between(earlier_on: SomeDate, observed_on: SomeDate | None) -> float:
    """Years from a reading to a visit; the middle of the shortest and the longest time where a day is not known.

    Parameters
    ----------
    earlier_on, observed_on : date or PartDate; None for a visit without a day

    Returns
    -------
    float, years, at least 1: trees grow in one season of the year, so a visit some weeks early is still a year on

    Source
    ------
    A definition of this programme.

    Examples
    --------
    >>> from datetime import date
    >>> years_between(date(2025, 9, 20), date(2026, 9, 1)), round(years_between(date(2024, 9, 1), date(2026, 9, 1)), 2)
    (1.0, 2.0)
    >>> from registry.calc.shared.part_dates import PartDate
    >>> round(years_between(PartDate(2024), PartDate(2026)), 2)
    2.0
    """
    return max(sum(days_between(earlier_on, observed_on)) / 2 / DAYS_A_YEAR, 1.0) if observed_on else 1.0


def explained(row: SeenRow, by_damage: bool) -> bool:
    """Whether the row itself says why a reading is lower: a resprout, or damage where that explains it.

    Source
    ------
    Common practice, no source.
    """
    if row.status == "AR":
        return True
    damage = (item for item in MEASUREMENTS if by_damage and item.explains_loss)
    return any(getattr(row, item.field) not in (None, "", item.nothing) for item in damage)


def _unit_slip(value: float, last: float, percent: float) -> str:
    """The two units that the ratio of two readings points at, or "" when it points at none."""
    return next((units for ratio, units in UNIT_SLIPS if _is_ratio(value, last, ratio, percent)), "")


def _is_ratio(value: float, last: float, ratio: float, percent: float) -> bool:
    """Whether two readings are as far apart as a ratio, either way round."""
    if value <= 0 or last <= 0:
        return False
    found = value / last if value >= last else last / value
    return 100 * abs(found / ratio - 1) <= percent
