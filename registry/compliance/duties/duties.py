"""What must be done by when under a paper, whether it was, and whom a late duty is escalated to. Duties outlive the paper."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.screen import day_words
from registry.compliance.duties.recurrence import Recurrence, occurrences

DONE_ON_TIME, DONE_LATE, LATE, DUE, UPCOMING = "done_on_time", "done_late", "late", "due", "upcoming"
STATUSES = {
    DONE_ON_TIME: gettext_noop("done on time"),
    DONE_LATE: gettext_noop("done late"),
    LATE: gettext_noop("overdue"),
    DUE: gettext_noop("due"),
    UPCOMING: gettext_noop("upcoming"),
}


@dataclass(frozen=True, slots=True)
class Done:
    """The duty that fell due on `due` was done on `on`; `evidence` says what proves it."""

    due: date
    on: date
    evidence: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """Whom a duty is escalated to once it is this many days late (1: the day after it was due)."""

    days_late: int
    who: str


@dataclass(frozen=True, slots=True)
class Duty:
    """A duty under a paper.

    Parameters
    ----------
    code, title, paper : str
        `paper` is the code of the authorization; its expiry changes nothing here.
    recurrence : Recurrence
    lead_days : int
        How many days before the due date it counts as due.
    steps : tuple of Step
    done : tuple of Done
    closed_on : date or None
        What would fall due later is dropped. The evidence of closing is recorded elsewhere.
    """

    code: str
    title: str
    recurrence: Recurrence
    paper: str = ""
    lead_days: int = 0
    steps: tuple[Step, ...] = ()
    done: tuple[Done, ...] = ()
    closed_on: date | None = None


@dataclass(frozen=True, slots=True)
class DutyStatus:
    """The status of one due date on a day. `days_late` is 0 unless late or done late; `level` counts the steps reached (0: none)."""

    duty: str
    due: date
    status: str
    days_late: int = 0
    level: int = 0
    told: tuple[str, ...] = ()
    done_on: date | None = None


def status_of(duty: Duty, due: date, on: date) -> DutyStatus:
    """The status of one due date of a duty at the close of a day.

    Parameters
    ----------
    duty : Duty
    due : date
        One of its due dates.
    on : date
        What was done later than this day is not yet known on it.

    Returns
    -------
    DutyStatus
        Done on the due date is on time. Of several records for one due date the earliest counts. Not done, it is
        late from the day after; due from `lead_days` before; upcoming earlier.

    Source
    ------
    Definition of this programme; that a duty outlives its paper is common practice, no source.

    Examples
    --------
    >>> report = Duty("D1", "Yearly report", Recurrence("once", date(2026, 12, 31)), lead_days=30, steps=(Step(1, "coordinator"),))
    >>> [status_of(report, date(2026, 12, 31), day).status for day in (date(2026, 11, 30), date(2026, 12, 1), date(2026, 12, 31))]
    ['upcoming', 'due', 'due']
    >>> status_of(report, date(2026, 12, 31), date(2027, 1, 1)).told
    ('coordinator',)
    """
    done_on = min((done.on for done in duty.done if done.due == due and done.on <= on), default=None)
    days_late = max(0, ((done_on or on) - due).days)
    if done_on is not None:
        return DutyStatus(duty.code, due, DONE_LATE if days_late else DONE_ON_TIME, days_late, done_on=done_on)
    if days_late:
        reached = [step for step in sorted(duty.steps, key=lambda step: (step.days_late, step.who)) if step.days_late <= days_late]
        return DutyStatus(duty.code, due, LATE, days_late, len(reached), tuple(step.who for step in reached))
    return DutyStatus(duty.code, due, DUE if due - timedelta(days=duty.lead_days) <= on else UPCOMING)


def statuses(duty: Duty, on: date, ahead_until: date) -> list[DutyStatus]:
    """Every due date from the first to `ahead_until`, each with its status on a day.

    Notes
    -----
    Neither the end nor the suspension of the paper stops a duty; only closing does. What fell due up to the day of
    closing stays in the list, done or late.

    Source
    ------
    As `status_of`.

    Examples
    --------
    >>> census = Duty("D2", "Census", Recurrence("years", date(2025, 10, 1)), done=(Done(date(2025, 10, 1), date(2025, 9, 20)),))
    >>> [(found.due.year, found.status) for found in statuses(census, date(2026, 10, 3), date(2027, 12, 31))]
    [(2025, 'done_on_time'), (2026, 'late'), (2027, 'upcoming')]
    """
    last = ahead_until if duty.closed_on is None or on < duty.closed_on else min(ahead_until, duty.closed_on)
    return [status_of(duty, due, on) for due in occurrences(duty.recurrence, duty.recurrence.first_due, last)]


def overdue_titles(duties: Iterable[Duty], on: date) -> tuple[str, ...]:
    """The duties late on a day, in words for `Paper.duties_overdue`.

    Source
    ------
    As `status_of`.

    Examples
    --------
    >>> overdue_titles([Duty("D1", "Yearly report", Recurrence("once", date(2026, 12, 31)))], date(2027, 1, 2))
    ('Yearly report, due 31 Dec 2026',)
    """
    late = ((duty.title, found.due) for duty in duties for found in statuses(duty, on, on) if found.status == LATE)
    return tuple(f"{title}, due {day_words(due)}" for title, due in sorted(late))


def done_without_due(duty: Duty) -> tuple[Done, ...]:
    """Records of something done that match no due date, as after a change of the recurrence: a person must look at them.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> duty = Duty("D1", "Report", Recurrence("once", date(2026, 12, 31)), done=(Done(date(2026, 12, 1), date(2026, 12, 1)),))
    >>> [done.due for done in done_without_due(duty)]
    [datetime.date(2026, 12, 1)]
    """
    return tuple(done for done in duty.done if done.due not in occurrences(duty.recurrence, done.due, done.due))


def notice_reached(ends_on: date, steps: Iterable[int], on: date) -> int | None:
    """The nearest notice reached before a paper ends, such as 180, 90 or 30 days.

    Parameters
    ----------
    ends_on : date
        Last day in force.
    steps : iterable of int
        Days before the end.
    on : date

    Returns
    -------
    int or None
        One of `steps`; None before the first and after the end.

    Source
    ------
    Definition of this programme: the steps are its own settings.

    Examples
    --------
    >>> [notice_reached(date(2026, 12, 31), (180, 90, 30), day) for day in (date(2026, 10, 1), date(2026, 10, 2), date(2026, 12, 31))]
    [180, 90, 30]
    """
    days = (ends_on - on).days
    return min((step for step in steps if 0 <= days <= step), default=None)
