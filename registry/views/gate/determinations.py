"""The answers of the gate: the list of those stored, the page of one, and the page that asks the gate about an activity."""

import hashlib
import json

from django.shortcuts import redirect
from django.utils.functional import cached_property
from django.views.generic import FormView

from registry.calc.shared.screen import day_words
from registry.choices import CautionTask
from registry.compliance.gate.codec import to_json
from registry.compliance.gate.words import ACTIVITIES, DESTROY, FLOWERS, INOCULATE, PESTICIDE
from registry.forms.gate.gate import ActivityForm, DeterminationFilters
from registry.models import Determination
from registry.selectors.duties.duty_line import Duty
from registry.selectors.gate.asked import activity_question, conditions_of
from registry.selectors.gate.determinations import VERDICT_WORDS, gate_ask, gate_view, repeat_fault, stored_answer
from registry.services.gate.determinations import determination_store
from registry.views.gate.gate import paper_urls, stored_part
from registry.views.permits.words import PAPER_LISTS
from registry.views.safety.task_cautions import task_cautions
from registry.views.shared.addresses import link, record_url, yes_no
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import ServiceFormMixin
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Fact, Panel
from registry.views.shared.tables import Column, Link

# activities that can hurt people, with the task whose cautions are shown
_TASKS = {INOCULATE: CautionTask.INOCULATION, PESTICIDE: CautionTask.PESTICIDE}


class DeterminationListView(RecordListView):
    model = Determination
    action = "determination.view"
    title = "Gate answers"
    question = "What did we ask the gate, what did it answer, and where did the lead override it?"
    unit = "answers"
    filter_form = DeterminationFilters
    others = (*PAPER_LISTS, ("Ask the gate", "gate.ask", "determination_ask"))
    empty = ("No gate answers yet", "The gate decides when a shipment is dispatched or a planting is marked as planted.", None)
    # the facts may be large, and a list shows none of them
    read = staticmethod(lambda records: records.defer("question", "facts", "answer"))
    related = ("override_by", "entered_by")
    row_mark = staticmethod(lambda record: "odd" if record.override_by_id else "")
    columns = (
        Column("Stored on", "entered_at", kind="date", url=Link("determination_detail")),
        Column("Shipment or planting", "subject", kind="code"),
        Column("Answer", lambda record: VERDICT_WORDS.get(record.verdict, record.verdict), wide=True),
        Column("About", lambda record: ACTIVITIES.get(record.activity, record.activity)),
        Column("For the day", "asked_for", kind="date"),
        Column("Carried out", lambda record: yes_no(record.carried_out)),
        Column("Overridden by", lambda record: str(record.override_by or "")),
        Column("Asked by", lambda record: str(record.entered_by or "")),
    )


class DeterminationDetailView(RecordDetailView):
    model = Determination
    action = "determination.view"
    question = "Why did the gate let this go, or stop it?"
    related = ("entered_by", "override_by")
    trace_code = ""
    state = property(lambda page: VERDICT_WORDS.get(page.object.verdict, page.object.verdict))
    where = property(lambda page: f"for {day_words(page.object.asked_for)}")
    facts = (
        Fact("Shipment or planting", "subject", lambda page: page.subject_url),
        Fact("Asked by", "entered_by"),
        Fact("Stored on", "entered_at"),
        Fact("Carried out", "carried_out"),
        Fact("Rules checked", lambda page: f"{len(page.object.facts['requirements'])}"),
        Fact("Papers checked", lambda page: f"{len(page.object.facts['papers'])}"),
        Fact("Run again from its stored facts", lambda page: page.repeated),
    )
    sections = (Panel(draw_parts=lambda page: [page.answer_part]),)

    fault = cached_property(lambda page: repeat_fault(page.object))
    repeated = property(lambda page: f"It cannot be repeated: {page.fault}." if page.fault else "It gives the same answer again.")

    @property
    def title(self):
        about = ACTIVITIES.get(self.object.activity, self.object.activity)
        return f"{about[0].upper()}{about[1:]}: {self.object.subject or 'an activity'}"

    def get_due(self):
        return [Duty("odd", self.repeated)] if self.fault else []

    @property
    def answer_part(self):
        answer = stored_answer(self.object)
        return stored_part(self.object, answer, paper_urls(self.user, answer))

    @property
    def subject_url(self):
        return link(self.user, "shipment.view", "shipment_detail", self.object.shipment_id) if self.object.shipment_id else None


class DeterminationAskView(ServiceFormMixin, FormView):
    """Asks the gate about an activity. Asking stores nothing; the answer that was shown can be stored."""

    action = "gate.ask"
    form_class = ActivityForm
    template_name = "registry/gate/gate_ask.html"
    title = "Ask the gate"
    question = "What do the rules on file ask for: for this, there, on that day?"
    submit_label = "Ask"
    answer = None

    @property
    def cautions(self):
        task = _TASKS.get(self.request.POST.get("activity"))
        return task_cautions(task) if task else []

    def form_valid(self, form):
        asked = gate_ask(activity_question(form.cleaned_data))
        self.answer, self.asked_lots, self.asked_place = asked.answer, form.cleaned_data["lots"], asked.question.destination
        self.shown = _fingerprint(asked)
        if "store" in self.request.POST and self.may("shipment.edit"):
            if self.request.POST.get("shown") == self.shown:
                record = determination_store(actor=self.user, asked=asked, subject=asked.question.destination.site)
                return redirect(record_url(record))
            form.add_error(
                None, "Nothing is stored yet: this is not the answer you looked at. Read this one, then store it if it is the one you mean."
            )
        return self.render_to_response(self.get_context_data(form=form))

    def get_conditions(self):
        """What the papers of these lots or this site say of a destruction or a removal: nothing stops it, and something may be due."""
        if self.request.POST.get("activity") not in (DESTROY, FLOWERS) or self.answer is None:
            return []
        lots = {code for code, _number, _papers in self.asked_lots}
        return conditions_of(lots, self.asked_place, self.answer)

    def get_context_data(self, **kwargs):
        page = {"may_store": self.may("shipment.edit")}
        if self.answer is not None:
            page["gate"] = gate_view(self.answer, paper_urls(self.user, self.answer))
            page["asked"] = [(name, value) for name in self.form_class.base_fields for value in self.request.POST.getlist(name)]
            page["shown"] = self.shown
            page["conditions"] = self.get_conditions()
        return super().get_context_data(**kwargs) | page


def _fingerprint(asked):
    """A hash of a question with its answer: an answer is stored only when it is the one somebody looked at."""
    return hashlib.sha256(json.dumps([to_json(asked.question), to_json(asked.answer)], sort_keys=True).encode()).hexdigest()
