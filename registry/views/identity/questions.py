"""Questions of identity: the list, the page of one, and what is entered: evidence, a question, its settlement."""

from django.http import Http404
from django.shortcuts import render

from registry.calc.shared.screen import amount_words, day_words
from registry.choices import EvidenceOutcome
from registry.forms.identity.questions import EvidenceForm, QuestionFilters, QuestionForm, SettleForm
from registry.models import IdentityQuestion, Lot, PedigreeTree, PollenPool
from registry.selectors.identity.questions import RULE, evidence_of, questions_listed, questions_settling, touched_pools
from registry.services.identity.questions import evidence_enter, question_raise, question_settle
from registry.views.identity.parts import evidence_part, kind_words, question_mark, question_url, record_url, state_words, touches_url
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import PART_ROWS_MAX, SectionListView, allowed
from registry.views.shared.tables import Column, ledger_table

KINDS = {model._meta.model_name: model for model in (PedigreeTree, Lot, PollenPool)}


class QuestionListView(SectionListView):
    model = IdentityQuestion
    action = "identity.view"
    title = "Identity in question"
    question = "Which trees, lots and pools may not be what the book says?"
    unit = "questions"
    filter_form = QuestionFilters
    others = MATERIAL_LISTS
    empty = ("No question", "A question is raised on the page of a tree, a lot or a pollen pool.", None)
    columns = (
        Column("About", lambda question: str(question.about), kind="code", url=question_url),
        Column("Kind", lambda question: kind_words(question.about)),
        Column("Since", "raised_on", kind="date"),
        Column("Why", "reason"),
        Column("Trees marked", "trees_count", "right", "number"),
        Column("Lots marked", "lots_count", "right", "number"),
        Column("State", state_words, kind="state"),
    )

    def get_queryset(self):
        return questions_listed(super().get_queryset())

    def row_mark(self, question):
        return question_mark(question)


class QuestionDetailView(RecordDetailView):
    model = IdentityQuestion
    action = "identity.view"
    question = "What is in doubt, and what does the mark reach?"

    def get_queryset(self):
        return questions_listed(super().get_queryset())

    def get_trace_code(self):
        return str(self.object.about)

    def get_page(self):
        question = self.object
        self.pools = touched_pools(
            set(question.trees.through.objects.filter(identityquestion=question).values_list("pedigreetree", flat=True))
        )
        settle = ("Settle the question", "question.settle", reverse_to("identityquestion_settle", question.pk))
        return {
            "code": str(question.about),
            "state": state_words(question),
            "where": kind_words(question.about),
            "actions": allowed(
                self.request.user,
                *([] if question.settled_on else [settle]),
                ("What it touches, and the letters' sheet", "trace.view", touches_url(question.about)),
                ("Enter evidence of identity", "evidence.enter", self.evidence_url()),
            ),
            "facts": self.get_facts(),
            "parts": [
                self.trees_table(),
                self.lots_table(),
                *self.pools_table(),
                *evidence_part(list(evidence_of(question.about))),
                {"title": "How far a mark reaches", "note": RULE},
            ],
        }

    def evidence_url(self):
        return reverse_to("identityevidence_add", self.object.about._meta.model_name, self.object.about.pk)

    def get_facts(self):
        question = self.object
        settled = [
            ("Settled on", f"{day_words(question.settled_on)}", None),
            ("Settled by", str(question.settled_by), None),
            ("Outcome", question.get_settlement_display(), None),
            ("How", question.settlement_text, None),
        ] if question.settled_on else []  # fmt: skip
        return [
            ("About", f"{kind_words(question.about)} {question.about}", record_url(question.about)),
            ("In question since", f"{day_words(question.raised_on)}", None),
            ("Raised by", str(question.entered_by or ""), None),
            ("Why", question.reason, None),
            *settled,
        ]

    def trees_table(self):
        trees = self.scoped(PedigreeTree).filter(questions=self.object).order_by("code")
        columns = (
            Column("Tree", "code", kind="code", url=record_url),
            Column("Generation", "generation_code"),
            Column("Mother", "mother.code", kind="code"),
            Column("Status", "get_status_display", kind="state"),
        )
        return self.part("Trees of the pedigree marked", columns, trees.select_related("mother"), self.object.trees_count, "trees")

    def lots_table(self):
        lots = self.scoped(Lot).filter(questions=self.object).order_by("code")
        columns = (
            Column("Lot", "code", kind="code", url=record_url),
            Column("Origin", "get_origin_display"),
            Column("Mother", "mother.code", kind="code"),
            Column("On hand", "balance", "right", "number"),
            Column("Counted in", "unit"),
        )
        return self.part("Lots marked", columns, lots.select_related("mother"), self.object.lots_count, "lots")

    def part(self, title, columns, records, total, unit):
        note = f"The first {PART_ROWS_MAX} of {total:,}. “What it touches” has all of them." if total > PART_ROWS_MAX else ""
        if self.object.settled_on:
            note = f"{note} As it was when the question was settled.".strip()
        return ledger_table(title, columns, records[:PART_ROWS_MAX], unit=unit, note=note, empty="None.")

    def pools_table(self):
        columns = (
            Column("Pollen pool", lambda item: item.pool.code, kind="code", url=lambda item: record_url(item.pool)),
            Column("Pollen parents in question", "members", "right", "number"),
            Column("Pollen parents it names", "named", "right", "number"),
            Column("Its lots", "lots", "right", "number"),
        )
        note = "Touched, not marked: the father of their lots is the pool."
        return [ledger_table("Pollen pools touched", columns, self.pools, unit="pools", note=note)] if self.pools else []


# -- what is entered -------------------------------------------------------------------------------


class AboutView(RecordActionView):
    """A form about one tree, lot or pollen pool, named in the route by its kind and key."""

    def dispatch(self, request, *args, **kwargs):
        if kwargs["kind"] not in KINDS:
            raise Http404("Identity is of a tree, a lot or a pollen pool.")
        self.model = KINDS[kwargs["kind"]]
        return super().dispatch(request, *args, **kwargs)


class EvidenceAddView(AboutView):
    action = "evidence.enter"
    form_class = EvidenceForm
    question = "What was looked at, and does it support the identity?"
    submit_label = "Enter the evidence"

    def get_title(self):
        return f"Evidence of identity of {self.object}"

    def perform(self, form):
        return evidence_enter(actor=self.request.user, about=self.object, **form.cleaned_data)

    def get_success_message(self):
        if self.result.outcome == EvidenceOutcome.CONTRADICTS:
            return "The evidence is in the book. It contradicts the identity: mark the record in question if nothing explains it."
        return "The evidence is in the book."


class QuestionAddView(AboutView):
    action = "question.raise"
    form_class = QuestionForm
    question = "What makes the identity doubtful?"
    submit_label = "Mark it in question"

    def get_title(self):
        return f"Mark {self.object} in question"

    def get_cautions(self):
        lines = ["Nothing is deleted and nothing changes but the mark. It can be settled at any time.", RULE]
        return [{"title": "Everything downstream shows the mark", "lines": lines}]

    def perform(self, form):
        return question_raise(actor=self.request.user, about=self.object, **form.cleaned_data)

    def get_success_message(self):
        return f"{self.object} is in question. Below is what it touches; the letters' sheet is there too."

    def get_success_url(self):
        return touches_url(self.object)


class QuestionSettleView(RecordActionView):
    """Two steps: what was found; then what that takes the mark off, to be confirmed."""

    model = IdentityQuestion
    action = "question.settle"
    form_class = SettleForm
    question = "Does the identity hold, or was the record corrected?"
    submit_label = "Go on: see what loses the mark"
    success_message = "Settled. What was in question and how it was settled stays in the book."

    def get_title(self):
        return f"Settle the question about {self.object.about}"

    def get_cautions(self):
        text = (
            "If the record was wrong, correct it first: the old value, the new one and the reason stay in its history. "
            "Settled as corrected, the letters that quoted the old lineage stay listed under what it touches."
        )
        return [{"title": "Correct the record before you settle", "text": text}]

    def form_valid(self, form):
        if form.cleaned_data.pop("confirmed"):
            return super().form_valid(form)
        return render(self.request, "generic/confirm.html", self.get_context_data(form=form.asks_to_confirm()) | self.second_step(form))

    def second_step(self, form):
        (trees, lots), (kept_trees, kept_lots) = questions_settling(self.object)
        outcome = dict(form.fields["outcome"].choices)[form.cleaned_data["outcome"]]
        marks = f"The mark goes from {_amounts(trees, lots)}.{_kept_words(kept_trees, kept_lots)}"
        text = f"{outcome.capitalize()}. {form.cleaned_data['text']} {marks}"
        return {"text": text, "submit_label": "Settle the question", "cautions": []}

    def perform(self, form):
        return question_settle(actor=self.request.user, question=self.object, **form.cleaned_data)


def _amounts(trees, lots):
    counted = [amount_words(number, unit) for number, unit in ((trees, "trees"), (lots, "lots")) if number]
    return " and ".join(counted) or "no record"


def _kept_words(trees, lots):
    if not trees and not lots:
        return ""
    one = trees + lots == 1
    return f" {_amounts(trees, lots)} {'keeps' if one else 'keep'} it, for another question reaches {'it' if one else 'them'}."
