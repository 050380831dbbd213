"""One paper checked against one question: what it says on that day, and why it does not cover.

Source
------
Cover test of the trade, for all functions here: a paper covers material, form, quantity left, origin, transit, destination, date and
holder (common practice, no source). How its states and versions are read on a day is a definition of this programme.
"""

from collections.abc import Callable
from datetime import date
from functools import partial

from registry.calc.people.names import is_same_body, is_same_name
from registry.calc.shared.screen import day_words, list_words
from registry.compliance.gate.answers import Reason
from registry.compliance.gate.facts import Paper, Place, Question, Version
from registry.compliance.gate.places import NO, YES, matches, place_words
from registry.compliance.gate.words import ACTIVITIES, BEYOND_PLANTING, DISPATCH, IN_FORCE, LANDOWNER_TYPES, NONE_NEEDED, STATES

NEAR_POINTS = 3  # a paper that fails in more points did not come near
# a paper that fails in these alone is about this, and could cover it once they are corrected
OF_STANDING = frozenset(("not_in_force", "review", "holder", "quantity", "duty", "document"))
Point = tuple[str, Callable[[], str]]  # in what a paper fails, and how to say so


def state_on(paper: Paper, on: date) -> str:
    """The state of a paper at the close of a day; “” before its first. The later entry of one day counts.

    Examples
    --------
    >>> from registry.compliance.gate.facts import StateChange
    >>> paper = Paper("P1", "permit", states=(StateChange(date(2026, 1, 5), "in_force"), StateChange(date(2026, 6, 1), "suspended")))
    >>> state_on(paper, date(2026, 5, 31)), state_on(paper, date(2026, 6, 1)), state_on(paper, date(2025, 1, 1))
    ('in_force', 'suspended', '')
    """
    day, state = date.min, ""
    for change in paper.states:
        if day <= change.on <= on:
            day, state = change.on, change.state
    return state


def version_on(paper: Paper, on: date) -> Version | None:
    """What a paper says on a day: its latest version that had begun, the higher number of two of one day. None before the first.

    Examples
    --------
    >>> paper = Paper("P1", "permit", versions=(Version(1, from_on=date(2026, 6, 1), forms=("seed",)), Version(0)))
    >>> version_on(paper, date(2026, 5, 31)).number, version_on(paper, date(2026, 6, 1)).number
    (0, 1)
    """
    begun = [version for version in paper.versions if version.from_on is None or version.from_on <= on]
    if len(begun) < 2:
        return begun[0] if begun else None
    return max(begun, key=lambda version: (version.from_on or date.min, version.number))


def names_place(version: Version, place: Place) -> bool:
    """Whether a paper names this very site or partner, as an agreement with a landowner must.

    Examples
    --------
    >>> names_place(Version(sites=("ST-01",)), Place(site="ST-01")), names_place(Version(), Place(site="ST-01"))
    (True, False)
    """
    own = {f"site:{place.site}"} if place.site else set()
    if place.partner:
        own.add(f"partner:{place.partner}")
    return (bool(place.site) and place.site in version.sites) or not own.isdisjoint(version.destinations)


def general_points(paper: Paper, version: Version | None, question: Question, cache: dict) -> list[Point]:
    """Where a paper fails the question, whatever the line and the rule; at most one point of a kind.

    Parameters
    ----------
    paper : Paper
    version : Version or None
        From `version_on`.
    question : Question
    cache : dict
        Of one question and papers that outlive it; start with an empty one.

    Returns
    -------
    list of (code, function that puts it in words); empty when the paper fails in nothing. It is cut off once the
    paper is no longer near: most papers on file are about something else, and their reasons are never read.
    """
    if version is None:
        return [("not_in_force", lambda: f"not in force on {day_words(question.on)}: no version on file for that day")]
    # papers that say the same are alike here; a version outlives the cache, so its id can be the key
    said = cache.get(id(version))
    if said is None:
        said = cache[id(version)] = _points_of_version(version, question)
    points = list(said)
    if len(points) <= NEAR_POINTS and not _is_in_force(paper, version, question.on):
        points.append(("not_in_force", lambda: _not_in_force_words(paper, version, question.on)))
    if len(points) <= NEAR_POINTS:
        _add_standing(points, paper, version, question)
    return points


def _is_in_force(paper: Paper, version: Version, on: date) -> bool:
    has_started = version.starts_on is None or version.starts_on <= on
    return has_started and (version.ends_on is None or on <= version.ends_on) and state_on(paper, on) == IN_FORCE


def _not_in_force_words(paper: Paper, version: Version, on: date) -> str:
    faults, state = [], state_on(paper, on)
    if state != IN_FORCE:
        faults.append(STATES.get(state, state) if state else "no state is recorded by that day")
    if version.starts_on and on < version.starts_on:
        faults.append(f"starts on {day_words(version.starts_on)}")
    if version.ends_on and on > version.ends_on:
        faults.append(f"ended on {day_words(version.ends_on)}")
    return f"not in force on {day_words(on)}: {list_words(faults, 'and')}"


def _activity_words(version: Version) -> str:
    covered = list_words(sorted(ACTIVITIES.get(code, code) for code in version.activities), "and")
    return f"wrong activity: it covers {covered}"


def _points_of_version(version: Version, question: Question) -> list[Point]:
    """In what a version fails the activity and the places."""
    points: list[Point] = []
    if version.activities and question.activity not in version.activities:
        points.append(("activity", lambda: _activity_words(version)))
    for name, patterns, places in (
        ("origin", version.origins, (question.origin,)),
        ("transit", version.transits, question.transit),
        ("destination", version.destinations, (question.destination,)),
    ):
        for place in places if patterns else ():
            found = matches(patterns, place, question.edition)
            if found != YES:
                points.append((name, partial(_place_words, name, found, patterns, place)))
                break
    if version.transits and not question.transit and question.activity == DISPATCH and question.edition >= 6:
        points.append(("transit", lambda: _no_transit_words(version)))
    site = question.destination.site
    if version.sites and site not in version.sites and (not points or points[-1][0] != "destination"):
        points.append(("destination", lambda: _site_words(version, site)))
    return points


def _place_words(name: str, found: int, patterns: tuple[str, ...], place: Place) -> str:
    covered = "; ".join(sorted(patterns))
    if found == NO:
        return f"wrong {name}: it covers {covered}, this is {place_words(place)}"
    return f"{name} not known well enough: it covers {covered}, given is {place_words(place)}"


def _no_transit_words(version: Version) -> str:
    return f"transit not known: it covers {'; '.join(sorted(version.transits))}, and no place of transit is given"


def _site_words(version: Version, site: str) -> str:
    asked = f"this is site {site}" if site else "the site is not given"
    return f"wrong destination: it covers site {list_words(sorted(version.sites))}, {asked}"


def _add_standing(points: list[Point], paper: Paper, version: Version, question: Question) -> None:
    if paper.holder_left_on is not None and question.on >= paper.holder_left_on and not (paper.transferable and paper.second_contact):
        points.append(("holder", lambda: _holder_words(paper)))
    if not paper.documents_present:
        points.append(("document", lambda: "its document is not on file"))
    if paper.duties_overdue:
        points.append(("duty", lambda: f"due under it before then: {'; '.join(sorted(paper.duties_overdue))}"))
    if version.people and not question.people and not _names_body(version, question):
        points.append(("person", lambda: "it names who may act under it, but who acts is not given"))
    elif question.edition >= 5 and not (version.people or question.people) and (holder := acts_alone(paper, question)):
        points.append(("person", lambda: f"it is held by {holder}, but who acts is not given"))
    if _is_held_by_another(paper, version, question):
        points.append(("actor", lambda: f"it is held by {paper.holder_body}, and this is done for {question.acting_for}"))
    if paper.used_for and question.activity == DISPATCH:
        points.append(("used", lambda: f"it held for one consignment, and shipment {paper.used_for} has used it"))
    owner = question.destination.partner
    if paper.partner and owner and paper.partner != owner and paper.type in LANDOWNER_TYPES:
        points.append(("owner", lambda: f"it was made with {paper.partner}, and the land is that of {owner}"))
    if paper.type == NONE_NEEDED:
        _add_none_needed(points, paper, version, question.on)


def _names_body(version: Version, question: Question) -> bool:
    """Whether those who may act under a paper are the body for which it is done, as a whole."""
    return bool(question.acting_for) and any(is_same_body(one, question.acting_for) for one in version.people)


def _is_held_by_another(paper: Paper, version: Version, question: Question) -> bool:
    """Whether a paper is that of another body, and names neither this body nor those who act. An agreement about land has two sides."""
    body = question.acting_for
    return (
        bool(body) and is_of_a_body(paper, version, question) and not (paper.holder_body == body or is_same_body(paper.holder_body, body))
    )


def is_of_a_body(paper: Paper, version: Version, question: Question) -> bool:
    """Whether a paper covers only what is done for the body that holds it: it names neither those who act nor the body it is done for.

    Source
    ------
    Common practice, no source: an agreement about land has two sides.
    """
    if not paper.holder_body or paper.type in LANDOWNER_TYPES:
        return False
    acts = bool(question.people) and all(any(is_same_name(one, person) for one in version.people) for person in question.people)
    return not (acts or _names_body(version, question))


def _holder_words(paper: Paper) -> str:
    fault = "no second contact is named" if paper.transferable else "it is not transferable"
    left_on = paper.holder_left_on or date.min
    left = "has left" if left_on == date.min else f"left on {day_words(left_on)}"
    return f"its holder {left} and {fault}"


def _add_none_needed(points: list[Point], paper: Paper, version: Version, on: date) -> None:
    review_by = paper.review_by
    if review_by is not None and review_by < on:
        points.append(("review", lambda: f"its review date of {day_words(review_by)} is past: ask again"))
    elif review_by is None and version.ends_on is None:
        points.append(("review", lambda: "it has neither a review date nor an end: ask again"))
    if not (version.under or version.origins or version.destinations or version.transits or version.sites):
        points.append(("scope", lambda: "it names neither a rule nor a place it is about"))


def person_reason(paper: Paper, version: Version, question: Question, person: str | None) -> tuple[Reason, ...]:
    """Why a paper does not cover one of the people who do it. One that is held by a person and names nobody covers that person."""
    if person is None or person in version.people:
        return ()
    if question.edition < 4:
        return (Reason("person", f"it does not name {person}"),) if version.people else ()
    if version.people:
        is_named = any(is_same_name(one, person) for one in version.people) or _names_body(version, question)
        return () if is_named else (Reason("person", f"it does not name {person}"),)
    holder = acts_alone(paper, question)
    if not holder or is_same_name(holder, person):
        return ()
    return (Reason("person", f"it is held by {holder} and does not name {person}"),)


def own_holder(paper: Paper) -> str:
    """The person who holds a paper, where no body does; “” otherwise."""
    return "" if paper.holder_body else paper.holder_person


def acts_alone(paper: Paper, question: Question) -> str:
    """The person who alone acts under a paper that names nobody; “” otherwise.

    An agreement about land has two sides, and either acts. Who takes over from a holder who has left acts in their place.
    """
    holder = own_holder(paper)
    if question.edition < 5 or not holder:
        return holder
    has_left = paper.holder_left_on is not None and question.on >= paper.holder_left_on
    return "" if paper.type in LANDOWNER_TYPES else paper.second_contact if has_left and paper.transferable else holder


def with_whom_reason(paper: Paper, version: Version, question: Question) -> tuple[Reason, ...]:
    """Why an agreement does not cover land: it names the site alone, which may have been sold since. Up to edition 4 that was enough."""
    owner = question.destination.partner
    if question.edition < 5 or not owner or paper.partner or f"partner:{owner}" in version.destinations:
        return ()
    return (Reason("with_whom", f"it does not say with whom it was made, and the land is that of {owner}"),)


def purpose_reason(version: Version, question: Question) -> tuple[Reason, ...]:
    """Why an agreement does not cover what goes beyond planting: it lists no activities. Up to edition 7 it then covered each of them."""
    if question.edition < 8 or version.activities or question.activity not in BEYOND_PLANTING:
        return ()
    return (Reason("purpose", f"it does not list what it is for, and this is {ACTIVITIES[question.activity]}"),)
