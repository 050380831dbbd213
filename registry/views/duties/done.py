"""A due date of a duty is done, with its evidence; the correction of such a record; the end of a duty."""

from datetime import timedelta

from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from registry.calc.shared.screen import day_words
from registry.forms.duties.duties import DutyCloseForm, DutyDoneCorrectForm, DutyDoneForm
from registry.models import Duty, DutyDone
from registry.selectors.duties.dates import duty_dates, open_dates, with_done
from registry.services.duties.duties import duty_close, duty_done_correct, duty_done_enter
from registry.views.duties.words import AHEAD_SHOWN_DAYS, status_words
from registry.views.permits.stored_file import StoredFileView
from registry.views.shared.details import PART_ROWS_MAX
from registry.views.shared.forms import RecordActionView


def open_days(duty):
    """[(due date, its status in words)] of a duty of `with_done` that are not done: what is late, due, and what comes next."""
    today = timezone.localdate()
    dates = duty_dates(duty, today, max(today + timedelta(days=AHEAD_SHOWN_DAYS), duty.first_due_on))
    return [(status.due, status_words(status)) for status in dates if status.done_on is None]


class DutyDoneView(RecordActionView):
    model = Duty
    action = "duty.done"
    form_class = DutyDoneForm
    title = _("Done: {object.title}")
    question = _("What was done, when, and what is the evidence?")
    submit_label = _("Mark it done")
    success_message = _("Marked as done.")
    service = duty_done_enter
    person_box = "by"
    initial = property(lambda page: {"due_on": page.request.GET.get("due", "")})

    @property
    def form_extras(self):
        duty = with_done(self.scoped(Duty).filter(pk=self.object.pk)).get()
        return {"dates": open_days(duty)[:PART_ROWS_MAX], "wanted": duty.evidence_wanted}


class DutyDoneCorrectView(RecordActionView):
    model = DutyDone
    action = "duty.done"
    form_class = DutyDoneCorrectForm
    title = _("Correct: {object}")
    question = _("What is correct, and why was it wrong?")
    submit_label = _("Save the correction")
    success_message = _("Correction saved. The record it replaces stays on file.")
    service = duty_done_correct
    argument = "record"
    back_to = property(lambda page: page.object.duty)

    @property
    def form_extras(self):
        duty = with_done(Duty.objects.filter(pk=self.object.duty_id)).get()
        dates = [(self.object.due_on, _("as entered")), *open_days(duty)]
        return {"dates": dates, "wanted": duty.evidence_wanted}

    @property
    def initial(self):
        done = self.object
        return {"due_on": done.due_on.isoformat(), "done_on": done.done_on, "by": done.by, "evidence": done.evidence}


class DutyFileView(StoredFileView):
    model = DutyDone


class DutyCloseView(RecordActionView):
    model = Duty
    action = "duty.edit"
    form_class = DutyCloseForm
    service = duty_close
    title = "Close {object}"
    question = "Why does this duty end?"
    submit_label = "Close the duty"
    success_message = "Duty closed. What was done and what was not stays on file."

    @property
    def cautions(self):
        duty = with_done(self.scoped(Duty).filter(pk=self.object.pk)).get()
        late = ", ".join(day_words(date.due) for date in open_dates([duty], self.today) if date.is_late)
        left = f" Not done: what was due on {late}. It stays on file as not done." if late else ""
        text = f"A paper that has ended does not end its duties. Only its issuer can say that nothing more is due.{left}"
        return [{"title": "Check with the local authority", "text": text}]
