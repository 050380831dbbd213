"""What is due under one paper: its duties, incidents and incident clocks, which are edited here."""

from registry.forms.duties.duties import ReportingClockForm
from registry.models import Authorization, ReportingClock
from registry.selectors.permits.as_of import paper_on
from registry.services.duties.duties import clock_save
from registry.views.duties.paper_sections import CLOCKS, DUTIES, INCIDENTS, NEW_CLOCK, NEW_DUTY, REPORT_INCIDENT, PaperDuties
from registry.views.shared.addresses import reverse_to
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView
from registry.views.shared.sections import Action


class AuthorizationDutiesView(PaperDuties, RecordDetailView):
    """The duties, clocks and incidents of a paper on one page."""

    model = Authorization
    action = "authorization.view"
    question = "What is due under this paper, and how soon must an incident be reported?"
    state = "get_state_display"
    where = "issuer"
    actions = (
        NEW_DUTY,
        NEW_CLOCK,
        REPORT_INCIDENT,
        Action(label="The paper", route="authorization_detail", may="authorization.view"),
    )
    sections = (DUTIES, CLOCKS, INCIDENTS)

    def get_object(self, queryset=None):
        return paper_on(super().get_object(queryset), self.today)

    def get_title(self):
        return f"Duties of {self.object}"

    def get_trace_code(self):
        return ""

    def get_history(self):
        return []

    def get_due(self):
        return self.duty_lines


class ClockView(RecordActionView):
    """A clock of a paper, new or changed."""

    action = "duty.edit"
    form_class = ReportingClockForm
    submit_label = "Save the clock"
    success_message = "Clock saved."

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"instance": self.get_clock()}

    def get_cancel_url(self):
        return reverse_to("authorization_duties", self.get_clock().authorization_id)

    def perform(self, form):
        return clock_save(actor=self.request.user, clock=form.instance, reason=form.cleaned_data.get("reason", ""))


class ReportingClockAddView(ClockView):
    model = Authorization
    title = "New clock of {object}"
    question = "What to report, to whom, and how soon after the discovery?"

    def get_clock(self):
        return ReportingClock(authorization=self.object)


class ReportingClockEditView(ClockView):
    model = ReportingClock
    title = "Change the clock “{object.title}”"
    question = "What does the paper say about incidents?"

    def get_clock(self):
        # a copy: the form writes into what it is given, and the title names the clock as it is stored
        return self.scoped(ReportingClock).get(pk=self.object.pk)
