"""A due date of a duty is done, with its evidence; the correction of such a record; the end of a duty."""

from datetime import timedelta

from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.forms.duties.duties import DutyCloseForm, DutyDoneCorrectForm, DutyDoneForm
from registry.models import Duty, DutyDone
from registry.selectors.duties.dates import duty_dates, open_dates, with_done
from registry.services.duties.duties import duty_close, duty_done_correct, duty_done_enter
from registry.views.duties.words import AHEAD_SHOWN_DAYS, status_words
from registry.views.permits.stored_file import StoredFileView
from registry.views.shared.addresses import reverse_to
from registry.views.shared.details import PART_ROWS_MAX
from registry.views.shared.forms import RecordActionView


def done_values(form):
    """The cleaned values of a form with a file, as the services take them."""
    values = dict(form.cleaned_data)
    file = values.pop("file")
    return values | ({"content": file.read(), "filename": file.name} if file else {})


def open_days(duty):
    """[(due date, its status in words)] of a duty of `with_done` that are not done: what is late, due, and what comes next."""
    today = timezone.localdate()
    dates = duty_dates(duty, today, max(today + timedelta(days=AHEAD_SHOWN_DAYS), duty.first_due_on))
    return [(status.due, status_words(status)) for status in dates if status.done_on is None]


class DutyDoneView(RecordActionView):
    model = Duty
    action = "duty.done"
    form_class = DutyDoneForm
    title = "Done: {object.title}"
    question = "What was done, when, and what is the evidence?"
    submit_label = "Mark it done"
    success_message = "Marked as done."

    def get_form_kwargs(self):
        duty = with_done(self.scoped(Duty).filter(pk=self.object.pk)).get()
        return super().get_form_kwargs() | {"dates": open_days(duty)[:PART_ROWS_MAX], "wanted": duty.evidence_wanted}

    def get_initial(self):
        return {"due_on": self.request.GET.get("due", ""), "by": str(self.request.user)}

    def perform(self, form):
        return duty_done_enter(actor=self.request.user, duty=self.object, **done_values(form))


class DutyDoneCorrectView(RecordActionView):
    model = DutyDone
    action = "duty.done"
    form_class = DutyDoneCorrectForm
    title = "Correct: {object}"
    question = "What is correct, and why was it wrong?"
    submit_label = "Save the correction"
    success_message = "Correction saved. The record it replaces stays on file."

    def get_form_kwargs(self):
        duty = with_done(Duty.objects.filter(pk=self.object.duty_id)).get()
        dates = [(self.object.due_on, "as entered"), *open_days(duty)]
        return super().get_form_kwargs() | {"dates": dates, "wanted": duty.evidence_wanted}

    def get_initial(self):
        done = self.object
        return {"due_on": done.due_on.isoformat(), "done_on": done.done_on, "by": done.by, "evidence": done.evidence}

    def get_cancel_url(self):
        return reverse_to("duty_detail", self.object.duty_id)

    def perform(self, form):
        return duty_done_correct(actor=self.request.user, record=self.object, **done_values(form))


class DutyFileView(StoredFileView):
    model = DutyDone


class DutyCloseView(RecordActionView):
    model = Duty
    action = "duty.edit"
    form_class = DutyCloseForm
    service = duty_close
    argument = "duty"
    title = "Close {object}"
    question = "Why does this duty end?"
    submit_label = "Close the duty"
    success_message = "Duty closed. What was done and what was not stays on file."

    def get_cautions(self):
        duty = with_done(self.scoped(Duty).filter(pk=self.object.pk)).get()
        late = ", ".join(day_words(date.due) for date in open_dates([duty], timezone.localdate()) if date.is_late)
        left = f" Not done: what was due on {late}. It stays on file as not done." if late else ""
        text = f"A paper that has ended does not end its duties. Only its issuer can say that nothing more is due.{left}"
        return [{"title": "Check with the local authority", "text": text}]
