"""How duties and clocks are spoken of on every page that shows them."""

from dataclasses import dataclass

from django.urls import reverse

from registry.calc.shared.screen import amount_words, day_words
from registry.compliance.duties.duties import DONE_LATE, DONE_ON_TIME, DUE, LATE, STATUSES, UPCOMING, DutyStatus
from registry.models import Duty
from registry.selectors.duties.dates import is_own
from registry.selectors.duties.duty_line import Duty as Line

DUTY_LISTS = (
    ("Duties", "duty.view", "duty_list"),
    ("Calendar", "duty.view", "calendar"),
    ("Incidents", "incident.view", "incident_list"),
    ("Papers", "authorization.view", "authorization_list"),
)
AHEAD_SHOWN_DAYS = 800  # two occurrences of what comes once a year
MARKS = {LATE: "late", DUE: "soon", DONE_ON_TIME: "", DONE_LATE: "odd", UPCOMING: ""}


@dataclass(frozen=True, slots=True)
class DutyRow:
    """A row of the list: a duty and its nearest due date that is not done."""

    duty: Duty
    status: DutyStatus | None

    @property
    def standing(self):
        if self.duty.closed_on:
            return f"closed {day_words(self.duty.closed_on)}"
        return status_words(self.status) if self.status else "nothing more is due"


def duty_url(duty):
    return reverse("duty_detail", args=[duty.pk])


def status_words(status):
    """'late by 12 days', 'due', 'done late by 1 day'."""
    days = f" by {amount_words(status.days_late, 'days')}" if status.days_late else ""
    return f"{STATUSES[status.status]}{days}"


def duty_line(date, user):
    """An open date of a duty as a line of what is due."""
    told = f"; told: {', '.join(date.status.told)}" if date.status.told else ""
    text = f"{date.duty.title}: {status_words(date.status)}"
    who = f"{date.duty.responsible or 'nobody is named'}{told}"
    return Line("late" if date.is_late else "soon", text, date.due, duty_url(date.duty), who, is_own(date, user))


def clock_words(clock):
    return "at once" if clock.amount == 0 else f"{clock.amount} {clock.get_unit_display()} of the discovery"
