"""What to do next: a short step for each reason for which the nearest paper does not cover. None of them is a permission.

Source
------
Which step answers which reason, for all functions here: common practice, no source.
"""

from collections import defaultdict
from datetime import date

from registry.calc.shared.screen import day_words, list_words
from registry.compliance.gate.answers import MET, MISSING, NEAR_SHOWN, NOTICE, Near, Reason
from registry.compliance.gate.facts import Line, Paper, Question, Version
from registry.compliance.gate.lines import left
from registry.compliance.gate.matching import Bench, Match
from registry.compliance.gate.papers import OF_STANDING, state_on, version_on
from registry.compliance.gate.places import NO, UNKNOWN, YES, matches
from registry.compliance.gate.words import CHECK_LAST, NONE_NEEDED, TYPES, lots_words

AUTHORITY, LANDOWNER = "the authority", "the landowner"
# what an amendment can change, and how to say so
_AMENDED = {
    "activity": "activity",
    "origin": "origin",
    "transit": "route",
    "destination": "destination",
    "class": "material class",
    "taxon": "taxon",
    "form": "form",
    "lot": "lots",
    "person": "people",
}
_GIVEN = {
    "origin": "enter more exactly where it comes from (state or county)",
    "transit": "enter the route more exactly",
    "destination": "enter more exactly where it goes (state, county or site)",
    "taxon": "enter the taxon",
    "form": "enter the form",
    "person": "say who does it",
}
_BY_HAND = "find out on which side of the border the site lies, and set its jurisdiction or county by hand"
# other bodies come first, since they take longest; what is done at one's own desk comes last
REASONS = (
    *_AMENDED,
    "under",
    "owner",
    "with_whom",
    "purpose",
    "actor",
    "used",
    "not_in_force",
    "review",
    "holder",
    "unit",
    "quantity",
    "draw_on",
    "duty",
    "document",
)


def next_step(bench: Bench, status: str, missing: list[Match], unverified: str) -> str:
    """What to do next about a requirement, in one line of short sentences."""
    steps = []
    if unverified:
        steps.append("Ask the authority whether this rule holds, and record who said so and when.")
    if status == NOTICE:
        steps.append("Read the rule before going on.")
    elif status == MISSING:
        steps += dict.fromkeys(step for match in missing for step in _match_steps(bench, match))
        steps.append(CHECK_LAST)
    return " ".join(steps) or "This rule asks for nothing more."


def landowner_step(bench: Bench, status: str, nearest: list[Near]) -> str:
    """What to do next about the agreement with a landowner."""
    destination = bench.question.destination
    if status == MET:
        return "Nothing more is needed. Tell the landowner before the visit, as agreed."
    if not (destination.site or destination.partner):
        return "Name the site or the landowner first."
    if nearest:
        steps = paper_steps(bench.papers[nearest[0].paper], nearest[0].reasons, bench.question, LANDOWNER)
        return f"Agreement {steps} Settle this with the landowner first."
    return "No agreement names this site or landowner. Have one signed first."


def _match_steps(bench: Bench, match: Match) -> list[str]:
    """What to do about the nearest paper, and about the next for lots it did not come near; a new one for what is still open then."""
    steps, every, still_open = [], set(), set()
    for (place, _person), covering in match.covering.items():
        lot = "" if place is None else bench.question.lines[place].lot
        every.add(lot)
        still_open.update(() if covering else (lot,))
    for near in filter(can_be_corrected, bench.near(match, NEAR_SHOWN)[0]):
        is_about_all = any(not reason.lots for reason in near.reasons)
        about = still_open if is_about_all else {lot for reason in near.reasons for lot in reason.lots}
        if still_open & about:
            steps.append(paper_steps(bench.papers[near.paper], near.reasons, bench.asked_at(match)))
        still_open = still_open - about
        if not still_open:
            return steps
    if not match.applied.requirement.any_of:
        return [*steps, "No paper answers this rule. Ask the authority."]
    kinds = list_words(TYPES.get(code, code) for code in match.types)
    whose = "" if still_open == every else f" for {lots_words(sorted(still_open))}"
    return [*steps, f"Get a paper that covers this{whose} ({kinds}), or the authority's written statement that none is needed."]


def can_be_corrected(near: Near) -> bool:
    """Whether to begin with this paper. A determination about something else says nothing here, and is left as it is.

    Examples
    --------
    >>> elsewhere = Near("N-1", "none_needed", "", (Reason("destination", "wrong destination"),))
    >>> can_be_corrected(elsewhere), can_be_corrected(Near("P-1", "permit", "", elsewhere.reasons))
    (False, True)
    """
    return near.type != NONE_NEEDED or {reason.code for reason in near.reasons} <= OF_STANDING


def paper_steps(paper: Paper, reasons: tuple[Reason, ...], question: Question, giver: str = AUTHORITY) -> str:
    """What to do about one paper, a step for each reason, those of the same lots in one sentence.

    Parameters
    ----------
    paper : Paper
    reasons : tuple of Reason
        Why it does not cover, not empty.
    question : Question
    giver : str
        Who gave the paper.

    Source
    ------
    Which step answers which reason: common practice, no source.

    Examples
    --------
    >>> late = (Reason("document", "its document is not on file"), Reason("duty", "due under it before then: report"))
    >>> paper_steps(Paper("P-1", "permit"), late, Question("hold", date(2026, 4, 1)))
    'P-1: do what is due under it before then and enter the evidence; attach its document.'
    """
    version = version_on(paper, question.on) or Version()
    to_amend: dict[str, tuple[str, ...]] = {}  # each with the lots it is about; none: all
    steps: dict[str, tuple[str, ...]] = {}
    for reason in sorted(reasons, key=lambda reason: REASONS.index(reason.code)):
        if reason.code not in _AMENDED:
            _add(steps, _own_step(reason, paper, version, question, giver), reason.lots)
        elif _is_not_given(reason, version, question):
            _add(steps, _BY_HAND if _is_at_a_border(reason, question) else _GIVEN[reason.code], reason.lots)
        else:
            _add(to_amend, _AMENDED[reason.code], reason.lots)
    by_lots: defaultdict[tuple[str, ...], list[str]] = defaultdict(list)
    for lots in dict.fromkeys(to_amend.values()):
        names = ", ".join(name for name, about in to_amend.items() if about == lots)
        by_lots[lots].append(f"ask {giver} for an amendment ({names}) or for another paper")
    for step, lots in steps.items():
        by_lots[lots].append(step)
    return " ".join(
        f"{paper.code}{f', {lots_words(lots)}' if lots else ''}: {'; '.join(found)}." for lots, found in sorted(by_lots.items())
    )


def _add(found: dict[str, tuple[str, ...]], what: str, lots: tuple[str, ...]) -> None:
    known = found.setdefault(what, lots)
    found[what] = tuple(sorted({*known, *lots})) if known and lots else ()


def _lines(reason: Reason, question: Question) -> list[Line]:
    return [line for line in question.lines if not reason.lots or line.lot in reason.lots]


def _is_not_given(reason: Reason, version: Version, question: Question) -> bool:
    """Whether it fails only because the question does not say enough."""
    destination = question.destination
    match reason.code:
        case "origin":
            return matches(version.origins, question.origin, question.edition) == UNKNOWN
        case "transit":
            return all(matches(version.transits, place, question.edition) != NO for place in question.transit)
        case "destination":
            found = matches(version.destinations, destination, question.edition)
            return found == UNKNOWN or (found == YES and not destination.site)
        case "taxon":
            return all(not line.taxa for line in _lines(reason, question))
        case "form":
            return all(not line.form for line in _lines(reason, question))
        case "person":
            return not question.people
    return False


def _is_at_a_border(reason: Reason, question: Question) -> bool:
    return reason.code == "destination" and bool(question.destination.near)


def _own_step(reason: Reason, paper: Paper, version: Version, question: Question, giver: str) -> str:
    """The step for a reason that no amendment of what is covered answers."""
    match reason.code:
        case "under":
            return f"ask {giver} whether it meets this rule too, and enter the answer as an amendment"
        case "not_in_force":
            return _in_force_step(paper, version, question.on, giver)
        case "review":
            return _asked_again(giver)
        case "holder" if paper.transferable:
            return f"name a second contact, who takes it over, and tell {giver}"
        case "holder":
            return f"ask {giver} for a new one in the name of {paper.second_contact or 'whoever is responsible now'}"
        case "owner":
            return f"have {question.destination.partner}, who owns the land now, sign an agreement"
        case "with_whom":
            return f"enter with whom it was made, or have {question.destination.partner} sign an agreement"
        case "purpose":
            return f"enter what it is for if it says so, or have {giver} agree to this in writing"
        case "actor":
            return f"ask {giver} to name {question.acting_for} in it, or for a paper of its own"
        case "used":
            return f"ask {giver} for one for this consignment"
        case "unit":
            return f"ask {giver} how this counts against its cap in {version.cap_unit or 'no unit'}"
        case "quantity":
            return _quantity_step(reason, paper, version, question, giver)
        case "draw_on":
            return "choose another paper to draw on, or have the chosen one amended"
        case "duty":
            return "do what is due under it before then and enter the evidence"
    return "attach its document"


def _asked_again(giver: str) -> str:
    return f"ask {giver} again, and enter the answer with its last day"


def _in_force_step(paper: Paper, version: Version, on: date, giver: str) -> str:
    state = state_on(paper, on)
    if version_on(paper, on) is None:
        return f"enter what it says on {day_words(on)}, or ask {giver} for another paper"
    if state in ("expired", "closed") or (version.ends_on is not None and version.ends_on < on):
        return _asked_again(giver) if paper.type == NONE_NEEDED else f"ask {giver} to renew it, or for a new one"
    if state == "suspended":
        return f"ask {giver} what ends the suspension, and wait until it is in force again"
    if state in ("draft", "applied"):
        begin = f"ask {giver} for it and " if state == "draft" else ""
        return f"{begin}wait until it is given, then enter that it is in force"
    if version.starts_on is not None and on < version.starts_on:
        return f"wait until it starts on {day_words(version.starts_on)}, or ask {giver} for another paper"
    return f"enter its state on {day_words(on)}"


def _quantity_step(reason: Reason, paper: Paper, version: Version, question: Question, giver: str) -> str:
    if any(not line.quantity for line in _lines(reason, question)):
        return "enter the quantity"
    rest = left(paper, version)
    if not rest:
        return f"nothing is left of its cap: ask {giver} for an amendment or for another paper"
    return f"reduce the quantity to the {rest:,} {version.cap_unit} left, or ask {giver} for an amendment of its cap"
