"""What looks odd when a census row is set beside the same tree's last values."""

from datetime import date

from plantings.calc.census.codes import ALIVE, DEAD, REMOVED
from plantings.calc.census.measurements import MEASUREMENTS, WARNING, Measurement
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.calc.results import CLEAN, Finding
from registry.calc.shared.marked import gettext_noop

UNIT_SLIP_TOLERANCE = 0.05
# Ratio of two readings of one length in two units; each is looked for both ways round.
UNIT_SLIPS = (
    (2.54, gettext_noop("inches and centimetres")),
    (3.28, gettext_noop("feet and metres")),
    (10.0, gettext_noop("millimetres and centimetres, or a moved decimal point")),
    (30.48, gettext_noop("feet and centimetres")),
)


def compare_with_last(row: SeenRow, last: LastSeen) -> tuple[Finding, ...]:
    """Judge one row against the last values of the same tree. Warnings only: each asks for a reason.

    Parameters
    ----------
    row : SeenRow, or a record with the same fields
    last : LastSeen
        A measurement without a reading now, without an earlier one, or with an earlier one of 0 is not compared. Less than a
        year between two readings counts as one, since growth is seasonal.

    Returns
    -------
    tuple of Finding, all warnings; the shared empty tuple `CLEAN` when there is nothing to say.

    Notes
    -----
    What is odd is declared with each measurement (`Growth`). A ratio close to that of two units (within 5 %) is named as a likely
    unit slip and then not named again as shrinkage or leap. Young trees can grow by such a ratio: it is a question.

    Source
    ------
    Common practice of permanent plots, no source; the limits are this programme's own.

    Examples
    --------
    >>> row = SeenRow(status="A", observed_on=date(2026, 9, 12), height_cm=120)
    >>> [found] = compare_with_last(row, LastSeen("A", {"height_cm": (300, date(2025, 9, 12))}))
    >>> found.message
    'Height is 120 cm, last time 300 cm: as if inches and centimetres were mixed up. Check the unit.'
    """
    found: list[Finding] = []
    if row.status in ALIVE and last.status in (DEAD, REMOVED):
        words = gettext_noop("Recorded %(status)s last time and alive now. Say in the note why: resprout, earlier error, other tree.")
        found.append(Finding("status", WARNING, words, {"status": last.status}))
    for item in MEASUREMENTS:
        if item.growth and item.field in last.readings:
            _compare(found, row, item, *last.readings[item.field])
    return tuple(found) if found else CLEAN


def _compare(found: list[Finding], row: SeenRow, item: Measurement, earlier: float, earlier_on: date) -> None:
    reading = getattr(row, item.field)
    if reading is None or not earlier:
        return
    value, last = float(reading), float(earlier)  # readings may come as Decimal, which does not mix with floats
    growth, change = item.growth, value - last
    if change < 0 and _explained(row, growth.damage_explains):
        return
    values = {"label": item.label, "value": f"{value:g}", "last": f"{last:g}", "unit": item.unit}
    years = max((row.observed_on - earlier_on).days / 365.25, 1.0) if row.observed_on else 1.0
    if slip := _unit_slip(value, last):
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


def _explained(row: SeenRow, by_damage: bool) -> bool:
    """Whether the row itself says why a reading is lower: a resprout, or damage where that explains it."""
    if row.status == "AR":
        return True
    damage = (item for item in MEASUREMENTS if by_damage and item.explains_loss)
    return any(getattr(row, item.field) not in (None, "", item.nothing) for item in damage)


def _unit_slip(value: float, last: float) -> str:
    """The two units that the ratio of two readings points at, or "" when it points at none."""
    if value <= 0:
        return ""
    ratio = value / last if value >= last else last / value
    for slip, units in UNIT_SLIPS:
        if abs(ratio / slip - 1) <= UNIT_SLIP_TOLERANCE:
            return units
    return ""
