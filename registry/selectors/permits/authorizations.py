"""Reads about papers: what is due or odd about one, and who holds which."""

from dataclasses import dataclass

from django.utils.translation import gettext

from registry.access.active import contact_on, is_active_on
from registry.calc.shared.screen import day_words
from registry.calc.shared.verified import ASK_ISSUER, verified_words
from registry.choices import AuthorizationState
from registry.compliance.gate.words import NONE_NEEDED
from registry.compliance.shared.name_faults import name_fault
from registry.models import Authorization
from registry.selectors.duties.duty_line import Duty
from registry.selectors.gate.named_places import NamedPlaces
from registry.selectors.permits.as_of import announced_lines, papers_on, with_state_on
from registry.selectors.shared.local_words import local_day

__all__ = [
    "END_NOTICE_DAYS", "PAPER_FACTS", "Held", "Holder", "announced_duties", "authorization_duties", "chosen_paper_duties",
    "held_by_people", "paper_mark", "wording_duties",
]  # fmt: skip

END_NOTICE_DAYS = 180  # common practice, no source: a renewal takes an office months


def authorization_duties(paper, today):
    """What is due or odd about a paper on a day, by its own dates and state."""
    in_force = paper.state == AuthorizationState.IN_FORCE
    if paper.ends_on and in_force:
        days = (paper.ends_on - today).days
        if days < 0:
            return [Duty("late", "Recorded as in force, but its end date has passed. Its duties continue.", paper.ends_on)]
        if days <= END_NOTICE_DAYS:
            return [Duty("soon", "It ends soon. Ask the issuer about a renewal.", paper.ends_on)]
    if paper.starts_on and in_force and paper.starts_on > today:
        return [Duty("odd", "Recorded as in force, but its start date is in the future.", paper.starts_on)]
    if paper.state == AuthorizationState.EXPIRED:
        return [
            Duty("info", "Expired: nothing new starts under it. Census, flower removal, destruction and reports continue.", paper.ends_on)
        ]
    if paper.state == AuthorizationState.SUSPENDED:
        return [Duty("odd", "Suspended. Ask the issuer what that means for material on its way or in the ground.")]
    return []


def chosen_paper_duties(record, on):
    """A line for each paper that somebody chose for a draft, a shipment or a planting, and that is not in force on the day of it."""
    duties = []
    for paper in papers_on(record.authorizations.order_by("code"), on):
        if paper.ends_on and paper.ends_on < on:
            why, day = gettext("its last day is %(day)s") % {"day": local_day(paper.ends_on)}, paper.ends_on
        elif paper.starts_on and paper.starts_on > on:
            why, day = gettext("its first day is %(day)s") % {"day": local_day(paper.starts_on)}, paper.starts_on
        elif paper.state != AuthorizationState.IN_FORCE:
            why, day = paper.get_state_display(), None
        else:
            continue
        words = gettext("Paper %(paper)s is chosen here but not in force on %(on)s: %(why)s. Have it renewed, or choose another.")
        duties.append(Duty("odd", words % {"paper": paper.code, "on": local_day(on), "why": why}, day))
    return duties


def wording_duties(paper, said):
    """What is odd in the codes of a version, so that the gate does not read it as it is meant. `said` may be None."""
    if said is None:
        return []
    about = (said.under, said.origins, said.destinations, said.transits, said.sites)
    words = [fault for name in said.taxa if (fault := name_fault(name))]
    words += NamedPlaces().missing([*said.origins, *said.destinations, *said.transits, *(f"site:{code}" for code in said.sites)])
    if paper.type == NONE_NEEDED and not any(about):
        words.append("It names neither a rule nor a place by its code, so it answers no rule. Amend it: enter what it is about.")
    return [Duty("odd", text) for text in words]


def announced_duties(paper, today):
    """What is entered about a paper and holds from a future day."""
    coming = announced_lines(paper.state_history.all(), paper.versions.all(), today)
    return [Duty("info", f"Announced: {what}. Until then this page is current.", day) for day, what in coming]


def paper_mark(paper, today):
    """How a row of a table marks a paper: late, soon, odd or not at all."""
    return next((duty.severity for duty in authorization_duties(paper, today) if duty.severity != "info"), "")


def _cap_words(paper):
    return f"{paper.cap_quantity:,} {paper.cap_unit}, {paper.drawn:,} drawn" if paper.cap_quantity is not None else ""


# (label, function of the paper and the day): what its page and its file begin with
PAPER_FACTS = (
    ("Issuer", lambda paper, on: paper.issuer),
    ("Issuer's reference", lambda paper, on: paper.issuer_reference),
    ("Contact at the issuer", lambda paper, on: paper.issuer_contact),
    ("Holder", lambda paper, on: ", ".join(filter(None, (paper.holder_person, paper.holder_body)))),
    ("Bound to the address", lambda paper, on: paper.holder_address),
    (
        "If the holder leaves",
        lambda paper, on: "it continues" if paper.transferable else "it ends, unless the issuer says otherwise",
    ),
    ("Second contact", lambda paper, on: paper.second_contact),
    ("From", lambda paper, on: day_words(paper.starts_on)),
    ("Until", lambda paper, on: day_words(paper.ends_on)),
    ("Quantity at most", lambda paper, on: _cap_words(paper)),
    ("What it is based on", lambda paper, on: paper.basis),
    ("Verified with the issuer", lambda paper, on: verified_words(paper, on, ASK_ISSUER)),
    ("Ask again by", lambda paper, on: day_words(paper.review_by)),
)


@dataclass(frozen=True, slots=True)
class Held:
    """A paper and the part a person has in it."""

    paper: Authorization
    part: str
    then: str


@dataclass(frozen=True, slots=True)
class Holder:
    """A person, the papers they hold, and whether they have left."""

    heading: str
    note: str
    held: list


def held_by_people(today):
    """Who holds which papers that are not closed, those who have left first, then the addresses papers are bound to: [Holder]."""
    open_now = with_state_on(Authorization.objects.all(), today).exclude(state_then=AuthorizationState.CLOSED)
    papers = papers_on(open_now.select_related("holder_account", "second_account"), today)
    found = {}
    for paper in papers:
        for person, name, part in (
            (paper.holder_account, paper.holder_person, "holder"),
            (paper.second_account, paper.second_contact, "second contact"),
        ):
            words = str(person) if person else name.strip()
            if words:
                found.setdefault((person.pk if person else None, words), (person, []))[1].append(
                    Held(paper, part, _then(paper, part, today))
                )
    holders = [_holder(words, person, held, today) for (_pk, words), (person, held) in sorted(found.items(), key=lambda item: item[0][1])]
    return [*sorted(holders, key=lambda holder: not holder.note.startswith("Left")), *_bound_to_addresses(papers)]


def _bound_to_addresses(papers):
    found = {}
    for paper in papers:
        if address := " ".join(paper.holder_address.split()):
            held = Held(paper, "bound to this address", "ask the issuer before anything moves: it may cover this address only")
            found.setdefault(address, []).append(held)
    note = "What ends, or needs a question to the issuer, when the programme leaves this address."
    return [Holder(address, note, held) for address, held in sorted(found.items())]


def _then(paper, part, today):
    if part == "second contact":
        return "name another second contact"
    if not paper.transferable:
        return "ask the issuer: it ends with its holder, unless the issuer says otherwise"
    second = contact_on(paper.second_contact, paper.second_account, today)
    return "the second contact takes over; tell the issuer" if second else "name a second contact now"


def _holder(words, person, held, today):
    if person is None:
        return Holder(words, "This person has no account here, so no one learns when they leave.", held)
    if is_active_on(person, today):
        return Holder(words, f"Leaves on {day_words(person.left_on)}." if person.left_on else "", held)
    gone = person.left_on and person.left_on <= today
    how = f"Left on {day_words(person.left_on)}." if gone else "Left: the account is no longer active."
    return Holder(words, f"{how} All papers below need another name.", held)
