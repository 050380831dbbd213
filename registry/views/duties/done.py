"""A due date of a duty is done, with what shows it; the correction of such a record; the end of a duty."""

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views import View

from registry.access.views import AccessMixin
from registry.calc.shared.screen import day_words
from registry.forms.duties.duties import DutyCloseForm, DutyDoneCorrectForm, DutyDoneForm
from registry.models import Duty, DutyDone
from registry.selectors.duties.dates import duty_dates, open_dates, with_done
from registry.selectors.permits.documents import file_content, file_fault
from registry.services.duties.duties import duty_close, duty_done_correct, duty_done_enter
from registry.views.duties.words import AHEAD_SHOWN_DAYS, duty_url, status_words
from registry.views.shared.generic import RecordActionView, file_response
from registry.views.shared.section_views import PART_ROWS_MAX


class DutyDoneView(RecordActionView):
    model = Duty
    action = "duty.done"
    form_class = DutyDoneForm
    question = "What was done, when, and what shows it?"
    submit_label = "Mark it done"
    success_message = "It is in the book as done."

    def get_title(self):
        return f"Done: {self.object.title}"

    def get_dates(self):
        """The due dates to choose from, those not done first: what is late, due, and what comes next."""
        duty = with_done(self.scoped(Duty).filter(pk=self.object.pk)).get()
        today = timezone.localdate()
        ahead = today.fromordinal(today.toordinal() + AHEAD_SHOWN_DAYS)
        dates = [status for status in duty_dates(duty, today, max(ahead, duty.first_due_on)) if status.done_on is None]
        return [(status.due, status_words(status)) for status in dates][:PART_ROWS_MAX]

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"dates": self.get_dates(), "wanted": self.object.evidence_wanted}

    def get_initial(self):
        return {"due_on": self.request.GET.get("due", ""), "by": str(self.request.user)}

    def perform(self, form):
        return duty_done_enter(actor=self.request.user, duty=self.object, **done_values(form))


def done_values(form):
    """The cleaned values of a done form as the services take them."""
    values = dict(form.cleaned_data)
    file = values.pop("file")
    return values | ({"content": file.read(), "filename": file.name} if file else {})


class DutyDoneCorrectView(RecordActionView):
    model = DutyDone
    action = "duty.done"
    form_class = DutyDoneCorrectForm
    question = "What is right, and why was it wrong?"
    submit_label = "Store the correction"
    success_message = "The correction is in the book, beside what it corrects."

    def get_title(self):
        return f"Correct: {self.object}"

    def get_form_kwargs(self):
        duty = with_done(Duty.objects.filter(pk=self.object.duty_id)).get()
        today = timezone.localdate()
        ahead = today.fromordinal(today.toordinal() + AHEAD_SHOWN_DAYS)
        open_days = [(s.due, status_words(s)) for s in duty_dates(duty, today, max(ahead, duty.first_due_on)) if s.done_on is None]
        return super().get_form_kwargs() | {"dates": [(self.object.due_on, "as entered"), *open_days], "wanted": duty.evidence_wanted}

    def get_initial(self):
        done = self.object
        return {"due_on": done.due_on.isoformat(), "done_on": done.done_on, "by": done.by, "evidence": done.evidence}

    def get_cancel_url(self):
        return duty_url(self.object.duty)

    def perform(self, form):
        return duty_done_correct(actor=self.request.user, record=self.object, **done_values(form))


class DutyFileView(AccessMixin, View):
    """The file that shows a duty done, as a download."""

    action = "document.view"

    def get(self, request, pk):
        done = get_object_or_404(self.scoped(DutyDone).select_related("file").filter(file__isnull=False), pk=pk)
        fault = file_fault(done.file)
        if fault:
            raise Http404(f"The file of “{done}” cannot be handed out: {fault}. Take it from the backup.")
        response = file_response(file_content(done.file), done.file.content_type, done.file.filename)
        response["Cache-Control"] = "private, no-store"
        return response


class DutyCloseView(RecordActionView):
    model = Duty
    action = "duty.edit"
    form_class = DutyCloseForm
    question = "Why does this duty end?"
    submit_label = "Close the duty"
    success_message = "The duty is closed. What was done and what was not stays in the book."

    def get_title(self):
        return f"Close {self.object}"

    def get_cautions(self):
        duty = with_done(self.scoped(Duty).filter(pk=self.object.pk)).get()
        late = [date for date in open_dates([duty], timezone.localdate()) if date.is_late]
        left = f" Not done: what was due on {', '.join(day_words(date.due) for date in late)}. It stays so in the book." if late else ""
        text = f"A paper that has ended does not end its duties; only its issuer can say that nothing is owed any more.{left}"
        return [{"title": "Check with the local authority", "text": text}]

    def perform(self, form):
        return duty_close(actor=self.request.user, duty=self.object, **form.cleaned_data)
