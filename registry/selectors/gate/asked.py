"""Questions to the gate from the page that asks about an activity, and the conditions of papers to read before something is destroyed."""

from dataclasses import replace

from registry.choices import PartnerKind, ProgrammeKey
from registry.compliance.gate.facts import Place, Question
from registry.compliance.gate.words import DISPATCH, ESTABLISH, INOCULATE, ON_LAND
from registry.compliance.shared.counties import county_name
from registry.models import Authorization, Lot
from registry.selectors.gate.facts import (
    acting_body,
    agreement_wanted,
    is_same_place,
    material_lines,
    partner_place,
    pathogen_lines,
    place,
)
from registry.selectors.people.programme import setting
from registry.selectors.permits.as_of import papers_on

__all__ = ["activity_question", "conditions_of"]


def activity_question(values):
    """The question of the filled-in form about an activity."""
    activity, land, partner = values["activity"], values["site"], values["partner"]
    owner = land.partner if land else partner
    receiver = values["sent_to"] if activity == DISPATCH else None
    destination = _place(values, land, partner or receiver)
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
        destination=destination,
        also_to=() if taken_in is None or is_same_place(destination, taken_in) else (taken_in,),
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


def conditions_of(lots, on):
    """[(paper, its conditions)] of the papers under which lots left or were planted, as they read on a day."""
    papers = Authorization.objects.filter(draws__lot__code__in=lots) | Authorization.objects.filter(shipments__lines__lot__code__in=lots)
    return [(paper, paper.conditions) for paper in papers_on(papers.distinct().order_by("code"), on) if paper.conditions]
