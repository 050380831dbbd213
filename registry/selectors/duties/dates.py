"""When duties fall due, their status on a day, and to whom the overdue ones are escalated.

The rules themselves are `compliance.duties` and `compliance.recurrence`; here they are given the records.
"""

import datetime
from dataclasses import dataclass, replace

from django.db.models import Prefetch
from django.utils.translation import gettext, gettext_noop

from registry.access import roles
from registry.access.active import is_active_on
from registry.choices import Recurrence as Kind
from registry.compliance.duties.duties import DUE, LATE, UPCOMING, Done, DutyStatus, Step, done_without_due, statuses
from registry.compliance.duties.recurrence import add_months, occurrences
from registry.models import Duty, DutyDone
from registry.selectors.duties.facts import duty_fact
from registry.selectors.shared.local_units import local_amount, local_unit
from registry.selectors.shared.local_words import has_decimal_comma, local_day, local_month

__all__ = [
    "COORDINATORS", "ESCALATION", "LEAD", "NOBODY", "OpenDate", "dates_unclosed", "done_astray", "duty_dates", "duty_recurrence",
    "duty_rule", "escalation_words", "first_occurrence", "is_own", "next_date", "open_dates", "recurrence_words", "with_done",
]  # fmt: skip

RESPONSIBLE, SECOND = gettext_noop("responsible person"), gettext_noop("second person")
COORDINATORS, LEAD = gettext_noop("coordinators"), gettext_noop("programme lead")
ESCALATION = (Step(1, RESPONSIBLE), Step(7, SECOND), Step(14, COORDINATORS), Step(30, LEAD))  # common practice, no source
NOBODY = gettext_noop("no one named")
_STEPS_AHEAD = 3  # how many occurrences are looked at to find the next one that is not done


@dataclass(frozen=True, slots=True)
class OpenDate:
    """A due date of a duty that is not done."""

    duty: Duty
    status: DutyStatus

    @property
    def due(self):
        return self.status.due

    @property
    def is_late(self):
        return self.status.status == LATE


def with_done(queryset):
    """Duties with their paper, their people and what is recorded as done (`done_now`): two queries for any number."""
    done = DutyDone.objects.filter(superseded_by__isnull=True).select_related("file", "entered_by")
    people = ("authorization", "responsible", "second")
    return queryset.select_related(*people).prefetch_related(Prefetch("done", done, to_attr="done_now"))


def duty_recurrence(duty):
    """The recurrence of a duty as the rules take it. Raises `ValueError` when its parts do not fit together."""
    return duty_fact(duty).recurrence


def duty_rule(duty, on):
    """A duty of `with_done` as the rules take it, with the people it escalates to on a day."""
    return duty_fact(duty, [Done(done.due_on, done.done_on, done.evidence) for done in duty.done_now], _escalation(duty, on))


def _escalation(duty, on):
    """The steps, with the coordinators in place of a person who is not named or has left."""
    there = {RESPONSIBLE: is_active_on(duty.responsible, on), SECOND: is_active_on(duty.second, on)}
    first = {}
    for step in ESCALATION:
        who = step.who if there.get(step.who, True) else COORDINATORS
        first.setdefault(who, Step(step.days_late, who))
    return tuple(first.values())


def duty_dates(duty, on, until):
    """Every due date of a duty to `until`, with its status at the close of a day: [DutyStatus], the earliest first."""
    return statuses(duty_rule(duty, on), on, until)


def dates_unclosed(duty, on, until):
    """As `duty_dates`, as if it were not closed: for a calendar that shows those days as cancelled."""
    return statuses(replace(duty_rule(duty, on), closed_on=None), on, until)


def open_dates(duties, on, within_days=0):
    """What is late or due on a day, or falls due within so many days: [OpenDate], the earliest first. Closed duties have none."""
    found = []
    for duty in duties:
        if duty.closed_on and duty.closed_on <= on:
            continue
        within = _day_after(on, within_days)
        until = max(within, _day_after(on, duty.lead_days))
        for status in duty_dates(duty, on, until):
            if status.status in (LATE, DUE) or (status.status == UPCOMING and status.due <= within):
                found.append(OpenDate(duty, status))
    return sorted(found, key=lambda date: (date.due, date.duty.code))


def next_date(duty, on):
    """The earliest due date that is not done, late or to come; None when nothing more is due."""
    if duty.closed_on and duty.closed_on <= on:
        return None
    found = [status for status in duty_dates(duty, on, _horizon(duty, on)) if status.status in (LATE, DUE, UPCOMING)]
    return found[0] if found else None


def _horizon(duty, on):
    start = max(on, duty.first_due_on)
    years = {Kind.ONCE: 0, Kind.MONTHS: duty.every / 12, Kind.YEARS: duty.every}.get(duty.recurrence, 1)
    try:
        return add_months(start, _STEPS_AHEAD * round(12 * years) + 12)
    except ValueError:
        return datetime.date.max


def _day_after(on, days):
    return datetime.date.fromordinal(min(on.toordinal() + days, datetime.date.max.toordinal()))


def is_own(date, user):
    """Whether an open date is for this person to do: their duty, or one that has escalated to their role."""
    escalated = (COORDINATORS in date.status.told and user.role == roles.COORDINATOR) or (
        LEAD in date.status.told and user.role == roles.LEAD
    )
    return user.pk in (date.duty.responsible_id, date.duty.second_id) or escalated


def done_astray(duty, on):
    """Records of something done that match no due date, as after a change of the recurrence: [DutyDone]."""
    astray = {done.due for done in done_without_due(duty_rule(duty, on))}
    return [done for done in duty.done_now if done.due_on in astray]


def recurrence_words(duty):
    """'every year, 14 days before 15 Jun'."""
    words = gettext(_RECURRENCES[duty.recurrence]) % {
        "first": local_day(duty.first_due_on),
        "months": _every(duty.every, "months"),
        "years": _every(duty.every, "years"),
        "days": local_amount(duty.days_before or 0, "days"),
        "day": _season_day(duty),
    }
    return gettext("%(words)s, until %(day)s") % {"words": words, "day": local_day(duty.until_on)} if duty.until_on else words


_RECURRENCES = {
    Kind.ONCE: gettext_noop("once, on %(first)s"),
    Kind.MONTHS: gettext_noop("every %(months)s from %(first)s"),
    Kind.YEARS: gettext_noop("every %(years)s from %(first)s"),
    Kind.YEARLY_ON: gettext_noop("every year on %(day)s"),
    Kind.BEFORE_SEASON: gettext_noop("every year, %(days)s before %(day)s"),
}


def _every(number, unit):
    return local_unit(number, unit) if number == 1 else local_amount(number or 0, unit)


def _season_day(duty):
    if not duty.season_month:
        return ""
    month = local_month(duty.season_month)
    return f"{duty.season_day} {month if has_decimal_comma() else month[:3]}"


def escalation_words(duty, on):
    """'the responsible person from 1 day overdue, the second person from 7 days overdue'."""
    steps = sorted(_escalation(duty, on), key=lambda step: step.days_late)
    words = gettext("the %(who)s from %(days)s overdue")
    return ", ".join(words % {"who": gettext(step.who), "days": local_amount(step.days_late, "days")} for step in steps)


def first_occurrence(duty):
    """The first day on which a duty falls due; None when none does before it ends."""
    found = occurrences(duty_recurrence(duty), duty.first_due_on, _horizon(duty, duty.first_due_on))
    return found[0] if found else None
