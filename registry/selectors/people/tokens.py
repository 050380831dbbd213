"""Reads about access tokens: which one a program sent, and the state of each."""

import datetime
import hashlib

from django.utils import timezone

from registry.access.active import is_active_on
from registry.calc.shared.screen import day_words
from registry.models import AccessToken

__all__ = ["DAYS_MOST", "last_day", "token_for_secret", "token_sha256", "token_words"]

DAYS_MOST = 366


def token_sha256(secret):
    """The hash that is stored of a token: with 256 random bits it needs no salt."""
    return hashlib.sha256(secret.encode()).hexdigest()


def token_for_secret(secret, on):
    """The AccessToken that works on a day, with its person; else None. Whoever sent it is not told why."""
    token = AccessToken.objects.select_related("person").filter(token_sha256=token_sha256(secret), revoked_at__isnull=True).first()
    return token if token and token.ends_on >= on and is_active_on(token.person, on) else None


def token_words(token, on):
    """The state of a token in words."""
    if token.revoked_at:
        return f"revoked on {day_words(timezone.localdate(token.revoked_at))}"
    if not is_active_on(token.person, on):
        return "does not work: the account is not active"
    return f"ended on {day_words(token.ends_on)}" if token.ends_on < on else f"works until {day_words(token.ends_on)}"


def last_day(on):
    """The last day that a token issued on a day may be valid."""
    return on + datetime.timedelta(days=DAYS_MOST)
