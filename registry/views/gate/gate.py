"""The gate on the pages of shipments and plantings: its answer, and a stop that the lead may override."""

import datetime

from django.urls import reverse
from django.utils.functional import cached_property

from registry.compliance.gate.answers import STOP
from registry.forms.gate.gate import GatedDayForm, override_field
from registry.selectors.gate.determinations import VERDICT_WORDS, gate_view, paper_keys, stored_answer
from registry.services.gate.determinations import GateStopped
from registry.views.shared.forms import RecordActionView
from registry.views.shared.sections import Section
from registry.views.shared.tables import Column, Link

PANEL = "registry/gate/_gate_part.html"
RELEASED = "Answer of the gate"


def paper_urls(user, *answers):
    """{paper code: address} of the papers answers name, for somebody who may open them."""
    if not user.may("authorization.view"):
        return {}
    return {code: reverse("authorization_detail", args=[pk]) for code, pk in paper_keys(answers).items()}


def fresh_part(user, answer, title="Papers and rules"):
    """The part of a page that shows what the gate says now; nothing is stored by looking."""
    return {"title": title, "include": PANEL, "gate": gate_view(answer, paper_urls(user, answer))}


def released_parts(user, records, words):
    """The panels that say what let a shipment or planting go: each answer it was carried out on, or `words` where there is none."""
    answers = [stored_answer(record) for record in records]
    urls = paper_urls(user, *answers)
    parts = [stored_part(record, answer, urls) | {"title": RELEASED} for record, answer in zip(records, answers, strict=True)]
    return parts or [{"title": RELEASED, "include": PANEL, "gate": None, "words": words}]


def other_answers(subject, rows):
    """The table of the stored answers on which nothing was carried out. `rows` is a function of the page."""
    return Section(
        title="Other answers of the gate",
        unit="answers",
        may="determination.view",
        note=f"What the gate said of this {subject} at other times. Nothing was done on these answers, or it was taken back.",
        rows=rows,
        columns=(
            Column("Stored on", "entered_at", kind="date", url=Link("determination_detail")),
            Column("Answer", lambda record: VERDICT_WORDS.get(record.verdict, record.verdict), wide=True),
            Column("For the day", "asked_for", kind="date"),
            Column("Asked by", lambda record: str(record.entered_by or "")),
        ),
        counted=False,
    )


def stored_part(record, answer, urls):
    by = str(record.override_by) if record.override_by_id else ""
    view = gate_view(answer, urls, overridden_by=by, reason=record.override_reason)
    return {"title": "Papers and rules", "include": PANEL, "gate": view | {"key": record.pk}, "record": record}


class GateStopMixin:
    """A form whose service asks the gate. After a stop the page shows the answer that stopped it; the lead gets a box to override it.

    Only the service asks the gate, so what is shown is what is stored.
    """

    template_name = "registry/gate/gate_form.html"
    stopped = None

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        if self.may("gate.override") and (form.is_bound or self.is_stop()):
            form.fields["override_reason"] = override_field()
        return form

    def perform(self, form):
        try:
            return super().perform(form)
        except GateStopped as stop:
            self.stopped = stop.answer
            raise

    def arguments(self, form):
        override_reason = form.cleaned_data.pop("override_reason", "")
        return super().arguments(form) | {"override_reason": override_reason}

    def get_answer(self):
        """The answer to show, or None."""
        return self.stopped

    def is_stop(self):
        answer = self.get_answer()
        return answer is not None and answer.verdict == STOP

    def get_context_data(self, **kwargs):
        page = super().get_context_data(**kwargs)
        answer, form = self.get_answer(), page["form"]
        if answer:
            page["gate"] = gate_view(answer, paper_urls(self.user, answer))
        if not self.is_stop() and not form.data.get("override_reason"):
            form.fields.pop("override_reason", None)
        return page


class GatedActionView(GateStopMixin, RecordActionView):
    """Something the gate decides on first: its answer is above the form from the start."""

    form_class = GatedDayForm
    template_name = "registry/gate/gate_confirm.html"
    day_label = "On"
    form_extras = property(lambda page: {"label": page.day_label})

    def ask(self, day):
        """What the gate says for a day."""
        raise NotImplementedError

    def get_answer(self):
        return self.stopped or self.answer

    @cached_property
    def answer(self):
        """For the day in the form, or today."""
        try:
            day = datetime.date.fromisoformat(self.request.POST.get("on", ""))
        except ValueError:
            day = self.today
        return self.ask(day)
