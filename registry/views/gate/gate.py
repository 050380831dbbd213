"""The gate on screen: asked for a shipment or planting, asked about an activity, and the answers kept."""

import datetime
import hashlib
import json
from dataclasses import replace

from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property
from django.views.generic import FormView

from registry.calc.shared.screen import day_words, moment_words
from registry.choices import CautionTask
from registry.compliance.gate.answers import STOP
from registry.compliance.gate.codec import to_json
from registry.compliance.gate.facts import Place, Question
from registry.compliance.gate.words import ACTIVITIES, CENSUS_VISIT, INOCULATE, PESTICIDE
from registry.forms.gate.gate import ActivityForm, DeterminationFilters, GatedDayForm, override_field
from registry.models import Determination, Lot
from registry.selectors.gate.determinations import (
    VERDICT_WORDS,
    determinations_of,
    gate_ask,
    gate_view,
    paper_keys,
    repeat_fault,
    stored_answer,
)
from registry.selectors.gate.facts import agreement_wanted, material_lines, partner_place, pathogen_lines
from registry.services.gate.determinations import GateStopped, determination_store
from registry.views.permits.authorizations import PAPER_LISTS
from registry.views.safety.task_cautions import task_cautions
from registry.views.shared.generic import RecordActionView, RecordDetailView, ServiceFormMixin, reverse_to
from registry.views.shared.section_views import SectionListView, yes_no
from registry.views.shared.tables import Column

PANEL = "registry/gate/_gate_part.html"
# activities that can hurt people, with the task whose cautions are shown
_TASKS = {INOCULATE: CautionTask.INOCULATION, PESTICIDE: CautionTask.PESTICIDE}


def paper_urls(user, *answers):
    """{paper code: address} of the papers answers name, for somebody who may open them."""
    if not user.may("authorization.view"):
        return {}
    return {code: reverse("authorization_detail", args=[pk]) for code, pk in paper_keys(answers).items()}


def fresh_part(user, answer, title="On what paper"):
    """The part of a page that shows what the gate says now; nothing is stored by looking."""
    return {"title": title, "include": PANEL, "gate": gate_view(answer, paper_urls(user, answer))}


def kept_parts(user, subject, activity, recorded_words):
    """The parts of a page that show the answers kept about a shipment or planting."""
    records = list(determinations_of(subject, activity)[:5])
    answers = [stored_answer(record) for record in records]
    urls = paper_urls(user, *answers)
    parts = [_kept_part(record, answer, urls) for record, answer in zip(records, answers, strict=True)]
    return parts or [{"title": "On what paper", "include": PANEL, "gate": None, "words": recorded_words}]


def _kept_part(record, answer, urls):
    by = str(record.override_by) if record.override_by_id else ""
    view = gate_view(answer, urls, overridden_by=by, reason=record.override_reason)
    return {"title": "On what paper", "include": PANEL, "gate": view, "record": record}


class DeterminationListView(SectionListView):
    model = Determination
    action = "determination.view"
    title = "Answers of the gate"
    question = "What was asked, what was answered, and where did the lead go on against it?"
    unit = "answers"
    filter_form = DeterminationFilters
    others = (*PAPER_LISTS, ("Ask the gate", "gate.ask", "determination_ask"))
    empty = ("No answer kept yet", "The gate is asked when a shipment is dispatched or a planting established.", None)
    columns = (
        Column("Kept on", "entered_at", kind="date", url=lambda record: reverse("determination_detail", args=[record.pk])),
        Column("About", lambda record: ACTIVITIES.get(record.activity, record.activity)),
        Column("Shipment or planting", "subject", kind="code"),
        Column("For the day", "asked_for", kind="date"),
        Column("Answer", lambda record: VERDICT_WORDS.get(record.verdict, record.verdict)),
        Column("Done on it", lambda record: yes_no(record.carried_out)),
        Column("Overridden by", lambda record: str(record.override_by or "")),
        Column("Asked by", lambda record: str(record.entered_by or "")),
    )

    def get_queryset(self):
        # the facts may be large, and a list shows none of them
        return super().get_queryset().defer("question", "facts", "answer").select_related("override_by", "entered_by")

    def row_mark(self, record):
        return "odd" if record.override_by_id else ""


class DeterminationDetailView(RecordDetailView):
    model = Determination
    action = "determination.view"
    question = "Why was this let go, or stopped?"

    def get_trace_code(self):
        return ""

    def get_title(self):
        about = ACTIVITIES.get(self.object.activity, self.object.activity)
        return f"{about[0].upper()}{about[1:]}: {self.object.subject or 'an activity'}"

    def get_page(self):
        record, user = self.object, self.request.user
        fault = repeat_fault(record)
        repeated = "It gives the same answer again." if not fault else f"It cannot be repeated: {fault}."
        answer = stored_answer(record)
        return {
            "state": VERDICT_WORDS.get(record.verdict, record.verdict),
            "where": f"for {day_words(record.asked_for)}",
            "due": [{"severity": "odd", "text": repeated}] if fault else [],
            "facts": [
                ("Shipment or planting", record.subject, self.subject_url()),
                ("Asked by", str(record.entered_by or ""), None),
                ("Kept on", f"{moment_words(timezone.localtime(record.entered_at))}", None),
                ("Done on it", yes_no(record.carried_out), None),
                ("Rules it rests on", f"{len(record.facts['requirements'])}", None),
                ("Papers it rests on", f"{len(record.facts['papers'])}", None),
                ("Run again from what is kept with it", repeated, None),
            ],
            "parts": [_kept_part(record, answer, paper_urls(user, answer))],
        }

    def subject_url(self):
        may = self.object.shipment_id and self.request.user.may("shipment.view")
        return reverse_to("shipment_detail", self.object.shipment_id) if may else None


class DeterminationAskView(ServiceFormMixin, FormView):
    """The gate asked about an activity. Looking stores nothing; the answer that was shown can be kept."""

    action = "gate.ask"
    form_class = ActivityForm
    template_name = "registry/gate/gate_ask.html"
    title = "Ask the gate"
    question = "What do the rules kept here ask for, for this, there, on that day?"
    submit_label = "Ask"
    answer = None

    def get_cautions(self):
        task = _TASKS.get(self.request.POST.get("activity"))
        return task_cautions(task) if task else []

    def form_valid(self, form):
        asked = gate_ask(self.get_question(form.cleaned_data))
        self.answer = asked.answer
        self.shown = _fingerprint(asked)
        if "keep" in self.request.POST and self.request.user.may("shipment.edit"):
            if self.request.POST.get("shown") == self.shown:
                record = determination_store(actor=self.request.user, asked=asked, subject=asked.question.destination.site)
                return redirect(reverse("determination_detail", args=[record.pk]))
            form.add_error(
                None, "Nothing is kept yet: this answer is not one you have looked at. Read it, then keep it if it is the one you mean."
            )
        return self.render_to_response(self.get_context_data(form=form))

    @staticmethod
    def get_question(values):
        lots = Lot.objects.filter(code__in=values["lots"]).select_related("taxon").order_by("code")
        land, partner = values["site"], values["partner"]
        place = land.place if land else partner_place(partner) if partner else Place()
        owner = land.partner if land else partner
        pathogen = pathogen_lines() if values["pathogen"] or values["activity"] == INOCULATE else ()
        return Question(
            activity=values["activity"],
            on=values["on"],
            lines=material_lines((lot, values["form"], None) for lot in lots) + pathogen,
            destination=place if land and place.code else replace(place, code=values["region"] or place.code),
            landowner_agreement_wanted=values["activity"] == CENSUS_VISIT and agreement_wanted(owner),
            people=tuple(values["people"]),
        )

    def get_context_data(self, **kwargs):
        page = {"may_keep": self.request.user.may("shipment.edit")}
        if self.answer is not None:
            page["gate"] = gate_view(self.answer, paper_urls(self.request.user, self.answer))
            page["asked"] = [(name, value) for name in self.form_class.base_fields for value in self.request.POST.getlist(name)]
            page["shown"] = self.shown
        return super().get_context_data(**kwargs) | page


def _fingerprint(asked):
    """A hash of a question with its answer: an answer is stored only when it is the one somebody looked at."""
    return hashlib.sha256(json.dumps([to_json(asked.question), to_json(asked.answer)], sort_keys=True).encode()).hexdigest()


class GateStopMixin:
    """A form whose service asks the gate. After a stop the page shows the answer that stopped it; the lead gets a box to override it.

    `act(form, override_reason)` calls the service. The gate is asked by the service only, so what is shown is what is stored.
    """

    stopped = None

    def get_form(self, form_class=None):
        form = super().get_form(form_class)
        if self.request.user.may("gate.override") and (form.is_bound or self.is_stop()):
            form.fields["override_reason"] = override_field()
        return form

    def perform(self, form):
        try:
            return self.act(form, form.cleaned_data.pop("override_reason", ""))
        except GateStopped as stop:
            self.stopped = stop.answer
            raise

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
            page["gate"] = gate_view(answer, paper_urls(self.request.user, answer))
        if not self.is_stop() and not form.data.get("override_reason"):
            form.fields.pop("override_reason", None)
        return page


class GatedActionView(GateStopMixin, RecordActionView):
    """What the gate is asked about before it is done: its answer is above the form from the start."""

    form_class = GatedDayForm
    template_name = "registry/gate/gate_confirm.html"
    day_label = "On"

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
            day = timezone.localdate()
        return self.ask(day)

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"label": self.day_label}
