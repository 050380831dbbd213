"""What is due under one paper: its duties, incidents and incident clocks, which are edited here."""

from django.utils.functional import cached_property

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
    title = "Duties of {object}"
    trace_code = ""
    has_history = False
    actions = (NEW_DUTY, NEW_CLOCK, REPORT_INCIDENT, Action("The paper", "authorization_detail", "authorization.view"))
    sections = (DUTIES, CLOCKS, INCIDENTS)

    def get_object(self, queryset=None):
        return paper_on(super().get_object(queryset), self.today)

    def get_due(self):
        return self.duty_lines


class ClockView(RecordActionView):
    """A clock of a paper, new or changed."""

    action = "duty.edit"
    form_class = ReportingClockForm
    submit_label = "Save the clock"
    success_message = "Clock saved."
    form_extras = property(lambda page: {"instance": page.clock})

    def get_cancel_url(self):
        return reverse_to("authorization_duties", self.clock.authorization_id)

    get_success_url = get_cancel_url

    def perform(self, form):
        return clock_save(actor=self.user, clock=form.instance, reason=form.cleaned_data.get("reason", ""))


class ReportingClockAddView(ClockView):
    model = Authorization
    title = "New clock of {object}"
    question = "What to report, to whom, and how soon after the discovery?"
    clock = cached_property(lambda page: ReportingClock(authorization=page.object))


class ReportingClockEditView(ClockView):
    model = ReportingClock
    title = "Change the clock “{object.title}”"
    question = "What does the paper say about incidents?"
    # a copy: the form writes into what it is given, and the title names the clock as it is stored
    clock = cached_property(lambda page: page.scoped(ReportingClock).get(pk=page.object.pk))
