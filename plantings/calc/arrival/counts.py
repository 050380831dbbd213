"""What looks odd in the count of a plot, beside what was put into the ground there and what was counted the last time."""

from dataclasses import dataclass

from plantings.calc.arrival.arrival import Window
from plantings.calc.census.limits import LIMITS, CheckLimits
from plantings.calc.census.measurements import WARNING
from plantings.calc.results import CLEAN, Finding
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.part_dates import SomeDate, days_between

LEAP_FEWEST = 5  # a difference of fewer seedlings is never called a leap, not even on a plot that had few


@dataclass(frozen=True, slots=True)
class CountSeen:
    """What was counted on a plot at one visit: living trees, remains of dead ones, and what was noted."""

    alive: int
    dead: int
    observed_on: SomeDate | None
    note: str = ""


def count_looks(
    count: CountSeen, last: CountSeen | None, planted: int | None, is_sown: bool, window: Window, limits: CheckLimits = LIMITS
) -> tuple[Finding, ...]:
    """Judge the count of a plot. Warnings only: each asks for a second look, or for a reason in the note.

    Parameters
    ----------
    count : CountSeen
    last : CountSeen or None
        Of the last earlier round at which the plot was counted.
    planted : int or None
        Seeds or plants that the plot began with; None where nobody knows, and then nothing is missing.
    is_sown : bool
        Whether these were seeds, most of which never come up. Plants that were set out are alive, dead or missing.
    window : Window
        Its days of the round are used.
    limits : CheckLimits

    Returns
    -------
    tuple of Finding, of the fields `alive`, `dead` and `observed_on`; the shared empty tuple `CLEAN` when there is nothing to say

    Notes
    -----
    More living than last time, and a sum that does not fit, are not odd once the note says something. Plants that were missing the last
    time already are not asked about again.

    Source
    ------
    Common practice, no source; the limits are a definition of this programme.

    Examples
    --------
    >>> from datetime import date
    >>> now, last = CountSeen(38, 0, date(2026, 9, 1)), CountSeen(20, 0, date(2025, 9, 1))
    >>> [found] = count_looks(now, last, 40, True, Window())
    >>> found.message
    '38 are alive, last time 20: a leap of more than 50 %. Check the plot and count again.'
    """
    found: list[Finding] = []
    values = {"alive": count.alive, "dead": count.dead, "planted": planted, "percent": f"{limits.count_leap_percent:g}"}
    if last:
        values |= {"last": last.alive, "sum": count.alive + count.dead, "before": last.alive + last.dead}
        change = abs(count.alive - last.alive)
        if change >= LEAP_FEWEST and 100 * change > limits.count_leap_percent * last.alive:
            words = gettext_noop(
                "%(alive)s are alive, last time %(last)s: a leap of more than %(percent)s %%. Check the plot and count again."
            )
            found.append(Finding("alive", WARNING, words, values))
        elif count.alive > last.alive and not count.note:
            words = gettext_noop("More alive than before: %(alive)s after %(last)s. Say why in the note, such as seed that came up late.")
            found.append(Finding("alive", WARNING, words, values))
        elif is_sown and values["sum"] > values["before"] and not count.note:
            words = gettext_noop(
                "%(sum)s alive and dead, last time %(before)s: more than had come up. Count again, or say why in the note."
            )
            found.append(Finding("dead", WARNING, words, values))
    missing = planted - count.alive - max(count.dead, last.dead if last else 0) if planted is not None else 0
    if planted is not None and not is_sown and not count.note and missing > (max(planted - last.alive - last.dead, 0) if last else 0):
        words = gettext_noop(
            "%(alive)s alive and %(dead)s dead of %(planted)s planted: %(missing)s are missing. Count again, or say in the note what "
            "became of them."
        )
        found.append(Finding("dead", WARNING, words, values | {"missing": missing}))
    _look_at_day(found, count.observed_on, window, limits)
    return tuple(found) if found else CLEAN


def _look_at_day(found: list[Finding], observed_on: SomeDate | None, window: Window, limits: CheckLimits) -> None:
    if None in (observed_on, window.opens_on, window.closes_on):
        return
    early, late = days_between(observed_on, window.opens_on)[0], days_between(window.closes_on, observed_on)[0]
    if early > limits.window_days:
        words = gettext_noop("Seen %(days)s days before the round opens. Check the date and the round.")
        found.append(Finding("observed_on", WARNING, words, {"days": early}))
    elif late > limits.window_days:
        words = gettext_noop("Seen %(days)s days after the round closes. Check the date and the round.")
        found.append(Finding("observed_on", WARNING, words, {"days": late}))
