"""Identity is a claim with evidence and a date: evidence is entered, questions are raised and settled."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.choices import Settlement
from registry.models import IdentityEvidence, IdentityQuestion
from registry.models.audit import stored_name
from registry.selectors.identity.questions import OPEN, corrected_since, identity_field
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.identity.spread import question_respread
from registry.services.shared.past_day import day_check

__all__ = ["evidence_enter", "question_raise", "question_settle"]

_CORRECT = "Correct the record first, or settle the question as confirmed if the identity holds after all."


@write
def evidence_enter(*, actor, about, kind, outcome, on, by, text, reference=""):
    """Enter evidence on the identity of a tree, lot or pollen pool. It changes no record and raises no question."""
    day_check(on=on)
    _refuse_blank("text", text, "Say what was checked and what was seen.")
    evidence = IdentityEvidence(
        kind=kind, outcome=outcome, on=on, by=by.strip(), text=text.strip(), reference=reference,
        entered_by=actor, entered_at=timezone.now(), **{identity_field(about): about},
    )  # fmt: skip
    evidence.full_clean()
    append_row(evidence)
    changes = {"evidence": [None, evidence.get_kind_display()], "outcome": [None, evidence.get_outcome_display()]}
    audit_record(actor=actor, verb=f"{stored_name(about)}.evidence_entered", obj=about, changes=changes, reason=evidence.text)
    return evidence


@write
def question_raise(*, actor, about, raised_on, reason):
    """Mark a tree, lot or pollen pool *in question*, and everything downstream of it. Nothing is deleted or changed.

    The rule (`registry.selectors.identity.questions.RULE` words it for the screens) marks the record itself; all trees
    that name it, or a marked tree, as mother or father; the trees and lots of a pool in question; the lots of marked trees;
    every lot raised, split or bulked from a marked lot; a lot into which a marked part was put back. A pool with a marked member is not
    marked, and neither are its lots, since their father is the pool: they are listed with "one of N pollen parents".

    Raises
    ------
    ValidationError
        For a future day, no reason, or the same question still open.
    """
    day_check(raised_on=raised_on)
    _refuse_blank("reason", reason, "Say what makes the identity doubtful.")
    # the lock keeps two people from raising one question twice
    about = type(about).objects.select_for_update().get(pk=about.pk)
    same = IdentityQuestion.objects.filter(OPEN, reason__iexact=reason.strip(), **{identity_field(about): about})
    if same.exists():
        raise ValidationError({"reason": "This question is already open, with the same reason. Enter what is new as evidence."})
    question = IdentityQuestion(
        raised_on=raised_on, reason=reason.strip(), entered_by=actor, entered_at=timezone.now(), **{identity_field(about): about}
    )
    question.full_clean()
    question.save()
    question_respread(question)
    changes = {"identity": [None, "in question"]}
    audit_record(actor=actor, verb=f"{stored_name(about)}.question_raised", obj=about, changes=changes, reason=question.reason)
    return question


@write
def question_settle(*, actor, question, outcome, text, on):
    """Settle a question: its marks go, unless another open question marks the same records.

    What it marked stays listed with it, as on the day it was settled.

    Raises
    ------
    ValidationError
        When it is already settled, no text says how, the day is before it was raised or in the future, or it is settled as corrected
        and nobody changed the parents or the identity of the record since it was raised.
    """
    question = IdentityQuestion.objects.select_for_update().get(pk=question.pk)
    if question.settled_on:
        raise ValidationError(f"This question was settled on {day_words(question.settled_on)}. Raise a new one if it is open again.")
    day_check(on=on)
    _refuse_blank("text", text, "Say how it was settled: what was found, which record was changed.")
    if on < question.raised_on:
        raise ValidationError({"on": f"The question was raised on {day_words(question.raised_on)}; it cannot be settled before that day."})
    if outcome == Settlement.CORRECTED and not corrected_since(question):
        name = f"{question.about._meta.verbose_name} {question.about}"
        raise ValidationError(
            {"outcome": f"Nobody has changed the identity or the parents of {name} since the question was raised. {_CORRECT}"}
        )
    question_respread(question)
    question.settled_on, question.settled_by, question.settled_at = on, actor, timezone.now()
    question.settlement, question.settlement_text = outcome, text.strip()
    question.full_clean()
    question.save()
    about = question.about
    changes = {"identity": ["in question", question.get_settlement_display()]}
    for obj in (about, question):
        verb = f"{stored_name(obj)}.question_settled" if obj is about else "identityquestion.settled"
        audit_record(actor=actor, verb=verb, obj=obj, changes=changes, reason=question.settlement_text)
    return question


def _refuse_blank(field, text, message):
    if not text.strip():
        raise ValidationError({field: message})
