"""What one census row must satisfy, whichever way it came in: form, keying grid or file.

`check_row` judges a row alone; `compare_with_last` sets it beside the same tree's last values.
Errors stop a row; warnings ask for a second look and are kept with it. Nothing is ever changed here.
"""

from datetime import date

from plantings.calc.census.changes import compare_with_last
from plantings.calc.census.codes import (
    BROWSE_CLASSES,
    BROWSE_CODES,
    CANKER_CLASSES,
    CANKER_CODES,
    CAUSE_CODES,
    CAUSES_OF_DEATH,
    FLOWERING,
    FLOWERING_CODES,
    REMOVAL_IS_BIOLOGICAL,
    REMOVAL_REASONS,
    STATUS_CODES,
    STATUSES,
    status_code,
    unknown_status_message,
)
from plantings.calc.results import CLEAN, Finding
from registry.calc.shared.screen import day_words

__all__ = [
    "BROWSE_CLASSES",
    "CANKER_CLASSES",
    "CAUSES_OF_DEATH",
    "CLEAN",
    "FLOWERING",
    "REMOVAL_REASONS",
    "STATUSES",
    "Finding",
    "check_row",
    "compare_with_last",
    "status_code",
]

HEIGHT_CM_MAX = 6_000
DIAMETER_MM_MAX = 2_000
NOTE_LENGTH_MAX = 1_000
WINDOW_GRACE_DAYS = 21

_UNSEEN = frozenset({"NF", "NL", "NV"})


def check_row(
    status: str,
    observed_on: date | None,
    planted_on: date | None,
    opens_on: date | None,
    closes_on: date | None,
    height_cm: float | None = None,
    diameter_mm: float | None = None,
    canker_class: int | None = None,
    browse_class: str | None = None,
    dieback_percent: float | None = None,
    cause: str | None = None,
    note: str | None = None,
    flowering: str | None = None,
) -> tuple[Finding, ...]:
    """Judge one census row by itself.

    Parameters
    ----------
    status : str
        One of `STATUSES`. When it is not, only that is reported about the fields that hang on it.
    observed_on, planted_on, opens_on, closes_on : date or None
        Day of the visit, day of planting, window of the round. None skips the rules that need it,
        but only a row "not visited" may lack its own day.
    height_cm, diameter_mm, dieback_percent : number or None
        Whole plant height, 0 to 6,000 cm; stem diameter, 0 to 2,000 mm; dieback, 0 to 100 %. NaN
        is an error, not a blank.
    canker_class, browse_class, flowering, cause : code of its list, or None or "" for no answer
        For RM the cause is one of `REMOVAL_REASONS`, otherwise of `CAUSES_OF_DEATH`.
    note : str or None
        At most 1,000 characters.

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
    >>> check_row("A", date(2026, 9, 12), planted, opens, closes, height_cm=142)
    ()
    >>> [found] = check_row("NF", date(2026, 9, 12), planted, opens, closes, height_cm=142)
    >>> found.field, found.severity
    ('height_cm', 'error')
    """
    found: list[Finding] = []
    if status not in STATUS_CODES:
        found.append(Finding("status", "error", unknown_status_message(status)))
    _check_day(found, status, observed_on, planted_on, opens_on, closes_on)
    if height_cm is not None or diameter_mm is not None:
        _check_sizes(found, status, height_cm, diameter_mm)
    _check_classes(found, status, canker_class, browse_class, dieback_percent, flowering)
    if status in STATUS_CODES and (cause or status in ("D", "RM")):
        _check_cause(found, status, cause)
    if note and len(note) > NOTE_LENGTH_MAX:
        message = f"The note has {len(note):,} characters. Shorten it to {NOTE_LENGTH_MAX:,}."
        found.append(Finding("note", "error", message))
    return tuple(found) if found else CLEAN


def _check_day(
    found: list[Finding],
    status: str,
    observed_on: date | None,
    planted_on: date | None,
    opens_on: date | None,
    closes_on: date | None,
) -> None:
    if observed_on is None:
        if status != "NV":
            found.append(Finding("observed_on", "error", "The day of the visit is missing. Give the date."))
        return
    if planted_on is not None and observed_on < planted_on:
        days = f"Seen on {day_words(observed_on)}, before planting on {day_words(planted_on)}."
        found.append(Finding("observed_on", "error", f"{days} Check both dates."))
    early = (opens_on - observed_on).days if opens_on is not None else 0
    late = (observed_on - closes_on).days if closes_on is not None else 0
    if early > WINDOW_GRACE_DAYS or late > WINDOW_GRACE_DAYS:
        side = f"{early} days before the round opens" if early > 0 else f"{late} days after the round closes"
        found.append(Finding("observed_on", "warning", f"Seen {side}. Check the date and the round."))


def _check_sizes(found: list[Finding], status: str, height_cm: float | None, diameter_mm: float | None) -> None:
    for field, value, highest, unit in (
        ("height_cm", height_cm, HEIGHT_CM_MAX, "cm"),
        ("diameter_mm", diameter_mm, DIAMETER_MM_MAX, "mm"),
    ):
        if value is None:
            continue
        # Written so that NaN, which fails every comparison, is an error too.
        if not 0 <= value <= highest:
            message = f"{value} {unit} lies outside 0 to {highest:,} {unit}. Check the reading and its unit."
            found.append(Finding(field, "error", message))
        if status in _UNSEEN:
            message = f"A tree recorded {status} cannot have a measurement. Check the status or clear the reading."
            found.append(Finding(field, "error", message))
    if status == "D" and height_cm is not None:
        found.append(Finding("height_cm", "warning", "A dead tree has a height. Check the status."))


def _check_classes(
    found: list[Finding],
    status: str,
    canker_class: int | None,
    browse_class: str | None,
    dieback_percent: float | None,
    flowering: str | None,
) -> None:
    has_canker = canker_class is not None and canker_class != ""
    if has_canker and canker_class not in CANKER_CODES:
        found.append(Finding("canker_class", "error", f"“{canker_class}” is not a canker class. Use 0 to 4."))
    if browse_class and browse_class not in BROWSE_CODES:
        message = f"“{browse_class}” is not a browse class. Use none, light, moderate or heavy."
        found.append(Finding("browse_class", "error", message))
    if dieback_percent is not None and not 0 <= dieback_percent <= 100:
        found.append(Finding("dieback_percent", "error", f"Dieback of {dieback_percent} % lies outside 0 to 100 %."))
    if flowering and flowering not in FLOWERING_CODES:
        message = f"“{flowering}” is not a code of flowering. Use none, male, female or both."
        found.append(Finding("flowering", "error", message))
    elif flowering not in (None, "", "none") and status == "D":
        found.append(Finding("flowering", "warning", "A dead tree has flowers. Check the status."))
    if status in _UNSEEN:
        for field, given in (
            ("canker_class", has_canker),
            ("browse_class", browse_class),
            ("dieback_percent", dieback_percent is not None),
            ("flowering", flowering),
        ):
            if given:
                message = f"A tree recorded {status} was not seen, so this is kept but not counted. Check the status."
                found.append(Finding(field, "warning", message))


def _check_cause(found: list[Finding], status: str, cause: str | None) -> None:
    if status == "RM":
        if cause not in REMOVAL_IS_BIOLOGICAL:
            named = f"“{cause}” is not a removal reason." if cause else "The reason for the removal is missing."
            message = f"{named} Use one of {', '.join(REMOVAL_IS_BIOLOGICAL)}."
            found.append(Finding("cause", "error", message))
    elif not cause:
        found.append(Finding("cause", "warning", "No cause of death given. It is stored as unknown."))
    elif cause not in CAUSE_CODES:
        listed = ", ".join(code for code, _, _ in CAUSES_OF_DEATH)
        found.append(Finding("cause", "error", f"“{cause}” is not a cause of death. Use one of {listed}."))
    elif status != "D":
        message = f"A cause of death stands on a tree recorded {status}. Check the status or clear the cause."
        found.append(Finding("cause", "warning", message))
