"""Questions of identity: the list, the page of one, and what is entered: evidence, a question, its settlement."""

from django.http import Http404
from django.shortcuts import render
from django.utils.functional import cached_property

from registry.calc.shared.screen import amount_words
from registry.choices import EvidenceOutcome
from registry.forms.identity.questions import EvidenceForm, QuestionFilters, QuestionForm, SettleForm
from registry.models import IdentityQuestion, Lot, PedigreeTree, PollenPool
from registry.selectors.identity.questions import RULE, affected_pools, evidence_of, questions_listed, questions_settling
from registry.services.identity.questions import evidence_enter, question_raise, question_settle
from registry.views.identity.parts import ENTER_EVIDENCE_LABEL, evidence_section, kind_and_key, kind_words, question_mark, state_words
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.addresses import record_url, reverse_to
from registry.views.shared.details import PART_ROWS_MAX, RecordDetailView
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Panel, Section
from registry.views.shared.tables import Column, Link

KINDS = {model._meta.model_name: model for model in (PedigreeTree, Lot, PollenPool)}


class QuestionListView(RecordListView):
    model = IdentityQuestion
    action = "identity.view"
    title = "Identity in question"
    question = "Which trees, lots and pools may not be what the records say?"
    unit = "questions"
    filter_form = QuestionFilters
    others = MATERIAL_LISTS
    empty = ("No questions", "Raise a question on the page of a tree, a lot or a pollen pool.", None)
    read = staticmethod(questions_listed)
    row_mark = staticmethod(question_mark)
    columns = (
        Column("About", lambda question: str(question.about), kind="code", url=record_url),
        Column("Kind", lambda question: kind_words(question.about)),
        Column("Since", "raised_on", kind="date"),
        Column("Why", "reason", wide=True),
        Column("Trees marked", "trees_count", "right", "number"),
        Column("Lots marked", "lots_count", "right", "number"),
        Column("State", state_words, kind="state"),
    )


def _as_settled(page, _rows):
    return "As it was when the question was settled." if page.object.settled_on else ""


def _about_key(page):
    return kind_and_key(page.object.about)


class QuestionDetailView(RecordDetailView):
    model = IdentityQuestion
    action = "identity.view"
    question = "What is in doubt, and which records does it affect?"
    read = staticmethod(questions_listed)
    state = property(lambda page: state_words(page.object))
    where = property(lambda page: kind_words(page.object.about))
    code = property(lambda page: str(page.object.about))
    facts = (
        Fact("About", lambda page: f"{kind_words(page.object.about)} {page.object.about}", lambda page: record_url(page.object.about)),
        Fact("In question since", "raised_on"),
        Fact("Raised by", "entered_by"),
        Fact("Why", "reason"),
        Fact("Settled on", "settled_on"),
        Fact("Settled by", "settled_by"),
        Fact("Outcome", "get_settlement_display"),
        Fact("How", "settlement_text"),
    )
    actions = (
        Action("Settle the question", "identityquestion_settle", "question.settle", when=lambda page: page.is_open),
        Action("What it affects, and the sheet for letters", "impact", "trace.view", key=_about_key),
        Action(ENTER_EVIDENCE_LABEL, "identityevidence_add", "evidence.enter", key=_about_key),
    )
    sections = (
        Section(
            title="Trees of the pedigree marked",
            unit="trees",
            note=_as_settled,
            rows=lambda page: page.scoped(PedigreeTree).filter(questions=page.object).order_by("code").select_related("mother"),
            columns=(
                Column("Tree", "code", kind="code", url=Link("pedigreetree_detail")),
                Column("Generation", "generation_code"),
                Column("Mother", "mother.code", kind="code"),
                Column("Status", "get_status_display", kind="state"),
            ),
            most=PART_ROWS_MAX,
        ),
        Section(
            title="Lots marked",
            unit="lots",
            note=_as_settled,
            rows=lambda page: page.scoped(Lot).filter(questions=page.object).order_by("code").select_related("mother"),
            columns=(
                Column("Lot", "code", kind="code", url=Link("lot_detail")),
                Column("Origin", "get_origin_display"),
                Column("Mother", "mother.code", kind="code"),
                Column("On hand", "balance", "right", "number"),
                Column("Counted in", "unit"),
            ),
            most=PART_ROWS_MAX,
        ),
        Section(
            title="Pollen pools affected",
            unit="pools",
            note="Affected, not marked: the father of their lots is the pool.",
            rows=lambda page: page.affected_pools,
            columns=(
                Column("Pollen pool", "pool.code", kind="code", url=Link("pollenpool_detail", "pool.pk")),
                Column("Pollen parents in question", "members", "right", "number"),
                Column("Pollen parents it names", "named", "right", "number"),
                Column("Its lots", "lots", "right", "number"),
            ),
        ),
        evidence_section(
            rows=lambda page: evidence_of(page.object.about),
            missing="evidence of identity",
            add=Action(ENTER_EVIDENCE_LABEL, "identityevidence_add", "evidence.enter", key=_about_key),
        ),
        Panel(draw_parts=lambda page: [{"title": "How far a mark reaches", "note": RULE}]),
    )

    is_open = property(lambda page: not page.object.settled_on)

    @cached_property
    def affected_pools(self):
        marked = self.object.trees.through.objects.filter(identityquestion=self.object)
        return affected_pools(set(marked.values_list("pedigreetree", flat=True)))


# -- what is entered -------------------------------------------------------------------------------


class AboutView(RecordActionView):
    """A form about one tree, lot or pollen pool, named in the route by its kind and key."""

    argument = "about"

    def find_rows(self):
        if self.kwargs["kind"] not in KINDS:
            raise Http404("Identity is of a tree, a lot or a pollen pool.")
        self.model = KINDS[self.kwargs["kind"]]
        super().find_rows()


class EvidenceAddView(AboutView):
    action = "evidence.enter"
    form_class = EvidenceForm
    question = "What was checked, and does it support the identity?"
    service = evidence_enter
    title = "Evidence of identity of {object}"
    submit_label = "Save the evidence"

    @property
    def success_message(self):
        if self.result.outcome == EvidenceOutcome.CONTRADICTS:
            return "Evidence saved. It contradicts the identity: mark the record in question if nothing explains it."
        return "Evidence saved."


class QuestionAddView(AboutView):
    action = "question.raise"
    form_class = QuestionForm
    service = question_raise
    title = "Mark {object} in question"
    question = "What makes the identity doubtful?"
    submit_label = "Mark it in question"
    success_message = "{object} is now in question. Below is what that affects, and the sheet for letters."
    cautions = (
        {
            "title": "Everything downstream shows the mark",
            "lines": ["Nothing is deleted, and nothing changes except the mark. It can be settled at any time.", RULE],
        },
    )

    def get_success_url(self):
        return reverse_to("impact", *kind_and_key(self.object))


class QuestionSettleView(RecordActionView):
    """Two steps: what was found; then what that takes the mark off, to be confirmed."""

    model = IdentityQuestion
    action = "question.settle"
    form_class = SettleForm
    service = question_settle
    argument = "question"
    title = "Settle the question about {object.about}"
    question = "Is the identity right, or was the record corrected?"
    submit_label = "Continue: see what loses the mark"
    success_message = "Question settled. The question and its outcome stay on record."
    cautions = (
        {
            "title": "Correct the record before you settle",
            "text": "If the record was wrong, correct it first: the old value, the new one and the reason stay in its history. "
            "The letters that quoted the old lineage stay listed under what it affects.",
        },
    )

    def form_valid(self, form):
        if form.cleaned_data.pop("confirmed"):
            return super().form_valid(form)
        return render(self.request, "generic/confirm.html", self.get_context_data(form=form.asks_to_confirm()) | self.second_step(form))

    def second_step(self, form):
        (trees, lots), (kept_trees, kept_lots) = questions_settling(self.object)
        outcome = dict(form.fields["outcome"].choices)[form.cleaned_data["outcome"]]
        marks = f"{_amounts(trees, lots).capitalize()} will lose the mark.{_kept_words(kept_trees, kept_lots)}"
        text = f"{outcome.capitalize()}. {form.cleaned_data['text']} {marks}"
        return {"text": text, "submit_label": "Settle the question", "cautions": []}


def _amounts(trees, lots):
    counted = [amount_words(number, unit) for number, unit in ((trees, "trees"), (lots, "lots")) if number]
    return " and ".join(counted) or "no record"


def _kept_words(trees, lots):
    if not trees and not lots:
        return ""
    one = trees + lots == 1
    return f" {_amounts(trees, lots)} {'keeps' if one else 'keep'} it, because another question marks {'it' if one else 'them'} too."
