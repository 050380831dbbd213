"""The second person of a decision: whether they have confirmed it, and who may."""

import hashlib

from registry.calc.people.names import is_same_name
from registry.models import DecisionLink, SelectionDecision

__all__ = ["decision_link_for", "is_second", "names_words", "not_the_second", "token_sha256", "waiting_decisions", "waits_for_second"]


def token_sha256(token):
    return hashlib.sha256(token.encode()).hexdigest()


def decision_link_for(token, on):
    """The link of a token that still works on a day, or None. Whoever holds it is not told why."""
    links = DecisionLink.objects.select_related("decision__tree")
    return links.filter(token_sha256=token_sha256(token), ends_on__gte=on, decision__agreement__isnull=True).first()


def is_second(person, decision):
    """Whether an account is that of the second person of a decision, and not of who entered it."""
    return person.pk != decision.entered_by_id and is_same_name(str(person), decision.second_name)


def not_the_second(person, link):
    """Why whoever is signed in on a device cannot confirm by a link: they entered the decision, made the link, or are its first person; ""
    for anybody else, and for nobody signed in."""
    decision = link.decision
    is_first = person.is_authenticated and (person.pk == link.entered_by_id or is_same_name(str(person), decision.first_name))
    if person.pk != decision.entered_by_id and (not is_first or is_same_name(str(person), decision.second_name)):
        return ""
    why = f"{person} is signed in on this device, and decided first, entered the decision or made this link."
    return f"{why} {decision.second_name} confirms it: send them the link, or sign out before they open it here."


def waits_for_second(decision):
    """Whether the second person of a decision has yet to confirm it."""
    return bool(decision.needs_second) and not hasattr(decision, "agreement")


def waiting_decisions():
    """Decisions that their second person has not confirmed."""
    return SelectionDecision.objects.filter(needs_second=True, agreement__isnull=True).select_related("tree")


def names_words(decision):
    """Who decided, and whether the second has confirmed it."""
    return f"{decision.first_name} and {decision.second_name}{' (not confirmed)' if waits_for_second(decision) else ''}"
