"""The gate before something is done: the answer is stored with all it rests on, and what stops is stopped."""

from collections import Counter
from functools import wraps

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from registry.compliance.gate.answers import STOP
from registry.compliance.gate.codec import to_json
from registry.compliance.gate.counting import counted_lines, left_under
from registry.compliance.gate.decide import decide, relevant
from registry.compliance.gate.override import override_problem
from registry.models import Authorization, AuthorizationVersion, Determination
from registry.selectors.gate.determinations import stop_words
from registry.selectors.gate.facts import counted_once, gate_facts, papers_kept
from registry.services.audit.trail import audit_record
from registry.services.gate.draws import draw

__all__ = ["RECORDING_DAYS", "GateStopped", "count_recorded", "determination_store", "gate_pass", "is_past_recording", "keeps_refusals"]

AGAINST_A_STOP, LATE = "let go against a stop of the gate", "recorded later"
RECORDING_DAYS = 30  # common practice, no source: what is written down later than this is history


def is_past_recording(on, today):
    """Whether something done on a day is only being recorded, so long ago that no gate could have stopped it."""
    return (today - on).days > RECORDING_DAYS


class GateStopped(ValidationError):
    """The gate stopped it, and nobody who may went on against it. `asked` is what `determination_store` was asked with."""

    def __init__(self, message, asked):
        super().__init__(message)
        self.asked = asked


def keeps_refusals(service):
    """What the gate stopped is undone as a whole; that it was asked and said no is kept all the same."""

    @wraps(service)
    def asking(**given):
        try:
            with transaction.atomic():
                return service(**given)
        except GateStopped as stop:
            determination_store(**stop.asked)
            raise

    return asking


@transaction.atomic
def determination_store(*, actor, question, subject="", shipment=None, carried_out=False, override_reason="", facts=None):
    """Ask the gate and keep what it said, with the facts it rests on; returns (determination, answer)."""
    facts = gate_facts(question) if facts is None else facts
    answer = decide(question, facts)
    overriding = carried_out and answer.verdict == STOP
    if overriding:
        problem = override_problem(answer, actor.role, override_reason)
        if problem:
            asked = {"actor": actor, "question": question, "subject": subject, "shipment": shipment, "facts": facts}
            raise GateStopped({"override_reason": [problem, *stop_words(answer)]}, asked)
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

    What the lead lets go against a stop counts too: on the papers it is sent under, which lack no more than a formality.

    Parameters
    ----------
    question : compliance.facts.Question
    subject : str
        Code of the shipment or planting.
    lots : dict of {lot code: Lot}
    kind : str
        `DrawKind` of what is drawn.
    shipment : Shipment, optional
        Its papers are those attached to it.
    override_reason : str
        Of the lead, when the answer stops.
    already : dict of {(paper code, lot code): quantity}, optional
        What this same material has drawn before, when it was shipped: it is counted once.

    Raises
    ------
    GateStopped
        At `override_reason`, with every finding that stops and its next step.
    """
    # the row locks line up two dispatches under one paper: the second sees what the first has drawn
    ever_capped = AuthorizationVersion.objects.filter(cap_quantity__isnull=False).values("authorization")
    papers = {paper.code: paper for paper in Authorization.objects.select_for_update().filter(pk__in=ever_capped).order_by("pk")}
    facts, already = counted_once(question, gate_facts(question), already or {})
    record, answer = determination_store(
        actor=actor, question=question, subject=subject, shipment=shipment, carried_out=True, override_reason=override_reason, facts=facts
    )
    asked = Counter()
    for one in answer.draws:
        asked[one.paper, one.lot] += one.quantity
    beyond = _counts_beside(question, facts, answer, shipment, asked) if record.override_by_id else Counter()
    for (paper, lot), quantity in sorted((asked + beyond).items()):
        more = quantity - already.get((paper, lot), 0)
        if more > 0:
            draw(
                actor=actor, paper=papers[paper], kind=kind, lot=lots[lot], quantity=more, on=question.on, subject=subject,
                reason=AGAINST_A_STOP if (paper, lot) in beyond else "", beyond=(paper, lot) in beyond,
            )  # fmt: skip
    return record, answer


def _counts_beside(question, facts, answer, shipment, asked):
    """{(paper, lot): quantity} of what goes against a stop under papers that do not cover it, and which the answer does not count."""
    attached = list(shipment.authorizations.all()) if shipment else []
    codes = {paper.code for paper in attached} | left_under(answer)
    papers = [*facts.papers, *papers_kept({paper.type for paper in attached}, question.on)]
    counted = Counter()
    for paper in {paper.code: paper for paper in reversed(papers) if paper.code in codes}.values():
        for line in counted_lines(paper, question):
            if (paper.code, line.lot) not in asked:
                counted[paper.code, line.lot] += line.quantity
    return counted


@transaction.atomic
def count_recorded(*, actor, question, papers, subject, lots, kind):
    """Count what has left long ago against the caps of the papers it is recorded under; nothing is asked and nothing stops."""
    papers = {paper.code: paper for paper in papers}
    counted = Counter()
    for paper in papers_kept({paper.type for paper in papers.values()}, question.on):
        if paper.code in papers:
            for line in counted_lines(paper, question):
                counted[paper.code, line.lot] += line.quantity
    for (paper, lot), quantity in sorted(counted.items()):
        draw(
            actor=actor, paper=papers[paper], kind=kind, lot=lots[lot], quantity=quantity, on=question.on, subject=subject,
            reason=LATE, beyond=True,
        )  # fmt: skip
