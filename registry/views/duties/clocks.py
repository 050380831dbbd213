"""What is owed under one paper: its duties, incidents and the clocks, which are edited here."""

from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone

from registry.forms.duties.duties import ReportingClockForm
from registry.models import Authorization, ReportingClock
from registry.selectors.permits.as_of import paper_on
from registry.services.duties.duties import clock_save
from registry.views.duties.duties import duty_parts
from registry.views.shared.generic import RecordActionView, RecordDetailView
from registry.views.shared.section_views import allowed


class AuthorizationDutiesView(RecordDetailView):
    """The duties, clocks and incidents of a paper on one page; its clocks are edited here."""

    model = Authorization
    action = "authorization.view"
    question = "What is owed under this paper, and by when must an incident be told?"

    def get_title(self):
        return f"Duties of {self.object}"

    def get_trace_code(self):
        return ""

    def get_history(self):
        return []

    def get_page(self):
        paper = self.object
        parts = duty_parts(self.request.user, paper)
        parts["actions"] = allowed(
            self.request.user,
            ("New duty", "duty.edit", f"{reverse('duty_add')}?paper={paper.pk}"),
            ("New clock", "duty.edit", reverse("reportingclock_add", args=[paper.pk])),
            ("Report an incident", "incident.enter", f"{reverse('incident_add')}?paper={paper.pk}"),
            ("The paper", "authorization.view", reverse("authorization_detail", args=[paper.pk])),
        )
        return parts | {"code": paper.code, "state": paper_on(paper, timezone.localdate()).get_state_display(), "where": paper.issuer}


class ReportingClockAddView(RecordActionView):
    model = Authorization
    action = "duty.edit"
    form_class = ReportingClockForm
    question = "What must be told to whom, within how long of the discovery?"
    submit_label = "Save the clock"

    def get_title(self):
        return f"New clock of {self.object}"

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"instance": ReportingClock(authorization=self.object)}

    def get_cancel_url(self):
        return reverse("authorization_duties", args=[self.object.pk])

    def perform(self, form):
        return clock_save(actor=self.request.user, clock=form.instance)


class ReportingClockEditView(RecordActionView):
    model = ReportingClock
    action = "duty.edit"
    form_class = ReportingClockForm
    question = "What does the paper say about incidents?"
    submit_label = "Save the clock"

    def get_title(self):
        return f"Change the clock “{self.object.title}”"

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"instance": get_object_or_404(self.scoped(ReportingClock), pk=self.object.pk)}

    def get_cancel_url(self):
        return reverse("authorization_duties", args=[self.object.authorization_id])

    def perform(self, form):
        return clock_save(actor=self.request.user, clock=form.instance, reason=form.cleaned_data["reason"])
