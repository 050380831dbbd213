"""Links to record one round without an account. A link is shown once, when it is made; only a hash of it is stored, which opens nothing."""

import secrets
from datetime import timedelta

from django.core.exceptions import ValidationError
from django.db import OperationalError
from django.db.models import F
from django.utils import timezone

from plantings.models import RoundLink
from plantings.selectors.census.round_links import LINK_REQUESTS_A_MINUTE, link_is_full, token_sha256
from registry.calc.shared.screen import day_words
from registry.disk.faults import is_busy
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write

__all__ = [
    "LinkOver",
    "LinkTooBusy",
    "round_link_at_limit",
    "round_link_counted",
    "round_link_in_use",
    "round_link_make",
    "round_link_read",
    "round_link_requested",
]


class LinkOver(Exception):
    """A link that stores nothing any more: it was revoked a moment ago, or more came by it than a crew records."""


class LinkTooBusy(Exception):
    """More requests came by a link in one minute than phones of a crew make."""


@write
def round_link_make(*, actor, census_round, for_whom, ends_on=None, shows_place=False):
    """Make a link to one round, for a crew without accounts; it ends with the window unless a day is given.

    Returns (link, token); the token is not stored.
    """
    ends_on = ends_on or census_round.closes_on
    if ends_on < timezone.localdate():
        raise ValidationError({"ends_on": f"{day_words(ends_on)} has passed. Enter a later day as the last one of the link."})
    token = secrets.token_urlsafe(32)
    link = RoundLink(
        round=census_round, token_sha256=token_sha256(token), for_whom=for_whom.strip(), ends_on=ends_on, shows_place=shows_place,
        entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    link.full_clean()
    link.save()
    changes = {"ends_on": [None, ends_on.isoformat()], "shows_place": [None, shows_place], "for_whom": [None, link.for_whom]}
    audit_record(actor=actor, verb="roundlink.made", obj=link, changes=changes)
    return link, token


def round_link_requested(link, *, opened=False, now=None):
    """Count a request by a link. Raises `LinkTooBusy` for one too many in a minute. Nobody decides anything by the
    count, so it has no entry in the audit trail. A batch is counted in the write that stores it: of twenty phones at once each waits for
    one turn at the database, not for two."""
    now = now or timezone.now()
    own = RoundLink.objects.filter(pk=link.pk)
    more = {"opened": F("opened") + 1} if opened else {}
    same_minute = own.filter(minute_began_at__gt=now - timedelta(minutes=1))
    if same_minute.update(minute_requests=F("minute_requests") + 1, **more):
        if same_minute.filter(minute_requests__gt=LINK_REQUESTS_A_MINUTE).exists():
            raise LinkTooBusy
    else:
        own.update(minute_began_at=now, minute_requests=1, **more)


def round_link_at_limit(link, now=None):
    """Whether a link just read from the database has had its requests of this minute: nothing more is read or stored by it."""
    began = link.minute_began_at
    is_same_minute = began is not None and began > (now or timezone.now()) - timedelta(minutes=1)
    return is_same_minute and link.minute_requests >= LINK_REQUESTS_A_MINUTE


def round_link_read(link, *, opened=False):
    """Count a request by a link that stores nothing. While others save it goes uncounted: what it reads is there."""
    try:
        round_link_requested(link, opened=opened)
    except OperationalError as error:
        if not is_busy(error):
            raise


@write
def round_link_in_use(link):
    """Look at a link again under its row lock. Raises `LinkOver` when nothing may be stored by it."""
    link = RoundLink.objects.select_for_update(of=("self",)).select_related("entered_by", "round").get(pk=link.pk)
    if link.revoked_at is not None or link_is_full(link):
        raise LinkOver


def round_link_counted(link, count):
    """Count the records that came by a link, in the write that stores them."""
    RoundLink.objects.filter(pk=link.pk).update(stored=F("stored") + count)
