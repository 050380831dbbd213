"""What was begun and nobody has settled: lines of Today. `on` is the day; nothing here reads a clock."""

import datetime
from collections import Counter
from typing import NamedTuple

from django.db.models import Exists, F, Max, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils import timezone

from plantings.choices import PlantingState
from plantings.models import EntrySupply, Planting
from registry.access import roles
from registry.calc.shared.screen import amount_words, day_words, moment_words
from registry.choices import AuthorizationState, BoxCondition, LeftoverOutcome, ShipmentState
from registry.compliance.gate.codec import from_json
from registry.compliance.gate.words import ESTABLISH
from registry.models import (
    AuditEntry,
    Authorization,
    Determination,
    IdentityEvidence,
    Leftover,
    PedigreeTree,
    Receipt,
    ReceiptLine,
    SelectionDecision,
    SheetUpload,
    Shipment,
    ShipmentLine,
)
from registry.selectors.duties.duty_line import Duty
from registry.selectors.identity.questions import unanswered_contradictions
from registry.selectors.movements.leftovers import held_of, leftover_reports
from registry.selectors.orchard.orchard import decided_to_go
from registry.selectors.permits.as_of import end_ahead, with_state_on

__all__ = [
    "Look",
    "came_in_lines",
    "contradiction_lines",
    "ended_lines",
    "last_look",
    "odd_receipt_lines",
    "to_rogue_lines",
    "unaccounted_lines",
    "upload_lines",
]

# common practice, no source: how long a line stays that no record can settle
RECEIPT_SHOWN_DAYS, UPLOAD_SHOWN_DAYS = 60, 30
PLANTED_WITHIN_DAYS = 30  # what arrived is planted or accounted for by then: common practice, no source
_CODES_SHOWN = 3


def _days_before(on, days):
    return on - datetime.timedelta(days=days)


def _total(queryset, by, *parts):
    """A sum over related rows as a subquery, 0 without rows; `by` is the row's way to the outer record."""
    what = sum((F(part) for part in parts[1:]), F(parts[0]))
    return Coalesce(Subquery(queryset.filter(**{by: OuterRef("pk")}).order_by().values(by).annotate(n=Sum(what)).values("n")), 0)


def odd_receipt_lines(user, on):
    """Shipments that arrived of late damaged, spoiled or short, or whose receipt was entered of late. One query."""
    since = _days_before(on, RECEIPT_SHOWN_DAYS)
    of_late = Q(received_on__gte=since) | Q(entered_at__gte=timezone.make_aware(datetime.datetime.combine(since, datetime.time())))
    receipts = Receipt.objects.in_effect().filter(of_late, received_on__lte=on)
    latest = receipts.filter(shipment=OuterRef("pk")).order_by("-received_on")
    damaged = receipts.filter(shipment=OuterRef("pk")).exclude(box_condition=BoxCondition.GOOD)
    parts = ReceiptLine.objects.in_effect()
    shipments = (
        Shipment.objects.for_user(user)
        .filter(state=ShipmentState.DISPATCHED)
        .annotate(
            came_on=Subquery(latest.values("received_on")[:1]),
            entered_at=Subquery(latest.values("entered_at")[:1]),
            box=Subquery(damaged.values("box_condition")[:1]),
            sent=_total(ShipmentLine.objects, "shipment", "quantity"),
            arrived=_total(parts, "line__shipment", "sound", "sprouted", "spoiled"),
            spoiled=_total(parts, "line__shipment", "spoiled"),
        )
        .filter(Q(box__isnull=False) | Q(spoiled__gt=0) | Q(arrived__lt=F("sent")), came_on__isnull=False)
        .select_related("receiver")
        .order_by("-came_on", "code")
    )
    for shipment in shipments:
        faults = [f"the box was {BoxCondition(shipment.box).label}"] if shipment.box else []
        faults += [f"{shipment.spoiled:,} spoiled"] if shipment.spoiled else []
        faults += [f"{shipment.sent - shipment.arrived:,} short"] if shipment.arrived < shipment.sent else []
        entered = day_words(timezone.localdate(shipment.entered_at))
        came = day_words(shipment.came_on) + (f" (entered on {entered})" if shipment.came_on < since else "")
        text = f"Shipment {shipment.code} to {shipment.receiver.name} arrived on {came}: {', '.join(faults)}"
        yield Duty("odd", text, url=reverse("shipment_detail", args=[shipment.pk]))


def unaccounted_lines(user, on):
    """Shipments of which some arrived, was not planted, and is in no leftover. Two queries.

    They are listed once some of the lot was planted, or a month after it arrived, until somebody enters what became of the rest.
    """
    parts = ReceiptLine.objects.in_effect()
    leftovers = Leftover.objects.in_effect()
    came = parts.filter(line=OuterRef("pk")).order_by("-receipt__received_on").values("receipt__received_on")[:1]
    lines = (
        ShipmentLine.objects.for_user(user)
        .filter(shipment__state=ShipmentState.DISPATCHED)
        .annotate(
            came_on=Subquery(came),
            usable=_total(parts, "line", "sound", "sprouted"),
            planted=_total(EntrySupply.objects, "shipment_line", "count"),
            settled=_total(leftovers.exclude(outcome=LeftoverOutcome.HELD), "line", "count"),
        )
        .filter(came_on__lte=on, usable__gt=F("planted") + F("settled"))
        .filter(Q(planted__gt=0) | Q(came_on__lt=_days_before(on, PLANTED_WITHIN_DAYS)))
        .select_related("shipment", "lot")
        .order_by("-came_on", "shipment__code", "lot__code")
    )
    reports = leftover_reports(Leftover.objects.filter(line__in=[line.pk for line in lines])) if lines else {}
    for line in lines:
        unsettled = line.usable - line.planted - line.settled
        left = unsettled - held_of(reports.get(line.pk, ()), unsettled)
        if left > 0:
            counts = f"{line.usable:,} received usable, {line.planted:,} planted"
            text = f"Shipment {line.shipment.code}, lot {line.lot.code}: {amount_words(left, line.lot.unit)} not accounted for ({counts})"
            yield Duty("odd", f"{text}. Enter what became of them", url=reverse("shipment_detail", args=[line.shipment_id]))


def contradiction_lines(user):
    """Records whose identity evidence contradicts, without a question open or settled since. One query."""
    evidence = unanswered_contradictions(IdentityEvidence.objects.for_user(user))
    about = {}
    for item in evidence.select_related("tree", "lot", "pool").order_by("-on", "-pk"):
        about.setdefault((item.tree_id, item.lot_id, item.pool_id), item)
    for item in about.values():
        record = item.tree or item.lot or item.pool
        entered = timezone.localdate(item.entered_at)
        late = f", entered on {day_words(entered)}," if entered != item.on else ""
        named = f"{record._meta.verbose_name} {record}"
        text = f"Evidence of {day_words(item.on)}{late} contradicts the identity of {named}, and no question is open"
        url = reverse(f"{record._meta.model_name}_detail", args=[record.pk])
        yield Duty("odd", text, url=url)


def to_rogue_lines(user, on):
    """One line for the trees two people decided to rogue that are still standing. One query."""
    last = SelectionDecision.objects.filter(tree=OuterRef("pk")).order_by("-decided_on", "-id").values("decided_on")[:1]
    trees = decided_to_go(PedigreeTree.objects.for_user(user)).annotate(decided_on=Subquery(last)).filter(decided_on__lt=on)
    rows = list(trees.order_by("decided_on", "code").values_list("code", "decided_on"))
    if rows:
        codes = ", ".join(code for code, _day in rows[:_CODES_SHOWN]) + (" …" if len(rows) > _CODES_SHOWN else "")
        verb = "is" if len(rows) == 1 else "are"
        since = f"the first decided on {day_words(rows[0][1])}" if len(rows) > 1 else f"decided on {day_words(rows[0][1])}"
        text = f"{amount_words(len(rows), 'trees')} decided to be rogued {verb} still standing ({since}): {codes}"
        yield Duty("odd", text, url=reverse("orchard_list"))


def ended_lines(user, on):
    """Papers that have ended and that a draft shipment or a planned planting needs: it goes under the paper, or the last answer of the
    gate about it found nothing else against the paper. Five queries."""
    drafts = Shipment.objects.for_user(user).filter(state=ShipmentState.DRAFT)
    planned = Planting.objects.for_user(user).filter(state=PlantingState.PLANNED)
    answers = Determination.objects.order_by("-pk")
    asked = {
        "shipment": drafts.annotate(said=Subquery(answers.filter(shipment=OuterRef("pk")).values("answer")[:1])),
        "planting": planned.annotate(said=Subquery(answers.filter(activity=ESTABLISH, subject=OuterRef("code")).values("answer")[:1])),
    }
    wanted = {}
    for what, rows in asked.items():
        for code, said in rows.order_by("code").values_list("code", "said"):
            for paper in _papers_missed(said):
                wanted.setdefault(paper, []).append(f"{what} {code}")
    papers = Authorization.objects.for_user(user).filter(Q(shipments__in=drafts) | Q(plantings__in=planned) | Q(code__in=wanted)).distinct()
    papers = [paper for paper in with_state_on(papers, on).order_by("code") if _has_ended(paper, on)]
    needed = {paper.pk: [] for paper in papers}
    for model, rows, what in ((Shipment, drafts, "shipment"), (Planting, planned, "planting")):
        link = model.authorizations.through.objects.filter(authorization__in=needed, **{f"{what}__in": rows})
        for paper, code in link.order_by(f"{what}__code").values_list("authorization", f"{what}__code") if needed else ():
            needed[paper].append(f"{what} {code}")
    for paper in papers:
        end = end_ahead(paper)
        ended = f"ended on {day_words(end)}" if end and end < on else f"is {AuthorizationState(paper.state_then).label}"
        found = list(dict.fromkeys([*needed[paper.pk], *wanted.get(paper.code, ())]))
        names = ", ".join(found[:_CODES_SHOWN]) + (" …" if len(found) > _CODES_SHOWN else "")
        verb = "needs" if len(found) == 1 else "need"
        text = f"{paper.code} {paper.title} {ended}, and {names} {verb} it. Check with the local authority"
        yield Duty("odd", text, url=reverse("authorization_detail", args=[paper.pk]))


def _papers_missed(said):
    """The codes of papers that a stored answer of the gate names beside what is missing, with nothing against them but that they are not in
    force, that something is due under them, or that too little is left of their cap."""
    for finding in from_json(said).findings if said else ():
        for near in finding.near if finding.status == "missing" else ():
            reasons = {reason.code for reason in near.reasons}
            if "not_in_force" in reasons and reasons <= {"not_in_force", "duty", "quantity"}:
                yield near.paper


def _has_ended(paper, on):
    end = end_ahead(paper)
    gone = paper.state_then in (AuthorizationState.EXPIRED, AuthorizationState.CLOSED)
    return gone or (paper.state_then == AuthorizationState.IN_FORCE and end is not None and end < on)


def upload_lines(user, on):
    """Sheets that were uploaded before today and not saved. One query."""
    loaded = SheetUpload.objects.filter(loaded_at__isnull=False, sha256=OuterRef("sha256"), kind=OuterRef("kind"))
    since, today = (
        timezone.make_aware(datetime.datetime.combine(day, datetime.time())) for day in (_days_before(on, UPLOAD_SHOWN_DAYS), on)
    )
    waiting = SheetUpload.objects.for_user(user).filter(~Exists(loaded), loaded_at__isnull=True)
    waiting = waiting.filter(uploaded_at__gte=since, uploaded_at__lt=today)
    for upload in waiting.select_related("uploaded_by").order_by("-uploaded_at"):
        day = timezone.localdate(upload.uploaded_at)
        text = f"Sheet {upload.filename} was uploaded on {day_words(day)} and not saved. Go on with it, or load it again"
        own = upload.uploaded_by_id == user.pk
        yield Duty("odd", text, None, reverse(upload.preview_route, args=[upload.key]), "" if own else str(upload.uploaded_by), mine=own)


_PLOTS = "plots counted"
# what other people bring in, by the verb of its audit entry; counts of plots have that of records of trees
_CAME_IN = {
    "planting.census_recorded": "records",
    _PLOTS: "plots",
    "receipt.added": "receipts",
    "landnotice.added": "messages",
    "authorization.signed": "signatures",
    "incident.added": "incidents",
    "sheetupload.loaded": "sheets",
}


class Look(NamedTuple):
    """When somebody looked at Today, and the last entry of the audit trail by then."""

    entry: int
    at: datetime.datetime


def last_look(now):
    """A look at a moment. One query."""
    return Look(AuditEntry.objects.aggregate(pk=Max("pk"))["pk"] or 0, now)


def came_in_lines(user, since):
    """One line for what others entered since a `Look`: census records, receipts, messages. One query; none without a look."""
    if since is None or user.role not in roles.OFFICE:
        return
    entries = AuditEntry.objects.filter(pk__gt=since.entry, verb__in=_CAME_IN).exclude(actor=user).order_by()
    counts = Counter()
    for verb, changes in entries.values_list("verb", "changes"):
        if "plot counts" in changes:
            counts[_PLOTS] += changes["plot counts"][1]
        else:
            counts[verb] += changes["observations"][1] if "observations" in changes else 1
    if counts:
        ends = {"planting.census_recorded": " of trees", _PLOTS: " counted"}
        parts = [amount_words(counts[verb], unit) + ends.get(verb, "") for verb, unit in _CAME_IN.items() if verb in counts]
        url = reverse("audit_list") if user.may("audit.view") else reverse("round_list")
        yield Duty("info", f"New since {moment_words(timezone.localtime(since.at))}: {', '.join(parts)}", url=url, mine=True)
