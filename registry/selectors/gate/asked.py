"""Questions to the gate from the page that asks about an activity, and the conditions of papers to read before something is destroyed."""

import json
from dataclasses import replace
from functools import reduce
from operator import or_

from django.db.models import Q, TextField
from django.db.models.functions import Cast

from registry.choices import PartnerKind, ProgrammeKey
from registry.compliance.gate.facts import Place, Question
from registry.compliance.gate.places import NO, matches
from registry.compliance.gate.words import DISPATCH, ESTABLISH, INOCULATE, LANDOWNER_TYPES, ON_LAND
from registry.compliance.shared.counties import county_name
from registry.models import Authorization, Determination, Lot
from registry.selectors.gate.determinations import stored_answer
from registry.selectors.gate.questions import (
    acting_body,
    agreement_wanted,
    is_same_place,
    material_lines,
    partner_place,
    pathogen_lines,
    place,
    site_destination,
)
from registry.selectors.lots.treated import lots_behind
from registry.selectors.movements.site_land import papers_of_plantings, planted_at
from registry.selectors.people.programme import setting
from registry.selectors.permits.as_of import papers_on, version_on

__all__ = ["activity_question", "conditions_of"]


def activity_question(values):
    """The question of the filled-in form about an activity."""
    activity, land, partner = values["activity"], values["site"], values["partner"]
    owner = land.partner if land else partner
    receiver = values["sent_to"] if activity == DISPATCH else None
    here = _place(values, land, partner or receiver)
    taken_in = partner_place(receiver or owner) if activity == DISPATCH and (receiver or land) else None
    asked = sorted(values["lots"], key=lambda part: part[0])
    lots = {lot.code: lot for lot in Lot.objects.filter(code__in={code for code, *_part in asked}).select_related("taxon")}
    lines = material_lines((lots[code], values["form"], number) for code, number, _papers in asked)
    pathogen = pathogen_lines() if values["pathogen"] or activity == INOCULATE else ()
    moves = activity in (DISPATCH, ESTABLISH)
    return Question(
        activity=activity,
        on=values["on"],
        lines=tuple(replace(line, draw_on=papers) for line, (*_lot, papers) in zip(lines, asked, strict=True)) + pathogen,
        origin=place(values["origin"] or setting(ProgrammeKey.HOME_REGION)) if moves or values["origin"] else Place(),
        destination=replace(here, partner=site_destination(land, receiver, owner).partner) if land else here,
        also_to=() if taken_in is None or is_same_place(here, taken_in) else (taken_in,),
        transit=tuple(map(place, values["transit"])),
        receiver=values["receiver"],
        landowner_agreement_wanted=_agreement_wanted(activity, land, owner, receiver),
        people=tuple(values["people"]),
        acting_for=acting_body(),
        arrives_on=values["arrives_on"],
    )


def _place(values, land, partner):
    here = land.place if land else partner_place(partner) if partner else Place()
    if not (land and here.code) and values["region"]:
        here = replace(place(values["region"]), county=here.county, site=here.site, partner=here.partner, areas_known=here.areas_known)
    if values["county"] and not land:
        here = replace(here, county=county_name(here.code, values["county"]), county_typed=True)
    return here


def _agreement_wanted(activity, land, owner, receiver):
    """A shipment needs the agreement of a landowner it goes to, or whose site it is for; everything done on land that of its owner."""
    if activity == DISPATCH:
        on_land = land is not None and agreement_wanted(owner)
        return on_land or any(partner is not None and partner.kind == PartnerKind.LANDOWNER for partner in (owner, receiver))
    return activity in (ESTABLISH, *ON_LAND) and agreement_wanted(owner)


def conditions_of(codes, place, answer):
    """[(paper, its conditions)] of the papers under which lots left or were planted, as they read on the day of an answer, with those of
    the lots they were made of, and of the papers that the answer names as covering. Without codes of lots: of all planted at the site.
    Papers that are plainly about another place, or made with another landowner, are left out.

    A lot went under a paper that was attached to its shipment or planting, by which the gate's rules were met, or whose cap it counts
    against.
    """
    named = Lot.objects.filter(code__in=codes) if codes else Lot.objects.filter(pk__in=planted_at(place.site) if place.site else ())
    lots = lots_behind(named.values_list("pk", flat=True))
    under = Q(code__in={code for finding in answer.findings for code in finding.met_by})
    if lots:
        under |= Q(draws__lot__in=lots) | Q(shipments__lines__lot__in=lots)
        under |= Q(pk__in=papers_of_plantings(lots)) | Q(code__in=_met_by(lots))
    papers = Authorization.objects.filter(under).distinct().order_by("code").select_related("partner").prefetch_related("versions")
    papers = [paper for paper in papers_on(papers, answer.on) if paper.conditions and not _is_elsewhere(paper, place, answer.on)]
    return [(paper, paper.conditions) for paper in papers]


def _is_elsewhere(paper, place, on):
    """Whether a paper is plainly about another place than this, or made with somebody else than the owner of the land."""
    if paper.type in LANDOWNER_TYPES and paper.partner and place.partner:
        return paper.partner.code != place.partner
    said = version_on(list(paper.versions.all()), on)
    if said is None or not (place.site or place.code):
        return False
    other_site = bool(said.sites and place.site) and place.site not in said.sites
    return other_site or (bool(said.destinations) and matches(said.destinations, place) == NO)


def _met_by(lots):
    """Codes of the papers under which the gate let lots go, by their keys: those that cover the lots themselves."""
    codes = set(Lot.objects.filter(pk__in=lots).order_by().values_list("code", flat=True))
    asked = Determination.objects.in_effect().annotate(said=Cast("question", TextField()))
    names_one = reduce(or_, (Q(said__contains=json.dumps(code)) for code in codes))
    answers = map(stored_answer, asked.filter(names_one).order_by().defer("facts"))
    findings = [finding for answer in answers for finding in answer.findings]
    covers = {cover.paper for finding in findings for cover in finding.covered if not codes.isdisjoint(cover.lots)}
    older = {code for finding in findings if not finding.covered and not codes.isdisjoint(finding.lots) for code in finding.met_by}
    return covers | older
