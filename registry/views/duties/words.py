"""How duties and clocks are shown on every page that has them."""

from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from registry.calc.shared.screen import amount_words
from registry.compliance.duties.duties import DONE_LATE, DONE_ON_TIME, DUE, LATE, STATUSES, UPCOMING, DutyStatus
from registry.models import Duty
from registry.selectors.duties.dates import recurrence_words
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_day
from registry.views.shared.tables import Column, Link

DUTY_LISTS = (
    (_("Duties"), "duty.view", "duty_list"),
    (_("Calendar"), "duty.view", "calendar"),
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
            return _("closed %(day)s") % {"day": local_day(self.duty.closed_on)}
        return status_words(self.status) if self.status else _("nothing more due")

    @property
    def mark(self):
        return "soft" if self.duty.closed_on else MARKS[self.status.status] if self.status else ""


DUTY_COLUMNS = (
    Column(_("Duty"), "duty.code", kind="code", url=Link("duty_detail", "duty.pk")),
    Column(_("Next due"), "status.due", kind="date"),
    Column(_("Status"), "words", kind="state"),
    Column(_("What must be done"), "duty.title", wide=True),
    Column(_("How often"), lambda row: recurrence_words(row.duty)),
    Column(_("Responsible"), lambda row: str(row.duty.responsible or "")),
    Column(_("Paper"), "duty.authorization.code", kind="code"),
    Column(_("Site"), "duty.site_code", kind="code"),
)


def status_words(status):
    """'overdue by 12 days', 'due', 'done late by 1 day'."""
    words = gettext(STATUSES[status.status])
    if not status.days_late:
        return words
    return _("%(status)s by %(days)s") % {"status": words, "days": local_amount(status.days_late, "days")}


def clock_words(clock):
    return "immediately" if clock.amount == 0 else f"{amount_words(clock.amount, clock.get_unit_display())} of the discovery"
