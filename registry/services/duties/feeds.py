"""The secret address from which a person's calendar program reads. The secret is shown once; only its hash is stored."""

import hashlib
import secrets

from django.utils import timezone

from registry.models import CalendarFeed, Person
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write

__all__ = ["feed_make", "feed_revoke", "token_sha256"]


def token_sha256(token):
    """The hash that is stored of a secret: with 256 random bits it needs no salt."""
    return hashlib.sha256(token.encode()).hexdigest()


@write
def feed_make(*, actor):
    """A new secret for the calendar of `actor`; the one before it no longer opens anything. Returns the secret, once."""
    Person.objects.select_for_update().get(pk=actor.pk)  # lines up two windows of one person
    _revoke(actor)
    token = secrets.token_urlsafe(32)
    feed = CalendarFeed.objects.create(person=actor, token_sha256=token_sha256(token), made_at=timezone.now())
    audit_record(actor=actor, verb="calendarfeed.added", obj=feed)
    return token


@write
def feed_revoke(*, actor):
    """Close the address of `actor`. Returns whether one was open."""
    Person.objects.select_for_update().get(pk=actor.pk)
    return _revoke(actor)


def _revoke(person):
    feed = CalendarFeed.objects.filter(person=person, revoked_at__isnull=True).first()
    if feed is None:
        return False
    feed.revoked_at = timezone.now()
    feed.save()
    audit_record(actor=person, verb="calendarfeed.revoked", obj=feed)
    return True
