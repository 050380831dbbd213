"""The gate before something is done: the answer is stored with all it rests on, and what stops is stopped."""

from collections import Counter

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from registry.compliance.answers import STOP
from registry.compliance.codec import to_json
from registry.compliance.decide import decide, relevant
from registry.compliance.override import override_problem
from registry.models import Authorization, AuthorizationDraw, Determination
from registry.selectors.facts import counted_once, gate_facts
from registry.selectors.gate import stop_words
from registry.services.audit import audit_record

__all__ = ["RECORDING_DAYS", "determination_store", "draw", "draw_return", "gate_pass", "is_past_recording"]

RECORDING_DAYS = 30  # common practice, no source: what is written down later than this is history


def is_past_recording(on, today):
    """Whether something done on a day is only being recorded, so long ago that no gate could have stopped it."""
    return (today - on).days > RECORDING_DAYS


@transaction.atomic
def determination_store(*, actor, question, subject="", shipment=None, carried_out=False, override_reason="", facts=None):
    """Ask the gate and keep what it said, with the facts it rests on; returns (determination, answer)."""
    facts = gate_facts(question) if facts is None else facts
    answer = decide(question, facts)
    overriding = carried_out and answer.verdict == STOP
    if overriding:
        problem = override_problem(answer, actor.role, override_reason)
        if problem:
            raise ValidationError({"override_reason": [problem, *stop_words(answer)]})
    record = Determination(
        activity=question.activity,
        subject=subject,
        shipment=shipment,
        asked_for=question.on,
        verdict=answer.verdict,
        question=to_json(question),
        facts=to_json(relevant(question, facts)),
        answer=to_json(answer),
        carried_out=carried_out,
        override_by=actor if overriding else None,
        override_reason=override_reason.strip() if overriding else "",
        entered_by=actor,
        entered_at=timezone.now(),
    )
    record.full_clean()
    record.save()
    codes = {code for finding in answer.findings for code in finding.met_by}
    record.authorizations.set(Authorization.objects.filter(code__in=codes))
    verb = "determination.overridden" if overriding else "determination.stored"
    audit_record(actor=actor, verb=verb, obj=record, changes={"verdict": [None, answer.verdict]}, reason=record.override_reason)
    return record, answer


@transaction.atomic
def gate_pass(*, actor, question, subject, lots, kind, shipment=None, override_reason="", already=None):
    """Before something is done: ask, stop or go on, and draw on the capped papers that cover it.

    Parameters
    ----------
    question : compliance.facts.Question
    subject : str
        Code of the shipment or planting.
    lots : dict of {lot code: Lot}
    kind : str
        `DrawKind` of what is drawn.
    override_reason : str
        Of the lead, when the answer stops.
    already : dict of {(paper code, lot code): quantity}, optional
        What this same material has drawn before, when it was shipped: it is counted once.

    Raises
    ------
    django.core.exceptions.ValidationError
        At `override_reason`, with every finding that stops and its next step.
    """
    # the row locks line up two dispatches under one paper: the second sees what the first has drawn
    capped = Authorization.objects.select_for_update().filter(cap_quantity__isnull=False).order_by("pk")
    papers = {paper.code: paper for paper in capped}
    facts, already = counted_once(question, gate_facts(question), already or {})
    record, answer = determination_store(
        actor=actor, question=question, subject=subject, shipment=shipment, carried_out=True, override_reason=override_reason, facts=facts
    )
    asked = Counter()
    for one in answer.draws:
        asked[one.paper, one.lot] += one.quantity
    for (paper, lot), quantity in sorted(asked.items()):
        more = quantity - already.get((paper, lot), 0)
        if more > 0:
            draw(actor=actor, paper=papers[paper], kind=kind, lot=lots[lot], quantity=more, on=question.on, subject=subject)
    return record, answer


@transaction.atomic
def draw(*, actor, paper, kind, lot, quantity, on, subject, reason=""):
    """Draw from the cap of a paper. What would go over it is refused here, and once more by the database."""
    paper = Authorization.objects.select_for_update().get(pk=paper.pk)
    drawn = paper.drawn + quantity
    if paper.cap_quantity is not None and drawn > paper.cap_quantity:
        left = paper.cap_quantity - paper.drawn
        raise ValidationError(
            f"Paper {paper.code}: {left:,} {paper.cap_unit} are left of {paper.cap_quantity:,}; {quantity:,} are asked for."
        )
    if drawn < 0:
        raise ValidationError(
            {"quantity": f"Only {paper.drawn:,} {paper.cap_unit} are drawn from {paper.code}; no more can be given back."}
        )
    entry = AuthorizationDraw(
        authorization=paper, kind=kind, lot=lot, quantity=quantity, on=on, subject=subject, reason=reason, entered_by=actor,
        entered_at=timezone.now(),
    )  # fmt: skip
    entry.full_clean()
    entry.save()
    changes = {"drawn": [paper.drawn, drawn], "by": [None, subject]}
    paper.drawn = drawn
    paper.save(update_fields=["drawn"])
    audit_record(actor=actor, verb="authorization.drawn", obj=paper, changes=changes, reason=reason)
    return entry


def draw_return(*, actor, paper, lot, quantity, on, subject, reason):
    """Give back to the cap what was drawn and not used, such as a shipment that came back."""
    if not reason.strip():
        raise ValidationError({"reason": "Say why it is given back, and where the paper says that it may be counted so."})
    return draw(actor=actor, paper=paper, kind="returned", lot=lot, quantity=-quantity, on=on, subject=subject, reason=reason)
