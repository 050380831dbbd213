"""What one census row must satisfy, whichever way it came in: form, keying grid or file.

`check_row` judges a row alone; `changes.compare_with_last` sets it beside the same tree's last values. What is measured, and within
which limits, is declared in `measurements`. Errors stop a row; warnings ask for a second look and block nothing. The row is
never changed here.
"""

from datetime import date
from operator import attrgetter

from plantings.calc.census.codes import (
    ALIVE,
    CAUSE_CODES,
    CAUSES_BY_STATUS,
    CAUSES_OF_DEATH,
    DEAD,
    NOT_VISITED,
    REMOVAL_IS_BIOLOGICAL,
    REMOVED,
    STATUS_CODES,
    STATUS_LABELS,
    STATUSES,
    UNSEEN,
)
from plantings.calc.census.limits import LIMITS, CheckLimits
from plantings.calc.census.measurements import ERROR, FIELDS, MEASUREMENTS, WARNING, Measurement, reading_words
from plantings.calc.census.own_measurements import own_value
from plantings.calc.census.rows import SeenRow
from plantings.calc.results import CLEAN, Finding
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.part_dates import SomeDate, days_between, surely_before

__all__ = ["NOTE_LENGTH_MAX", "check_row"]

NOTE_LENGTH_MAX = 1_000

_measured = attrgetter(*FIELDS)
_SIZES = tuple(item for item in MEASUREMENTS if item.growth and item.growth.at_planting is not None)


def check_row(
    row: SeenRow,
    planted_on: SomeDate | None = None,
    opens_on: date | None = None,
    closes_on: date | None = None,
    limits: CheckLimits = LIMITS,
    asked: tuple[Measurement, ...] | None = None,
) -> tuple[Finding, ...]:
    """Judge one census row by itself.

    Parameters
    ----------
    row : SeenRow, or a record with the same fields
        When its status is none of `STATUSES`, only that is reported about the fields that depend on it. Only a row "not visited"
        may lack its day. A measurement is None or "" when nobody looked; NaN is an error, not a blank. For RM the cause is one
        of `REMOVAL_REASONS`, otherwise of `CAUSES_OF_DEATH`.
    planted_on : date, PartDate or None
    opens_on, closes_on : date or None
        Day of planting, window of the round. None skips the rules that need it. Of a year or a month only what is wrong on each of its
        days is found: a visit of a month is in the window where it can be.
    limits : CheckLimits
    asked : tuple of Measurement or None
        All that the protocol of the round asks for; any other value is an error. None: the round has no protocol, so it takes every
        measurement of the table and none of the programme's own.

    Returns
    -------
    tuple of Finding, errors and warnings in the order of the fields; the shared empty tuple
    `CLEAN` when there is nothing to say.

    Notes
    -----
    Whether a day lies in the future is for the caller, who has a clock.

    Source
    ------
    Common practice of forest plot networks, no source; the limits are this programme's own.

    Examples
    --------
    >>> planted, opens, closes = date(2024, 4, 20), date(2026, 8, 25), date(2026, 10, 15)
    >>> check_row(SeenRow(status="A", observed_on=date(2026, 9, 12), height_cm=142), planted, opens, closes)
    ()
    >>> [found] = check_row(SeenRow(status="NF", observed_on=date(2026, 9, 12), height_cm=142), planted, opens, closes)
    >>> found.field, found.severity
    ('height_cm', 'error')
    """
    found: list[Finding] = []
    status, cause, note = row.status, row.cause, row.note
    if status not in STATUS_CODES:
        found.append(_unknown_status(status))
    _check_day(found, row, planted_on, (opens_on, closes_on), limits.window_days)
    for item, value in zip(MEASUREMENTS, _measured(row), strict=True):
        if value is not None and value != "":
            if asked is not None and item not in asked:
                found.append(_not_asked(item.field, item.label))
            _check_measurement(found, status, item, value)
    if row.own_values:
        _check_own(found, row, {item.field: item for item in asked or () if item.is_own})
    if planted_on is not None and row.observed_on is not None:
        _check_size(found, row, days_between(planted_on, row.observed_on)[1], limits)
    if status in STATUS_CODES and (cause or status in CAUSES_BY_STATUS):
        _check_cause(found, status, cause)
    if note and len(note) > NOTE_LENGTH_MAX:
        words = gettext_noop("The note has %(length)s characters. Shorten it to %(most)s.")
        found.append(Finding("note", ERROR, words, {"length": f"{len(note):,}", "most": f"{NOTE_LENGTH_MAX:,}"}))
    return tuple(found) if found else CLEAN


def _not_asked(field: str, label: str) -> Finding:
    words = gettext_noop("%(label)s: the protocol of this round does not ask for it. Check the round, or clear the value.")
    return Finding(field, ERROR, words, {"label": label})


def _check_own(found: list[Finding], row: SeenRow, own: dict[str, Measurement]) -> None:
    """The values of the programme's measurements. No column of the database refuses a wrong kind of value, so this does."""
    for field, value in row.own_values.items():
        item = own.get(field)
        if item is None:
            found.append(_not_asked(field, field))
        elif own_value(item, value) is None:
            words = gettext_noop("%(label)s: “%(value)s” cannot be read. Enter it again.")
            found.append(Finding(field, ERROR, words, {"label": item.label, "value": str(value)[:40]}))
        else:
            _check_measurement(found, row.status, item, value)


def _unknown_status(status: object) -> Finding:
    values = {"value": status, "codes": ", ".join(code for code, _, _ in STATUSES)}
    if status == "PD":
        words = gettext_noop(
            "“%(value)s” is not a status. Use one of %(codes)s. Presumed dead is calculated from the records, never typed."
        )
    else:
        words = gettext_noop("“%(value)s” is not a status. Use one of %(codes)s.")
    return Finding("status", ERROR, words, values)


def _check_day(
    found: list[Finding], row: SeenRow, planted_on: SomeDate | None, window: tuple[date | None, date | None], grace: float
) -> None:
    observed_on, (opens_on, closes_on) = row.observed_on, window
    if observed_on is None:
        if row.status != NOT_VISITED:
            found.append(Finding("observed_on", ERROR, gettext_noop("The day of the visit is missing. Give the date.")))
        return
    if planted_on is not None and surely_before(observed_on, planted_on):
        words = gettext_noop("Seen on %(seen)s, before planting on %(planted)s. Check both dates.")
        found.append(Finding("observed_on", ERROR, words, {"seen": observed_on, "planted": planted_on}))
    early = days_between(observed_on, opens_on)[0] if opens_on is not None else 0
    late = days_between(closes_on, observed_on)[0] if closes_on is not None else 0
    if early > grace:
        words = gettext_noop("Seen %(days)s days before the round opens. Check the date and the round.")
        found.append(Finding("observed_on", WARNING, words, {"days": early}))
    elif late > grace:
        words = gettext_noop("Seen %(days)s days after the round closes. Check the date and the round.")
        found.append(Finding("observed_on", WARNING, words, {"days": late}))


def _status_values(status: str) -> dict[str, object]:
    return {"status": STATUS_LABELS[status], "code": status}


def _check_measurement(found: list[Finding], status: str, item: Measurement, value: float | str) -> None:
    """One value that was given: within its list or range, and on a status it may be given on."""
    if item.classes:
        if value not in item.codes:
            words = gettext_noop("%(label)s: “%(value)s” is not in the list. Use one of %(codes)s.")
            codes = ", ".join(map(str, item.codes))
            found.append(Finding(item.field, ERROR, words, {"label": item.short_label, "value": value, "codes": codes}))
    # Written so that NaN, which fails every comparison, is an error too.
    elif not item.low <= value <= item.high:
        words = gettext_noop("%(label)s: %(value)s %(unit)s is outside %(low)s to %(high)s %(unit)s. Check the reading and its unit.")
        values = {"label": item.label, "value": reading_words(value), "unit": item.unit, "low": f"{item.low:,}", "high": f"{item.high:,}"}
        found.append(Finding(item.field, ERROR, words, values))
    elif value == 0 and item.growth and not item.is_own and status in ALIVE:
        words = gettext_noop("%(label)s is 0 %(unit)s, and the tree is recorded alive. Check the reading, or clear it if nobody measured.")
        found.append(Finding(item.field, WARNING, words, {"label": item.label, "unit": item.unit}))
    if status in UNSEEN and item.unseen == ERROR:
        words = gettext_noop("A tree recorded %(status)s (%(code)s) cannot have a measurement. Check the status or clear the reading.")
        found.append(Finding(item.field, ERROR, words, _status_values(status)))
    elif status in UNSEEN and item.unseen:
        words = gettext_noop("A tree recorded %(status)s (%(code)s) was not seen, so this is stored but not counted. Check the status.")
        found.append(Finding(item.field, WARNING, words, _status_values(status)))
    elif status == DEAD and item.dead and (not item.classes or value in item.codes[1:]):
        words = gettext_noop("%(label)s is given for a dead tree. Check the status.")
        found.append(Finding(item.field, item.dead, words, {"label": item.label}))


def _check_size(found: list[Finding], row: SeenRow, days: int, limits: CheckLimits) -> None:
    """A reading that no tree reaches so soon after planting, such as millimetres written as centimetres."""
    for item in _SIZES:
        value = getattr(row, item.field)
        if value is None:
            continue
        growth = limits.growth_of(item)
        most = growth.at_planting + growth.gain_a_year * max(days, 0) / 365.25
        if most < value <= item.high:
            words = gettext_noop(
                "%(label)s is %(value)s %(unit)s, %(days)s days after planting: more than %(most)s %(unit)s. "
                "Check the reading and its unit."
            )
            values = {"label": item.label, "value": reading_words(value), "unit": item.unit, "days": f"{days:,}", "most": f"{most:,.0f}"}
            found.append(Finding(item.field, WARNING, words, values))


def _check_cause(found: list[Finding], status: str, cause: str | None) -> None:
    if status == REMOVED:
        if cause not in REMOVAL_IS_BIOLOGICAL:
            words = gettext_noop("“%(value)s” is not a removal reason. Use one of %(codes)s.")
            if not cause:
                words = gettext_noop("The reason for the removal is missing. Use one of %(codes)s.")
            found.append(Finding("cause", ERROR, words, {"value": cause, "codes": ", ".join(REMOVAL_IS_BIOLOGICAL)}))
    elif not cause:
        found.append(Finding("cause", WARNING, gettext_noop("No cause of death given. It is stored as unknown.")))
    elif cause not in CAUSE_CODES:
        words = gettext_noop("“%(value)s” is not a cause of death. Use one of %(codes)s.")
        found.append(Finding("cause", ERROR, words, {"value": cause, "codes": ", ".join(code for code, _, _ in CAUSES_OF_DEATH)}))
    elif status != DEAD:
        words = gettext_noop("A tree recorded %(status)s (%(code)s) has a cause of death. Check the status or clear the cause.")
        found.append(Finding("cause", WARNING, words, _status_values(status)))
