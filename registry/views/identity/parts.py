"""What the pages of trees, lots and pollen pools say of identity: questions, evidence, and what can be entered about it."""

from django.utils.functional import cached_property

from registry.calc.shared.screen import amount_words, day_words
from registry.choices import EvidenceOutcome
from registry.models import PollenPool
from registry.selectors.duties.duty_line import Duty
from registry.selectors.identity.questions import evidence_of, pollen_in_question, questions_of, unanswered_contradictions
from registry.views.shared.addresses import record_url, reverse_to
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column


def kind_words(record):
    return record._meta.verbose_name


def kind_and_key(record):
    """The record as the addresses of impact, evidence and questions name it."""
    return record._meta.model_name, record.pk


def state_words(question):
    if question.settled_on:
        return question.get_settlement_display().split(":")[0]
    return "open"


class IdentityOnPage:
    """A record page with questions and evidence of identity, both read once and only for who may see them."""

    identity_questions = cached_property(lambda page: list(questions_of(page.object)) if page.may("identity.view") else [])
    identity_evidence = cached_property(lambda page: list(evidence_of(page.object)) if page.may("identity.view") else [])
    open_questions = property(lambda page: [question for question in page.identity_questions if not question.settled_on])

    def identity_due(self):
        if not self.may("identity.view"):
            return []
        lines = [_question_duty(question, self.object) for question in self.open_questions]
        return [*lines, *_evidence_duty(self), *_pollen_duty(self.object)]


def _question_duty(question, record):
    through = "" if question.about == record else f" through {kind_words(question.about)} {question.about}"
    return Duty("odd", f"Identity in question{through}: {question.reason}", question.raised_on, record_url(question))


def _evidence_duty(page):
    if page.open_questions or not any(item.outcome == EvidenceOutcome.CONTRADICTS for item in page.identity_evidence):
        return []
    latest = unanswered_contradictions(page.object.identity_evidence.order_by("-on", "-pk")).first()
    if latest is None:
        return []
    url = reverse_to("identityquestion_add", *kind_and_key(page.object))
    text = "Evidence contradicts its identity, and no question is open. Mark it in question, or enter what settles it."
    return [Duty("odd", text, latest.on, url)]


def _pollen_duty(record):
    """A note where the father is a pool with members in question: affected, not marked."""
    pool = record if isinstance(record, PollenPool) else record.pollen_pool
    if pool is None:
        return []
    doubtful, named = pollen_in_question(pool)
    if not doubtful:
        return []
    of = f"{doubtful:,} of the {named:,} pollen parents it names" if pool == record else f"{doubtful:,} of {named:,} in pollen pool {pool}"
    return [Duty("info", f"Affected, not marked: {of} {'is' if doubtful == 1 else 'are'} in question.", url=record_url(pool))]


def _identity_words(page):
    still_open, evidence = page.open_questions, page.identity_evidence
    if still_open:
        return "in question" if len(still_open) == 1 else f"in question ({amount_words(len(still_open), 'questions')})"
    if evidence:
        return f"as recorded; the last evidence {evidence[0].get_outcome_display()} ({day_words(evidence[0].on)})"
    return "as recorded; no evidence entered"


def question_mark(question):
    return "soft" if question.settled_on else "odd"


IDENTITY_FACT = Fact(
    "Identity", _identity_words, lambda page: record_url(page.open_questions[0]) if page.open_questions else None, may="identity.view"
)

IMPACT = Action("What does it affect?", "impact", "trace.view", key=lambda page: kind_and_key(page.object))
ENTER_EVIDENCE_LABEL = "Enter evidence of identity"
ENTER_EVIDENCE = Action(ENTER_EVIDENCE_LABEL, "identityevidence_add", "evidence.enter", key=lambda page: kind_and_key(page.object))
MARK_IN_QUESTION = Action("Mark in question", "identityquestion_add", "question.raise", key=lambda page: kind_and_key(page.object))

IDENTITY_ACTIONS = (IMPACT, ENTER_EVIDENCE, MARK_IN_QUESTION)


def evidence_section(**more):
    return Section(
        title="Evidence of identity",
        unit="entries",
        note="Identity is a claim with evidence and a date. Evidence changes no record.",
        columns=(
            Column("On", "on", kind="date"),
            Column("Looked at", "get_kind_display"),
            Column("It", "get_outcome_display", kind="state"),
            Column("What was seen", "text", wide=True),
            Column("By", "by"),
            Column("Number", "reference", kind="code"),
        ),
        mark=lambda item: "odd" if item.outcome == EvidenceOutcome.CONTRADICTS else "",
        **more,
    )


IDENTITY_SECTIONS = (
    Section(
        id="questions",
        title="Questions of identity",
        unit="questions",
        may="identity.view",
        rows=lambda page: page.identity_questions,
        columns=(
            Column("About", lambda question: f"{kind_words(question.about)} {question.about}", url=record_url),
            Column("Since", "raised_on", kind="date"),
            Column("Why", "reason", wide=True),
            Column("State", state_words, kind="state"),
            Column("Settled on", "settled_on", kind="date"),
        ),
        mark=question_mark,
    ),
    evidence_section(
        id="evidence",
        may="identity.view",
        rows=lambda page: page.identity_evidence,
        missing="evidence of identity",
        add=ENTER_EVIDENCE,
    ),
)
