"""The question for the gate, read from the records: what is done with which material, from where to where, and by whom."""

from collections import defaultdict
from dataclasses import replace

from registry.calc.shared.screen import day_words
from registry.choices import ClassRule, LotKind, PartnerKind, ProgrammeKey
from registry.compliance.gate.classes import with_form
from registry.compliance.gate.facts import Line, Place, Question
from registry.compliance.gate.words import DISPATCH
from registry.compliance.shared.counties import county_name
from registry.compliance.shared.territories import other_codes
from registry.models import IdentityQuestion, MaterialClass, ShipmentLine
from registry.selectors.gate.material_classes import class_rules, lot_material
from registry.selectors.movements.site_land import site_land
from registry.selectors.people.programme import setting

__all__ = [
    "acting_body",
    "agreement_wanted",
    "is_same_place",
    "material_lines",
    "partner_place",
    "pathogen_lines",
    "place",
    "shipment_question",
    "shipment_questions",
    "site_destination",
]


def partner_place(partner):
    """A partner's place as far as it is recorded: the county is as somebody typed it."""
    county = county_name(partner.region, partner.county)
    return place(partner.region, county=county, partner=partner.code, county_typed=bool(county))


def site_destination(land, receiver, owner):
    """The place of a site, with the partner whose agreement is needed: its owner, or a landowner who takes in what is for own land."""
    if agreement_wanted(owner):
        return replace(land.place, partner=owner.code)
    return replace(land.place, partner=receiver.code) if receiver and receiver.kind == PartnerKind.LANDOWNER else land.place


def place(code, **known):
    """A place by its ISO code, with the other code of a territory; “US-VT/Chittenden” with a county that somebody typed."""
    region, _, county = code.partition("/")
    if county:
        known |= {"county": county, "county_typed": True}
    return Place(region, also=other_codes(region), **known)


def agreement_wanted(partner):
    """Whether work on a partner's land needs an agreement: any land but the programme's own, and land of nobody named."""
    return partner is None or partner.kind != PartnerKind.OWN


def shipment_question(shipment, on):
    """The question to the gate before a shipment goes. It needs an agreement with a landowner, or with the owner of the site it is for."""
    (question,) = shipment_questions([(shipment, on)])
    return question


def shipment_questions(pairs):
    """The questions for (shipment, day) pairs. What their lots are is read once for all of them."""
    lines = list(ShipmentLine.objects.filter(shipment__in=[one.pk for one, _on in pairs]).select_related("lot__taxon").order_by("pk"))
    material = material_lines((line.lot, line.form, line.quantity) for line in lines)
    by_shipment = defaultdict(list)
    for line, asked in zip(lines, material, strict=True):
        by_shipment[line.shipment_id].append(replace(asked, draw_on=tuple(line.draw_on)))
    home = "" if all(one.origin_region for one, _on in pairs) else setting(ProgrammeKey.HOME_REGION)
    body = acting_body()
    return [
        replace(
            _without_lines(shipment, on),
            lines=tuple(by_shipment[shipment.pk]),
            origin=place(shipment.origin_region or home),
            acting_for=body,
        )
        for shipment, on in pairs
    ]


def _without_lines(shipment, on):
    """What the gate is asked about a shipment, apart from its lines, where it leaves from and for whom it is sent."""
    receiver, site_code, taken_in = shipment.receiver, shipment.site_code.strip(), partner_place(shipment.receiver)
    land = site_land(site_code)
    owner = land.partner if land else None
    on_other_land = bool(site_code) and agreement_wanted(owner)
    if land:
        destination = site_destination(land, receiver, owner)
    else:  # of a site that is not on file nothing is known
        destination = Place(site=site_code, areas_known=False) if site_code else taken_in
    also_to = (taken_in,) if site_code and not (land and is_same_place(land.place, taken_in)) else ()
    return Question(
        activity=DISPATCH,
        on=on,
        destination=destination,
        also_to=also_to,
        transit=tuple(place(code) for code in shipment.transit_regions),
        receiver=shipment.receiving_person,
        landowner_agreement_wanted=receiver.kind == PartnerKind.LANDOWNER or on_other_land,
        people=tuple(shipment.done_by),
        arrives_on=shipment.arrives_on,
    )


def acting_body():
    """The body for which things are done here: the programme by its name; "" while it has none."""
    return setting(ProgrammeKey.NAME)


def is_same_place(site, receiver):
    """Whether a site lies where the receiver is, as far as rules can tell: then the shipment goes to one place.

    Its own partner, of whom no place is on file, takes it in at the site; where anybody else does is not known then.
    """
    if not receiver.code:
        return receiver.partner == site.partner
    return receiver.code in (site.code, *site.also) and receiver.county in ("", site.county)


def material_lines(rows):
    """Lines of a question for (lot, form, quantity) triples, with the classes that follow from their descent."""
    rows = list(rows)
    rules = class_rules()
    lots = {lot.pk: lot for lot, _form, _quantity in rows}
    material = lot_material(lots.values(), rules)
    doubted = _in_question(lots)
    return tuple(_line(lot, form, quantity, material[lot.pk], rules, doubted) for lot, form, quantity in rows)


def pathogen_lines():
    """A live pathogen, which is not a lot, as a line of a question: with the classes it falls into, or no line at all."""
    codes = MaterialClass.objects.filter(rule=ClassRule.PATHOGEN).values_list("code", flat=True)
    return (Line("live pathogen", classes=tuple(codes)),) if codes else ()


def _line(lot, form, quantity, material, rules, doubted):
    known = with_form(rules, material.classes, form)
    return Line(
        lot=lot.code,
        taxa=(material.taxon,),
        parent_taxa=material.parent_taxa,
        classes=known.certain,
        may_classes=known.may,
        form=form,
        quantity=quantity,
        unit="seeds" if lot.kind == LotKind.SEED else "plants",
        use_by=lot.use_by,
        in_question=doubted.get(lot.pk, ""),
    )


def _in_question(lots):
    rows = IdentityQuestion.lots.through.objects.filter(lot__in=lots, identityquestion__settled_on__isnull=True)
    reasons = defaultdict(list)
    for lot, raised, reason in rows.values_list("lot", "identityquestion__raised_on", "identityquestion__reason"):
        reasons[lot].append(f"in question since {day_words(raised)}: {reason}")
    return {lot: "; ".join(sorted(words)) for lot, words in reasons.items()}
