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

from registry.calc.shared.screen import day_words
from registry.choices import CautionTask
from registry.compliance.gate.answers import STOP
from registry.compliance.gate.codec import to_json
from registry.compliance.gate.decide import decide
from registry.compliance.gate.facts import Place, Question
from registry.compliance.gate.words import ACTIVITIES, CENSUS_VISIT, INOCULATE, PESTICIDE
from registry.forms.gate.gate import ActivityForm, DeterminationFilters, GoOnForm
from registry.models import Determination, Lot
from registry.selectors.gate.determinations import VERDICT_WORDS, determinations_of, gate_view, paper_keys, repeat_fault, stored_answer
from registry.selectors.gate.facts import agreement_wanted, gate_facts, material_lines, partner_place, pathogen_lines
from registry.services.gate.determinations import determination_store
from registry.views.permits.words import PAPER_LISTS
from registry.views.safety.task_cautions import task_cautions
from registry.views.shared.generic import RecordActionView, RecordDetailView, ServiceFormMixin
from registry.views.shared.section_views import SectionListView, link, yes_no
from registry.views.shared.sections import Fact, Panel
from registry.views.shared.tables import Column, Link

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
    title = "Gate answers"
    question = "What was the gate asked, what did it answer, and where did the lead override it?"
    unit = "answers"
    filter_form = DeterminationFilters
    others = (*PAPER_LISTS, ("Ask the gate", "gate.ask", "determination_ask"))
    empty = ("No gate answers yet", "The gate is asked when a shipment is dispatched or a planting established.", None)
    columns = (
        Column("Stored on", "entered_at", kind="date", url=Link("determination_detail")),
        Column("About", lambda record: ACTIVITIES.get(record.activity, record.activity)),
        Column("Shipment or planting", "subject", kind="code"),
        Column("For the day", "asked_for", kind="date"),
        Column("Answer", lambda record: VERDICT_WORDS.get(record.verdict, record.verdict)),
        Column("Carried out", lambda record: yes_no(record.carried_out)),
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
    question = "Why did the gate let this go, or stop it?"
    related = ("entered_by", "override_by")
    facts = (
        Fact("Shipment or planting", "subject", lambda page: page.subject_url),
        Fact("Asked by", "entered_by"),
        Fact("Stored on", "entered_at"),
        Fact("Carried out", "carried_out"),
        Fact("Rules it looked at", lambda page: f"{len(page.object.facts['requirements'])}"),
        Fact("Papers it looked at", lambda page: f"{len(page.object.facts['papers'])}"),
        Fact("Run again from its stored facts", lambda page: page.repeated),
    )
    sections = (Panel(draw_parts=lambda page: [page.answer_part]),)

    def get_trace_code(self):
        return ""

    def get_title(self):
        about = ACTIVITIES.get(self.object.activity, self.object.activity)
        return f"{about[0].upper()}{about[1:]}: {self.object.subject or 'an activity'}"

    def state(self):
        return VERDICT_WORDS.get(self.object.verdict, self.object.verdict)

    def where(self):
        return f"for {day_words(self.object.asked_for)}"

    @cached_property
    def fault(self):
        return repeat_fault(self.object)

    @property
    def repeated(self):
        return f"It cannot be repeated: {self.fault}." if self.fault else "It gives the same answer again."

    def get_due(self):
        return [{"severity": "odd", "text": self.repeated}] if self.fault else []

    @property
    def answer_part(self):
        answer = stored_answer(self.object)
        return _kept_part(self.object, answer, paper_urls(self.user, answer))

    @property
    def subject_url(self):
        return link(self.user, "shipment.view", "shipment_detail", self.object.shipment_id) if self.object.shipment_id else None


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
        question = self.get_question(form.cleaned_data)
        facts = gate_facts(question)
        self.answer = decide(question, facts)
        self.shown = _fingerprint(question, self.answer)
        if "keep" in self.request.POST and self.request.user.may("shipment.edit"):
            if self.request.POST.get("shown") == self.shown:
                subject = question.destination.site
                record, _answer = determination_store(actor=self.request.user, question=question, subject=subject, facts=facts)
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


def _fingerprint(question, answer):
    """What stands for a question with its answer: an answer is kept only when it is the one that was looked at."""
    return hashlib.sha256(json.dumps([to_json(question), to_json(answer)], sort_keys=True).encode()).hexdigest()


class GatedActionView(RecordActionView):
    """What the gate is asked about before it is done: its answer above the form, and for the lead a box to go on against a stop."""

    form_class = GoOnForm
    template_name = "registry/gate/gate_confirm.html"
    day_label = "On"

    def ask(self, day):
        """What the gate says for a day."""
        raise NotImplementedError

    @cached_property
    def answer(self):
        """For the day in the form, or today."""
        try:
            day = datetime.date.fromisoformat(self.request.POST.get("on", ""))
        except ValueError:
            day = timezone.localdate()
        return self.ask(day)

    def get_form_kwargs(self):
        may = self.answer.verdict == STOP and self.request.user.may("gate.override")
        return super().get_form_kwargs() | {"may_override": may, "label": self.day_label}

    def get_context_data(self, **kwargs):
        gate = gate_view(self.answer, paper_urls(self.request.user, self.answer))
        return super().get_context_data(**kwargs) | {"gate": gate}
