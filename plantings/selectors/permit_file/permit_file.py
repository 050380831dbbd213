"""Everything an inspection of one paper asks for. The number of queries is fixed; no single tree is read."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

from django.db.models import Count, Max, Min, Q, Subquery, Sum
from django.utils import timezone

from plantings.models import PlantingEntry, Tree
from plantings.selectors.census.cautions import cautions_read_of_plantings
from plantings.selectors.permit_file.flowering import flowering_under
from plantings.selectors.permit_file.items import Items, permit_items, plantings_under, shipments_under
from plantings.selectors.permit_file.lot_lives import lot_lives
from plantings.selectors.permit_file.training import cautions_seen, training_dates
from registry.choices import DrawKind
from registry.compliance.gate.answers import Finding
from registry.compliance.gate.codec import from_json
from registry.compliance.gate.facts import Requirement
from registry.models import (
    AuditEntry,
    Authorization,
    Determination,
    Duty,
    DutyDone,
    Incident,
    IncidentNotice,
    IssuedPrint,
    Leftover,
    Person,
    Receipt,
)  # fmt: skip
from registry.models.audit import stored_name
from registry.selectors.audit.chain_head import ChainHead, chain_head
from registry.selectors.duties.dates import duty_dates, with_done
from registry.selectors.duties.incidents import incident_clocks, with_clocks
from registry.selectors.gate.determinations import repeat_fault, stored_answer
from registry.selectors.permits.as_of import paper_on

__all__ = [
    "AHEAD_DAYS", "Answer", "PermitFile", "determinations_under", "history_under", "permit_file", "trees_under",
]  # fmt: skip

AHEAD_DAYS = 400  # so that what comes once a year is shown once ahead


class RuleAnswer(NamedTuple):
    """What a stored answer says of one rule, or of what it checks without a rule; `rule` is the rule then, None for the latter."""

    finding: Finding
    rule: Requirement | None


class Answer(NamedTuple):
    """A stored answer of the gate, rule by rule, and why it cannot be repeated; "" when it can."""

    record: Determination
    fault: str
    rules: tuple[RuleAnswer, ...] = ()


class FileUsed(NamedTuple):
    """A stored file and what it is evidence of."""

    file: object
    title: str
    of: str
    dated: object
    entered_by: object
    entered_at: datetime


class Actor(NamedTuple):
    """A person who acted, and how often by the audit trail."""

    person: Person
    part: str
    acts: int
    first: datetime | None
    last: datetime | None


@dataclass(frozen=True, slots=True)
class PermitFile:
    """What is on file under one paper at a moment."""

    paper: Authorization
    now: datetime
    head: ChainHead
    items: Items
    lots: dict
    receipts: tuple
    shipments: int
    plantings: int
    versions: tuple
    states: tuple
    draws: tuple
    drawn: dict
    signatures: tuple
    answers: tuple
    dates: tuple
    clocks: tuple
    incidents: tuple
    notices: tuple
    files: tuple
    people: tuple
    training: tuple
    cautions: tuple
    crews: tuple
    flowering: tuple
    history_count: int

    @property
    def faults(self):
        return [answer for answer in self.answers if answer.fault]


def permit_file(paper, now):
    """The PermitFile of a paper at a moment."""
    on = timezone.localtime(now).date()
    paper = paper_on(paper, on)
    items = permit_items(paper)
    incidents = tuple(with_clocks(Incident.objects.filter(authorizations=paper)).order_by("found_at", "pk"))
    duties = list(with_done(Duty.objects.filter(authorization=paper)).order_by("code"))
    draws = tuple(paper.draws.select_related("lot", "entered_by"))
    people = tuple(_people(paper))
    who = [actor.person.pk for actor in people]
    return PermitFile(
        paper=paper,
        now=now,
        head=chain_head(),
        items=items,
        lots=lot_lives({line.lot_pk for line in items.lines} | {entry.lot_pk for entry in items.entries}),
        receipts=tuple(_receipts(paper)),
        shipments=len({line.shipment_pk for line in items.lines}),
        plantings=len({entry.planting_pk for entry in items.entries}),
        versions=tuple(paper.versions.select_related("entered_by")),
        states=tuple(paper.state_history.select_related("entered_by")),
        draws=draws,
        drawn={kind: sum(draw.quantity for draw in draws if draw.kind == kind) for kind in DrawKind.values},
        signatures=tuple(paper.signatures.select_related("text", "entered_by")),
        answers=tuple(_answers(paper)),
        dates=tuple((duty, status) for duty in duties for status in duty_dates(duty, on, on + timedelta(days=AHEAD_DAYS))),
        clocks=tuple(_clocks(paper, incidents, now)),
        incidents=incidents,
        notices=tuple(_notices(paper)),
        files=tuple(_files(paper)),
        people=people,
        training=training_dates(who, on),
        cautions=cautions_seen(who),
        crews=cautions_read_of_plantings({entry.planting_pk for entry in items.entries}),
        flowering=flowering_under(paper, items.entries),
        history_count=history_under(paper).count(),
    )  # fmt: skip


def _clocks(paper, incidents, now):
    """The clocks of this paper; an incident may run those of others too."""
    for incident in incidents:
        yield from (state for state in incident_clocks(incident, now) if state.clock.authorization_id == paper.pk)


def _notices(paper):
    """Every notice of its incidents, those a later one corrected among them."""
    rows = IncidentNotice.objects.filter(incident__authorizations=paper).select_related("incident", "superseded_by")
    return rows.order_by("incident__found_at", "told_at", "pk")


def determinations_under(paper):
    """The stored answers that name a paper, in the order they were given."""
    return Determination.objects.filter(authorizations=paper).select_related("entered_by", "override_by").order_by("pk")


def _answers(paper):
    # one at a time: the facts of an answer may be large, and are dropped once it has been repeated
    for record in determinations_under(paper).iterator(chunk_size=100):
        fault, rules = repeat_fault(record), tuple(_rules(record))
        record.question = record.facts = record.answer = None
        yield Answer(record, fault, rules)


def _rules(record):
    """The findings of a stored answer with the rules it looked at; none where it cannot be read."""
    try:
        answer, facts = stored_answer(record), from_json(record.facts)
    except (ValueError, TypeError, KeyError):
        return
    known = {(rule.code, rule.edition): rule for rule in facts.requirements}
    for finding in answer.findings:
        yield RuleAnswer(finding, known.get((finding.code, finding.edition)))


def _receipts(paper):
    rows = (
        Receipt.objects.in_effect()
        .filter(shipment__in=shipments_under(paper).values("pk"))
        .select_related("shipment__receiver", "entered_by")
    )
    counts = {name: Sum(f"lines__{name}") for name in ("sound", "sprouted", "spoiled")}
    return rows.annotate(**counts).order_by("received_on", "pk")


def _files(paper):
    for document in paper.documents.select_related("file", "entered_by"):
        yield FileUsed(document.file, document.title, "the paper", document.dated, document.entered_by, document.entered_at)
    # what a later record corrected is evidence too
    for done in DutyDone.objects.filter(duty__authorization=paper, file__isnull=False).select_related("file", "duty", "entered_by"):
        yield FileUsed(done.file, f"Evidence: {done.duty.title}", done.duty.code, done.done_on, done.entered_by, done.entered_at)
    notices = IncidentNotice.objects.filter(incident__authorizations=paper, file__isnull=False)
    for notice in notices.select_related("file", "incident", "entered_by"):
        told = timezone.localtime(notice.told_at).date()
        yield FileUsed(
            notice.file, f"Notice to {notice.told_whom}", notice.incident.code, told, notice.entered_by, notice.entered_at
        )  # fmt: skip


def history_under(paper):
    """The audit trail of a paper and of what is under it, the earliest entry first."""
    shipments, plantings = shipments_under(paper).values("pk"), plantings_reached(paper)
    related = {
        "shipment": shipments,
        "leftover": Leftover.objects.filter(line__shipment__in=shipments).values("pk"),
        "receipt": Receipt.objects.filter(shipment__in=shipments).values("pk"),
        "planting": plantings,
        "determination": Determination.objects.filter(authorizations=paper).values("pk"),
        "duty": Duty.objects.filter(authorization=paper).values("pk"),
        "incident": Incident.objects.filter(authorizations=paper).values("pk"),
        stored_name(IssuedPrint): paper.issued_prints.values("pk"),
    }
    found = Q(record_type="authorization", record_id=paper.pk)
    for record_type, keys in related.items():
        found |= Q(record_type=record_type, record_id__in=keys)
    return AuditEntry.objects.filter(found).select_related("actor").order_by("pk")


def plantings_reached(paper):
    """Keys of the plantings under a paper, by themselves or through a shipment; a subquery."""
    of_shipments = Q(supplies__shipment_line__shipment__in=shipments_under(paper).values("pk"))
    return PlantingEntry.objects.filter(of_shipments | Q(planting__in=plantings_under(paper).values("pk"))).values("planting")


def _people(paper):
    """Holder and second contact first, then whoever is in the audit trail of what is under the paper or on a crew."""
    parts = defaultdict(list)
    for key, part in ((paper.holder_account_id, "holder"), (paper.second_account_id, "second contact")):
        if key:
            parts[key].append(part)
    for person in Person.objects.filter(plantings__in=plantings_reached(paper)).order_by("pk").values_list("pk", flat=True).distinct():
        parts[person].append("crew of a planting")
    rows = history_under(paper).select_related(None).order_by().values_list("actor")
    acts = {actor: numbers for actor, *numbers in rows.annotate(n=Count("pk"), first=Min("at"), last=Max("at"))}
    named = {person.pk: person for person in Person.objects.filter(pk__in=Subquery(rows.distinct()))}
    named |= {person.pk: person for person in Person.objects.filter(plantings__in=plantings_reached(paper)).distinct()}
    named |= {person.pk: person for person in (paper.holder_account, paper.second_account) if person}
    for key in dict.fromkeys([*parts, *acts]):
        yield Actor(named[key], "; ".join(parts.get(key, ())), *acts.get(key, (0, None, None)))


def trees_under(items):
    """Each tree of the entries under a paper, as (planting, tag, block, row, position, lot, planted on, fate): a stream, for a file.

    Two hundred entries a query: nothing is held but the rows being written.
    """
    keys = [entry.pk for entry in items.entries]
    for start in range(0, len(keys), 200):
        rows = Tree.objects.filter(entry__in=keys[start : start + 200]).order_by("entry", "walk_number", "pk")
        yield from rows.values_list(
            "planting__code", "tag", "block__code", "row", "position", "entry__lot__code", "planted_on", "replaces__tag", "fate"
        ).iterator(chunk_size=2_000)
