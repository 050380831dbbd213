"""How duties and clocks are shown on every page that has them."""

from dataclasses import dataclass

from registry.calc.shared.screen import amount_words, day_words
from registry.compliance.duties.duties import DONE_LATE, DONE_ON_TIME, DUE, LATE, STATUSES, UPCOMING, DutyStatus
from registry.models import Duty
from registry.selectors.duties.dates import recurrence_words
from registry.views.shared.tables import Column, Link

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
    """A row of a table of duties: a duty and its nearest due date that is not done."""

    duty: Duty
    status: DutyStatus | None

    @property
    def words(self):
        if self.duty.closed_on:
            return f"closed {day_words(self.duty.closed_on)}"
        return status_words(self.status) if self.status else "nothing more due"

    @property
    def mark(self):
        return "soft" if self.duty.closed_on else MARKS[self.status.status] if self.status else ""


DUTY_COLUMNS = (
    Column("Duty", "duty.code", kind="code", url=Link("duty_detail", "duty.pk")),
    Column("Next due", "status.due", kind="date"),
    Column("Status", "words", kind="state"),
    Column("What must be done", "duty.title", wide=True),
    Column("How often", lambda row: recurrence_words(row.duty)),
    Column("Responsible", lambda row: str(row.duty.responsible or "")),
    Column("Paper", "duty.authorization.code", kind="code"),
    Column("Site", "duty.site_code", kind="code"),
)


def status_words(status):
    """'overdue by 12 days', 'due', 'done late by 1 day'."""
    days = f" by {amount_words(status.days_late, 'days')}" if status.days_late else ""
    return f"{STATUSES[status.status]}{days}"


def clock_words(clock):
    return "immediately" if clock.amount == 0 else f"{amount_words(clock.amount, clock.get_unit_display())} of the discovery"
