"""The papers a shipment goes under: those attached to it, those by which the gate's rules are met, those whose caps it counts against."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Q, Sum
from django.utils.translation import gettext

from registry.choices import DrawKind
from registry.compliance.gate.answers import Answer
from registry.compliance.gate.words import DISPATCH
from registry.models import Authorization, AuthorizationDraw
from registry.selectors.gate.determinations import determinations_of, shipment_answer, stored_answer
from registry.selectors.permits.as_of import papers_on
from registry.selectors.shared.local_words import local_count

__all__ = ["ShipmentPaper", "shipment_day", "shipment_papers", "shipment_said"]


@dataclass(frozen=True, slots=True)
class ShipmentPaper:
    """A paper with the lots that go under it (none: all of them), how it belongs to the shipment, and what is counted against its cap."""

    paper: Authorization
    lots: tuple[str, ...]
    covers: bool
    drawn: int

    @property
    def how(self):
        """'covers it; 100 counted against its cap'."""
        counted = gettext("%(n)s counted against its cap") % {"n": local_count(self.drawn)} if self.drawn else ""
        return "; ".join(filter(None, (gettext("covers it") if self.covers else "", counted))) or gettext("attached")


def shipment_day(shipment, today):
    """The day a shipment left, or is to leave: never a day that has passed for a draft."""
    return shipment.dispatched_on or max(shipment.planned_on or today, today)


def shipment_said(shipment, today) -> Answer | None:
    """What the gate said when a shipment left, or says of a draft for its day; None where it was not asked."""
    if shipment.dispatched_on:
        released, _others = determinations_of(shipment.code, DISPATCH)
        return stored_answer(released[0]) if released else None
    return shipment_answer(shipment, shipment_day(shipment, today)) if shipment.lines.exists() else None


def shipment_papers(shipment, answer, on):
    """The ShipmentPapers of a shipment, by their codes, as they are on a day. `answer` is what the gate said or says, or None."""
    attached = set(shipment.authorizations.values_list("code", flat=True))
    lots = defaultdict(set)
    for finding in answer.findings if answer else ():
        for cover in finding.covered:
            lots[cover.paper].update(cover.lots)
        for code in finding.met_by:
            lots[code].update(() if finding.covered else finding.lots)
    drawn = _drawn(shipment)
    papers = Authorization.objects.filter(Q(code__in={*attached, *lots}) | Q(pk__in=drawn)).order_by("code")
    everything = {line.lot.code for line in shipment.lines.select_related("lot")}

    def under(code):
        some = lots.get(code, set())
        return () if code in attached or everything <= some else tuple(sorted(some))

    return [ShipmentPaper(paper, under(paper.code), paper.code in lots, drawn.get(paper.pk, 0)) for paper in papers_on(papers, on)]


def _drawn(shipment):
    """{key of a paper: what the shipment counts against its cap, less what was given back}."""
    draws = AuthorizationDraw.objects.filter(subject=shipment.code, kind__in=(DrawKind.SHIPPED, DrawKind.RETURNED)).order_by()
    return {paper: total for paper, total in draws.values_list("authorization").annotate(n=Sum("quantity")) if total}
