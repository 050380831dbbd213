"""The gate before something is done: each write asks it once, its answer is stored with the facts, and what it stops is not done."""

from collections import Counter
from functools import wraps

from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils import timezone

from registry.calc.shared.part_dates import last_day
from registry.compliance.gate.answers import STOP
from registry.compliance.gate.codec import to_json
from registry.compliance.gate.counting import counted_lines, left_under
from registry.compliance.gate.decide import relevant
from registry.compliance.gate.override import override_problem
from registry.models import Authorization, AuthorizationVersion, Determination
from registry.selectors.gate.determinations import gate_ask, stop_words
from registry.selectors.gate.facts import counted_once, gate_facts, papers_on_file
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.gate.draws import draw

__all__ = ["RECORDING_DAYS", "GateStopped", "count_recorded", "determination_store", "gate_pass", "is_past_recording", "stores_refusal"]

AGAINST_A_STOP, LATE = "released against a stop of the gate", "recorded later"
RECORDING_DAYS = 30  # common practice, no source: what is written down later than this is history


def is_past_recording(on, today):
    """Whether what was done on a day is so long ago that it is only recorded: no gate can stop it now.

    Of a month or a year the last day counts: the gate is left out only where it surely comes too late.
    """
    return (today - last_day(on)).days > RECORDING_DAYS


class GateStopped(ValidationError):
    """The gate stopped it and nobody who may overrode that. `answer` says why; `refusal` is what `determination_store` then stores."""

    def __init__(self, message, refusal):
        super().__init__(message)
        self.refusal = refusal
        self.answer = refusal["asked"].answer


def stores_refusal(service):
    """Marks a service that asks the gate: a write. When the gate stops it, nothing it did stays, but the answer is stored."""
    service = write(service)

    @wraps(service)
    def asking(**given):
        try:
            return service(**given)
        except GateStopped as stop:
            determination_store(**stop.refusal)
            raise

    return asking


@write
def determination_store(*, actor, asked, subject="", shipment=None, carried_out=False, override_reason=""):
    """Store an answer of the gate with the facts it rests on.

    `asked` is what `gate_ask` returned. Raises GateStopped when it is to be carried out against a stop that is not overridden.
    """
    question, facts, answer = asked
    overriding = carried_out and answer.verdict == STOP
    if overriding:
        problem = override_problem(answer, actor.role, override_reason)
        if problem:
            refusal = {"actor": actor, "asked": asked, "subject": subject, "shipment": shipment}
            raise GateStopped({"override_reason": [problem, *stop_words(answer)]}, refusal)
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
    append_row(record)
    codes = {code for finding in answer.findings for code in finding.met_by}
    record.authorizations.set(Authorization.objects.filter(code__in=codes))
    verb = "determination.overridden" if overriding else "determination.stored"
    audit_record(actor=actor, verb=verb, obj=record, changes={"verdict": [None, answer.verdict]}, reason=record.override_reason)
    return record


@write
def gate_pass(*, actor, question, subject, lots, kind, shipment=None, override_reason="", already=None):
    """Before something is done: ask the gate, stop it or go on, and draw on the capped papers that cover it.

    What the lead releases by an override counts too: on the papers it is sent under, which lack no more than a formality.

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
        Of the lead, to override a stop.
    already : dict of {(paper code, lot code): quantity}, optional
        What this same material drew when it was shipped: it counts once.

    Raises
    ------
    GateStopped
        At `override_reason`, with every finding that stops it and its next step.
    """
    # of two dispatches under one paper the second waits at the row locks and sees what the first has drawn or used up
    ever_capped = AuthorizationVersion.objects.filter(cap_quantity__isnull=False).values("authorization")
    used_up = Q(pk__in=ever_capped) | Q(one_consignment=True)
    papers = {paper.code: paper for paper in Authorization.objects.select_for_update().filter(used_up).order_by("pk")}
    facts, already = counted_once(question, gate_facts(question), already or {})
    asked = gate_ask(question, facts)
    record = determination_store(
        actor=actor, asked=asked, subject=subject, shipment=shipment, carried_out=True, override_reason=override_reason
    )
    draws = Counter()
    for one in asked.answer.draws:
        draws[one.paper, one.lot] += one.quantity
    beyond = _counts_beside(asked, shipment, draws) if record.override_by_id else Counter()
    for (paper, lot), quantity in sorted((draws + beyond).items()):
        more = quantity - already.get((paper, lot), 0)
        if more > 0:
            draw(
                actor=actor, paper=papers[paper], kind=kind, lot=lots[lot], quantity=more, on=question.on, subject=subject,
                reason=AGAINST_A_STOP if (paper, lot) in beyond else "", beyond=(paper, lot) in beyond,
            )  # fmt: skip


def _counts_beside(asked, shipment, draws):
    """{(paper, lot): quantity} of what goes against a stop under papers that do not cover it, beside the draws of the answer."""
    question, facts, answer = asked
    attached = list(shipment.authorizations.all()) if shipment else []
    codes = {paper.code for paper in attached} | left_under(answer)
    papers = [*facts.papers, *papers_on_file({paper.type for paper in attached}, question.on)]
    counted = Counter()
    for paper in {paper.code: paper for paper in reversed(papers) if paper.code in codes}.values():
        for line in counted_lines(paper, question):
            if (paper.code, line.lot) not in draws:
                counted[paper.code, line.lot] += line.quantity
    return counted


@write
def count_recorded(*, actor, question, papers, subject, lots, kind):
    """Count what left long ago against the caps of the papers it is recorded under. The gate is not asked."""
    papers = {paper.code: paper for paper in papers}
    counted = Counter()
    for paper in papers_on_file({paper.type for paper in papers.values()}, question.on):
        if paper.code in papers:
            for line in counted_lines(paper, question):
                counted[paper.code, line.lot] += line.quantity
    for (paper, lot), quantity in sorted(counted.items()):
        draw(
            actor=actor, paper=papers[paper], kind=kind, lot=lots[lot], quantity=quantity, on=question.on, subject=subject,
            reason=LATE, beyond=True,
        )  # fmt: skip
