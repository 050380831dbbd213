"""Reads of the links to a round, and what may be done by one."""

import hashlib

from django.db.models import F
from django.utils import timezone

from plantings.models import CountedPlot, RoundLink, Tree
from registry.access.active import is_active_on
from registry.calc.shared.screen import day_words

__all__ = [
    "LINK_RECORDS_A_TREE",
    "LINK_REQUESTS_A_MINUTE",
    "came_by_link",
    "link_for_token",
    "link_is_full",
    "link_state",
    "links_before",
    "links_listed",
    "token_sha256",
]

LINK_REQUESTS_A_MINUTE = 300  # a crew of twenty phones that come into the signal together; our own limit, no source
LINK_RECORDS_A_TREE = 10  # corrections and second looks of a crew; more is somebody playing with the link; our own limit, no source

_LINKS_BEFORE_MOST = 10  # of one person in one round; our own limit, no source


def token_sha256(token):
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def link_for_token(token, on):
    """The link of a token that works on a day, or None. Whoever holds it is not told why."""
    links = RoundLink.objects.select_related("entered_by", "round__planting__site", "round__protocol")
    link = links.filter(token_sha256=token_sha256(token), revoked_at__isnull=True).first()
    return link if link is not None and link.ends_on >= on and _acts(link, on) else None


def links_before(tokens, link):
    """Other links of the same round, by their tokens in a text, apart by commas. They have ended as a rule: a token proves only that
    whoever holds it recorded by that link."""
    named = [token_sha256(token) for token in tokens.split(",")[:_LINKS_BEFORE_MOST] if token]
    return tuple(RoundLink.objects.filter(token_sha256__in=named, round=link.round_id).exclude(pk=link.pk)) if named else ()


def came_by_link(record, links):
    """Whether a stored record may have come by one of some links: it was entered for whoever made the link, since they made it."""
    return any(record.entered_by_id == link.entered_by_id and record.received_at >= link.entered_at for link in links)


def _acts(link, on):
    """A link does what its maker may do, and nothing once they have left."""
    return is_active_on(link.entered_by, on) and link.entered_by.may("link.edit") and link.entered_by.may("census.enter")


def link_is_full(link):
    """Whether more records came by a link than a crew makes of its trees and counted plots."""
    places = sum(kind.objects.filter(planting=link.round.planting_id).count() for kind in (Tree, CountedPlot))
    return link.stored >= LINK_RECORDS_A_TREE * max(places, 10)


def link_state(link, on):
    """The state of a link in words."""
    if link.revoked_at:
        return f"revoked on {day_words(timezone.localdate(link.revoked_at))}"
    if not _acts(link, on):
        return "does not work: who made it has left or may no longer make links"
    return f"{'ended on' if link.ends_on < on else 'works until'} {day_words(link.ends_on)}"


def links_listed(queryset):
    """Links with who made them, those that can still work first."""
    return queryset.select_related("entered_by").order_by(F("revoked_at").desc(nulls_first=True), "-entered_at", "-pk")
