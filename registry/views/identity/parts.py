"""The mark *in question* and the evidence of identity, as the pages of trees, lots and pollen pools show them."""

from django.urls import reverse

from registry.calc.shared.screen import day_words
from registry.choices import EvidenceOutcome
from registry.models import PollenPool
from registry.selectors.duties.duty_line import Duty
from registry.selectors.identity.questions import evidence_of, pollen_in_question, questions_of
from registry.views.shared.generic import reverse_to
from registry.views.shared.section_views import allowed
from registry.views.shared.tables import Column, ledger_table


def record_url(record):
    return reverse_to(f"{record._meta.model_name}_detail", record.pk)


def question_url(question):
    return reverse_to("identityquestion_detail", question.pk)


def touches_url(record):
    return reverse("touches", args=[record._meta.model_name, record.pk])


def kind_words(record):
    return record._meta.verbose_name


def state_words(question):
    if question.settled_on:
        return question.get_settlement_display().split(":")[0]
    return "open"


def identity_parts(user, record):
    """What the page of a tree, lot or pollen pool says of its identity: {"due", "facts", "parts", "actions"}, each a list."""
    if not user.may("identity.view"):
        return {"due": [], "facts": [], "parts": [], "actions": []}
    questions, evidence = list(questions_of(record)), list(evidence_of(record))
    still_open = [question for question in questions if not question.settled_on]
    name, pk = record._meta.model_name, record.pk
    return {
        "due": [*(_question_duty(question, record) for question in still_open), *_evidence_duty(evidence, still_open, record)]
        + _pollen_duty(record),
        "facts": [("Identity", _identity_words(still_open, evidence), question_url(still_open[0]) if still_open else None)],
        "parts": [*_questions_part(questions), *evidence_part(evidence)],
        "actions": allowed(
            user,
            ("What does it touch?", "trace.view", touches_url(record)),
            ("Enter evidence of identity", "evidence.enter", reverse_to("identityevidence_add", name, pk)),
            ("Mark in question", "question.raise", reverse_to("identityquestion_add", name, pk)),
        ),
    }


def _question_duty(question, record):
    through = "" if question.about == record else f" through {kind_words(question.about)} {question.about}"
    return Duty("odd", f"Identity in question{through}: {question.reason}", question.raised_on, question_url(question))


def _evidence_duty(evidence, still_open, record):
    contradicting = [item for item in evidence if item.outcome == EvidenceOutcome.CONTRADICTS]
    if not contradicting or still_open or _settled_since(record, contradicting[0]):
        return []
    url = reverse_to("identityquestion_add", record._meta.model_name, record.pk)
    text = "Evidence contradicts its identity, and no question is open. Mark it in question, or enter what settles it."
    return [Duty("odd", text, contradicting[0].on, url)]


def _settled_since(record, evidence):
    return record.own_questions.filter(settled_on__gte=evidence.on).exists()


def _pollen_duty(record):
    """A note where the father is a pool with members in question: touched, not marked."""
    pool = record if isinstance(record, PollenPool) else record.pollen_pool
    if pool is None:
        return []
    doubtful, named = pollen_in_question(pool)
    if not doubtful:
        return []
    of = f"{doubtful:,} of the {named:,} pollen parents it names" if pool == record else f"{doubtful:,} of {named:,} in pollen pool {pool}"
    return [Duty("info", f"Touched, not marked: {of} {'is' if doubtful == 1 else 'are'} in question.", url=record_url(pool))]


def _identity_words(still_open, evidence):
    if still_open:
        return "in question" if len(still_open) == 1 else f"in question ({len(still_open)} questions)"
    if evidence:
        return f"as recorded; the last evidence {evidence[0].get_outcome_display()} ({day_words(evidence[0].on)})"
    return "as recorded; no evidence entered"


def _questions_part(questions):
    columns = (
        Column("About", lambda question: f"{kind_words(question.about)} {question.about}", url=question_url),
        Column("Since", "raised_on", kind="date"),
        Column("Why", "reason"),
        Column("State", state_words, kind="state"),
        Column("Settled on", "settled_on", kind="date"),
    )
    return [ledger_table("Questions of identity", columns, questions, unit="questions", mark=question_mark)] if questions else []


def question_mark(question):
    return "soft" if question.settled_on else "odd"


def evidence_part(evidence):
    columns = (
        Column("On", "on", kind="date"),
        Column("Looked at", "get_kind_display"),
        Column("It", "get_outcome_display", kind="state"),
        Column("What was seen", "text"),
        Column("By", "by"),
        Column("Number", "reference", kind="code"),
    )
    note = "Identity is a claim with evidence and a date. Evidence changes no record."
    part = ledger_table("Evidence of identity", columns, evidence, unit="entries", note=note, mark=_evidence_mark)
    return [part] if evidence else []


def _evidence_mark(item):
    return "odd" if item.outcome == EvidenceOutcome.CONTRADICTS else ""
