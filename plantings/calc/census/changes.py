"""What looks odd when a census row is set beside the same tree's last values."""

from plantings.calc.results import CLEAN, Finding

HEIGHT_GAIN_CM_PER_YEAR_MAX = 200
UNIT_SLIP_TOLERANCE = 0.05
# Ratio of two readings of one length in two units; each is looked for both ways round.
UNIT_SLIPS = (
    (2.54, "inches and centimetres"),
    (3.28, "feet and metres"),
    (10.0, "millimetres and centimetres, or a moved decimal point"),
    (30.48, "feet and centimetres"),
)


def compare_with_last(
    status: str,
    last_status: str,
    height_cm: float | None = None,
    last_height_cm: float | None = None,
    diameter_mm: float | None = None,
    last_diameter_mm: float | None = None,
    years: float = 1.0,
    browse_class: str | None = None,
    dieback_percent: float | None = None,
) -> tuple[Finding, ...]:
    """Judge one row against the last values of the same tree. Warnings only: each asks for a reason.

    Parameters
    ----------
    status, last_status : str
        Codes of `STATUSES`; `last_status` may be "" when there is none.
    height_cm, last_height_cm, diameter_mm, last_diameter_mm : number or None
        Readings now and last time; a pair with a None or a last value of 0 is not compared.
    years : float
        Time between the two visits. Less than a year counts as one, since growth is seasonal.
    browse_class, dieback_percent
        Of this row. Browse, dieback or a resprout explains a lower height.

    Returns
    -------
    tuple of Finding, all warnings; the shared empty tuple `CLEAN` when there is nothing to say.

    Notes
    -----
    A ratio close to that of two units (within 5 %) is named as a likely unit slip and then not
    named again as shrinkage or leap. Young trees can grow by such a ratio: it is a question.

    Source
    ------
    Common practice of permanent plots, no source; the limits are this programme's own.

    Examples
    --------
    >>> [found] = compare_with_last("A", "A", height_cm=120, last_height_cm=300)
    >>> found.message
    'Height is 120 cm, last time 300 cm: as if inches and centimetres were mixed up. Check the unit.'
    """
    found: list[Finding] = []
    if status in ("A", "AR") and last_status in ("D", "RM"):
        reasons = "resprout, earlier error, other tree"
        message = f"Recorded {last_status} last time and alive now. Say in the note why: {reasons}."
        found.append(Finding("status", "warning", message))
    explained = status == "AR" or bool(dieback_percent) or browse_class not in (None, "", "none")
    if height_cm is not None and last_height_cm:
        _compare_height(found, height_cm, last_height_cm, max(years, 1.0), explained)
    if diameter_mm is not None and last_diameter_mm:
        _compare_diameter(found, diameter_mm, last_diameter_mm, status == "AR")
    return tuple(found) if found else CLEAN


def _compare_height(found: list[Finding], height_cm: float, last_cm: float, years: float, explained: bool) -> None:
    change = height_cm - last_cm
    if change < 0 and explained:
        return
    readings = f"Height is {height_cm:g} cm, last time {last_cm:g} cm"
    slip = _unit_slip(height_cm, last_cm)
    if slip:
        message = f"{readings}: as if {slip} were mixed up. Check the unit."
    elif change < -5 and -change * 10 > last_cm:
        message = f"{readings}, with no dieback, browse or resprout recorded. Check it, or say what happened."
    elif change > HEIGHT_GAIN_CM_PER_YEAR_MAX * years:
        message = f"{readings}: more than {HEIGHT_GAIN_CM_PER_YEAR_MAX} cm a year. Check the reading and the tag."
    else:
        return
    found.append(Finding("height_cm", "warning", message))


def _compare_diameter(found: list[Finding], diameter_mm: float, last_mm: float, resprout: bool) -> None:
    change = diameter_mm - last_mm
    if change < 0 and resprout:
        return
    readings = f"Diameter is {diameter_mm:g} mm, last time {last_mm:g} mm"
    slip = _unit_slip(diameter_mm, last_mm)
    if slip:
        message = f"{readings}: as if {slip} were mixed up. Check the unit."
    elif change < -1:
        message = f"{readings}. Check the reading and the point of measurement."
    else:
        return
    found.append(Finding("diameter_mm", "warning", message))


def _unit_slip(value: float, last: float) -> str:
    """The two units that the ratio of two readings points at, or "" when it points at none."""
    if value <= 0:
        return ""
    # As float: readings may come as Decimal, which does not mix with the table's floats.
    ratio = float(value / last if value >= last else last / value)
    for slip, units in UNIT_SLIPS:
        if abs(ratio / slip - 1) <= UNIT_SLIP_TOLERANCE:
            return units
    return ""
