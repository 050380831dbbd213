"""What a paper asks for, as sections of its pages: duties, incident clocks, incidents."""

from django.utils import timezone
from django.utils.functional import cached_property

from registry.models import Duty, Incident, ReportingClock
from registry.selectors.duties.dates import next_date, open_dates, with_done
from registry.selectors.duties.due_lines import duty_line
from registry.views.duties.words import DUTY_COLUMNS, DutyRow, clock_words
from registry.views.shared.details import PART_ROWS_MAX
from registry.views.shared.sections import Action, Section
from registry.views.shared.tables import Column, Link


class PaperDuties:
    """Of a page of one paper: its duties, read once, in two queries for any number."""

    @cached_property
    def duties(self):
        return list(with_done(self.scoped(Duty).filter(authorization=self.object))) if self.may("duty.view") else []

    @property
    def duty_rows(self):
        """What is never due again comes last."""
        rows = (DutyRow(duty, next_date(duty, self.today)) for duty in self.duties)
        return sorted(rows, key=lambda row: (row.status is None, row.duty.code))

    @property
    def duty_lines(self):
        return [duty_line(date, self.user, self.today, with_paper=False) for date in open_dates(self.duties, self.today)]

    @property
    def named(self):
        """The paper, as the first value of a form that is opened from here."""
        return {"paper": self.object.pk}


NEW_DUTY = Action("New duty", "duty_add", "duty.edit", key=None, query=lambda page: page.named)
NEW_CLOCK = Action("New clock", "reportingclock_add", "duty.edit")
REPORT_INCIDENT = Action("Report an incident", "incident_add", "incident.enter", key=None, query=lambda page: page.named)

DUTIES = Section(
    title="Duties",
    unit="duties",
    may="duty.view",
    note="Duties continue after the paper has ended. Only closing one, with a reason, ends it.",
    rows=lambda page: page.duty_rows,
    columns=tuple(column for column in DUTY_COLUMNS if column.label != "Paper"),
    mark=lambda row: row.mark,
    missing="duties",
    add=NEW_DUTY,
)
CLOCKS = Section(
    title="Incident clocks",
    unit="clocks",
    may="duty.view",
    note="They start when an incident is discovered. Check with the local authority how it counts.",
    rows=lambda page: page.scoped(ReportingClock).filter(authorization=page.object),
    columns=(
        Column("What to tell", "title", url=Link("reportingclock_edit", may="duty.edit")),
        Column("Whom", "tell"),
        Column("Within", clock_words),
        Column("As the paper says", "as_written", wide=True),
    ),
    missing="incident clocks",
    add=NEW_CLOCK,
)
INCIDENTS = Section(
    title="Incidents",
    unit="incidents",
    may="incident.view",
    rows=lambda page: page.scoped(Incident).filter(authorizations=page.object),
    most=PART_ROWS_MAX,
    columns=(
        Column("Incident", "code", kind="code", url=Link("incident_detail")),
        Column("In a few words", "title", wide=True),
        Column("Discovered", lambda incident: timezone.localtime(incident.found_at).date(), kind="date"),
        Column("State", lambda incident: "closed" if incident.closed_on else "open", kind="state"),
    ),
    missing="incidents",
    add=REPORT_INCIDENT,
)
