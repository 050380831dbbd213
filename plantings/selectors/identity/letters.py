"""The sheet for letters about an identity in question: one row for each partner, with all that a letter to them has to say.

A partner gets one letter, however many shipments they received, so shipments, lots and plantings are lines within a cell. Partners
get a letter when a dispatched shipment brought them an affected lot, or when an affected lot is planted on their land.
"""

from collections import defaultdict
from dataclasses import dataclass, field

from plantings.models import Planting, PlantingEntry
from plantings.selectors.identity.trace_keys import trace_keys
from plantings.selectors.plantings.alive_counts import entry_counts
from registry.calc.shared.screen import day_words
from registry.choices import IssuedKind, LotKind, ShipmentState
from registry.models import Authorization, IdentityQuestion, IssuedPrint, Lot, Partner, Shipment, ShipmentLine
from registry.selectors.identity.descent import chunks, linked
from registry.selectors.identity.questions import OPEN, PREFETCHED, questions_of

__all__ = ["CONTACT_HEADERS", "letters_headers", "letters_rows", "open_questions"]

CONTACT_HEADERS = ("Contact name", "Address", "E-mail", "Phone", "Consent to store contacts")
_HEADERS = (
    "Shipments", "Seeds shipped", "Plants shipped", "Lots", "Planted on their land", "Alive there at the last census",
    "What is planted where now", "Papers it travelled on", "Prints handed out with it", "About", "Reason", "In question since",
    "Who to call", "Their phone", "Their e-mail",
)  # fmt: skip


def letters_headers(user):
    """Headers of the sheet; without contacts for a role that may not see them."""
    return ["Partner code", "Partner", *(CONTACT_HEADERS if user.may("partner.contact") else ()), *_HEADERS]


def open_questions(record):
    """The open questions that reach a tree, lot, pool or shipment, the latest first."""
    if isinstance(record, Shipment):
        lots = record.lines.values("lot")
        questions = IdentityQuestion.objects.filter(OPEN, lots__in=lots).distinct().order_by("-raised_on", "-pk")
        return list(questions.select_related(*PREFETCHED))
    return [question for question in questions_of(record) if not question.settled_on]


@dataclass
class _Letter:
    """What a letter to one partner says."""

    shipments: list = field(default_factory=list)
    seeds: int = 0
    plants: int = 0
    lots: set = field(default_factory=set)
    planted: int = 0
    alive: int = 0
    has_unknown: bool = False  # some of it is of an unknown number planted, and in neither of the two
    plantings: list = field(default_factory=list)


def letters_rows(user, record):
    """Rows of the sheet below `letters_headers(user)`, by partner code, for the partners this person may see."""
    letters, shipments = _letters(record)
    papers, handed_out = _papers(shipments)
    about = _about(record)
    return [
        [
            partner.code, partner.name, *(_contacts(partner) if user.may("partner.contact") else ()),
            *_letter_cells(letters[partner.pk]), _lines(papers[partner.pk]), _lines(handed_out[partner.pk]), *about,
        ]
        for partner in _partners(user, letters)
    ]  # fmt: skip


def _affected(record):
    """(keys of the lots that a doubt about the record affects, {entry: planting} where they were planted)."""
    found = trace_keys(record)
    if isinstance(record, Shipment):
        return set(record.lines.values_list("lot", flat=True)), found.entries
    return found.lots | ({record.pk} if isinstance(record, Lot) else set()), found.entries


def _letters(record):
    """({partner key: _Letter}, {partner key: keys of the shipments it names})."""
    lots, entries = _affected(record)
    letters, named = defaultdict(_Letter), defaultdict(set)
    sent = ShipmentLine.objects.filter(shipment__state=ShipmentState.DISPATCHED)
    sent = sent.filter(shipment=record) if isinstance(record, Shipment) else sent
    fields = ("shipment__dispatched_on", "shipment__code", "lot__code", "lot__kind", "quantity", "shipment__receiver", "shipment")
    for on, code, lot, kind, quantity, receiver, shipment in sorted(linked(sent, "lot", lots, *fields)):
        letter, unit = letters[receiver], "seeds" if kind == LotKind.SEED else "plants"
        letter.shipments.append(f"{code} of {day_words(on)}: {quantity:,} {unit} of {lot}")
        setattr(letter, unit, getattr(letter, unit) + quantity)
        letter.lots.add(lot)
        named[receiver].add(shipment)
    _add_planted(letters, entries)
    return letters, named


def _add_planted(letters, entries):
    standing = entry_counts(entries)
    places = {}
    for planting, *place in linked(Planting.objects, "pk", set(entries.values()), "pk", "code", "site__name", "site__partner"):
        places[planting] = place
    rows = linked(PlantingEntry.objects, "pk", standing.planted, "planting__code", "lot__code", "pk", "planting")
    for code, lot, entry, planting in sorted(rows):
        planted, alive = standing.planted[entry], standing.alive[entry]
        _code, site, partner = places[planting]
        letter = letters[partner]
        letter.has_unknown |= entry in standing.unknown_plots or entry in standing.trees_left_out
        if entry not in standing.trees_left_out:
            letter.planted += planted
            letter.alive += alive
        letter.lots.add(lot)
        letter.plantings.append(f"{site}, planting {code}, lot {lot}: {standing.words(entry)}")


def _papers(named):
    """Two {partner key: texts}: the papers their shipments travelled on, and the prints made for those shipments."""
    receiver = {shipment: partner for partner, shipments in named.items() for shipment in shipments}
    travelled, handed_out = defaultdict(set), defaultdict(set)
    for shipment, code, title in linked(Authorization.objects, "shipments", receiver, "shipments", "code", "title"):
        if shipment in receiver:
            travelled[receiver[shipment]].add(f"{code} {title}")
    made = IssuedPrint.objects.exclude(kind=IssuedKind.LETTERS)
    for shipment, title, at in linked(made, "shipments", receiver, "shipments", "title", "entered_at"):
        if shipment in receiver:
            handed_out[receiver[shipment]].add(f"{title}, {day_words(at)}")
    return travelled, handed_out


def _partners(user, keys):
    partners = []
    for chunk in chunks(keys):
        partners.extend(Partner.objects.for_user(user).filter(pk__in=chunk))
    return sorted(partners, key=lambda partner: partner.code)


def _contacts(partner):
    return partner.contact_name, partner.address, partner.email, partner.phone, partner.consent_on and partner.consent_on.isoformat()


def _letter_cells(letter):
    # an unknown number is no number
    planted, alive = (None, None) if letter.has_unknown and not letter.planted else (letter.planted, letter.alive)
    return (
        "\n".join(letter.shipments), letter.seeds, letter.plants, ", ".join(sorted(letter.lots)), planted, alive,
        "\n".join(letter.plantings),
    )  # fmt: skip


def _lines(texts):
    return "\n".join(sorted(texts))


def _about(record):
    """About, reason, day and whom to call: of the latest open question; the reasons of all of them."""
    about = f"{record._meta.verbose_name} {record}"
    questions = open_questions(record)
    if not questions:
        return about, "", "", "", "", ""
    first = questions[0]
    reasons = [question.reason if question.about == record else f"{question.about}: {question.reason}" for question in questions]
    days = min(question.raised_on for question in questions)
    who = first.entered_by
    return about, "\n".join(reasons), days.isoformat(), str(who or ""), who.phone if who else "", who.email if who else ""
