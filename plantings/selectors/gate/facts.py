"""Questions to the gate about plantings and sites."""

from collections import Counter, defaultdict

from django.db.models import Count, Sum

from plantings.choices import PlantingState
from plantings.models import EntrySupply, Planting, PlantingEntry, Site
from plantings.selectors.sites.places import TYPED
from registry.choices import DrawKind, LotKind, MaterialForm, ProgrammeKey
from registry.compliance.gate.facts import Question
from registry.compliance.gate.words import ESTABLISH
from registry.models import AuthorizationDraw
from registry.selectors.gate.determinations import gate_ask
from registry.selectors.gate.facts import counted_once, gate_facts
from registry.selectors.gate.questions import acting_body, agreement_wanted, material_lines, place
from registry.selectors.movements.site_land import SiteLand
from registry.selectors.people.programme import setting

__all__ = [
    "drawn_when_shipped", "land_of_site", "lots_at_site", "new_lots", "papers_of_lots", "planting_answer", "planting_lots",
    "planting_question", "site_place",
]  # fmt: skip


def site_place(site):
    """The place of a site: its own jurisdiction and county, from its point or outline. Without one no more than the country of its partner
    is taken: the office may be in another state."""
    code = site.jurisdiction or site.partner.region.partition("-")[0]
    return place(
        code, county=site.county, site=site.code, partner=site.partner.code, near=tuple(site.near), areas=tuple(site.areas),
        areas_known=site.longitude is not None or site.boundary is not None, county_typed=site.county_basis == TYPED,
    )  # fmt: skip


def land_of_site(code):
    """What the registry needs to know of a site by its code, as `SiteLand`; None when there is none."""
    sites, code = Site.objects.select_related("partner"), code.strip()
    site = sites.filter(code=code).first() or sites.filter(code__iexact=code).first()
    return SiteLand(site_place(site), site.partner) if site else None


def lots_at_site(code):
    """Keys of the lots planted at the site of a code."""
    return set(PlantingEntry.objects.filter(planting__site__code=code).order_by().values_list("lot", flat=True))


def papers_of_lots(lots):
    """Keys of the papers attached to plantings of lots by their keys."""
    attached = Planting.objects.filter(entries__lot__in=lots, authorizations__isnull=False)
    return set(attached.order_by().values_list("authorizations", flat=True))


def planting_lots(planting):
    """[(lot, form, how many)] of a planting: what was supplied for each entry, or planted where no supply is entered (None: nothing is).

    The form is that of the shipment; seed from the programme's own store is seed, and own plants have no recorded form.
    """
    entries = PlantingEntry.objects.filter(planting=planting).select_related("lot__taxon").annotate(planted=Count("trees"))
    supplied = defaultdict(Counter)
    rows = EntrySupply.objects.filter(entry__planting=planting).values("entry", "shipment_line__form").annotate(total=Sum("count"))
    for row in rows:
        supplied[row["entry"]][row["shipment_line__form"] or ""] += row["total"]
    found = Counter()
    lots = {}
    for entry in entries.order_by("pk"):
        lots[entry.lot_id] = entry.lot
        own = MaterialForm.SEED if entry.lot.kind == LotKind.SEED else ""
        for form, count in (supplied[entry.pk] or {"": entry.planted}).items():
            found[entry.lot_id, form or own] += count
    return [(lots[lot], form, count or None) for (lot, form), count in found.items()]


def new_lots(planting, lots):
    """Those of some lots that are new to an established planting: the gate decides before they are planted there."""
    if planting.state == PlantingState.PLANNED:
        return []
    known = set(PlantingEntry.objects.filter(planting=planting).values_list("lot", flat=True))
    return [lot for lot in lots if lot.pk not in known]


def planting_question(planting, on, lots=None):
    """The question to the gate before a planting is established, or before `lots` of it, as `planting_lots` gives them, are added."""
    site = planting.site
    return Question(
        activity=ESTABLISH,
        on=on,
        lines=material_lines(planting_lots(planting) if lots is None else lots),
        origin=place(setting(ProgrammeKey.HOME_REGION)),
        destination=site_place(site),
        receiver=site.partner.contact_name,
        landowner_agreement_wanted=agreement_wanted(site.partner),
        people=tuple(planting.done_by),
        acting_for=acting_body(),
    )


def planting_answer(planting, on):
    """What the gate says about a planting on a day; what its shipments drew is not counted twice."""
    question = planting_question(planting, on)
    return gate_ask(question, counted_once(question, gate_facts(question), drawn_when_shipped(planting))[0]).answer


def drawn_when_shipped(planting):
    """{(paper code, lot code): quantity} that the shipments which supply this planting have drawn already."""
    shipments = EntrySupply.objects.filter(entry__planting=planting, shipment_line__isnull=False)
    codes = set(shipments.values_list("shipment_line__shipment__code", flat=True))
    draws = AuthorizationDraw.objects.filter(subject__in=codes, kind=DrawKind.SHIPPED).order_by()
    rows = draws.values_list("authorization__code", "lot__code").annotate(total=Sum("quantity"))
    return {(paper, lot): total for paper, lot, total in rows}
