"""Access tokens. A token is shown once, when it is issued; only a hash of it is stored, which opens nothing."""

import secrets

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.access.active import is_active_on
from registry.calc.shared.screen import day_words
from registry.models import AccessToken, Person
from registry.selectors.people.tokens import last_day, token_sha256
from registry.services.audit.busy import saved_if_free
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write

__all__ = ["TOKEN_STARTS", "token_issue", "token_revoke", "token_used"]

TOKEN_STARTS = "mastbook_"  # so that somebody who finds one in a script knows what it opens
LEADS_ONLY = "Only a programme lead can issue or revoke an access token."


@write
def token_issue(*, actor, person, purpose, ends_on):
    """Issue a token with the rights of a person. Returns (token, secret); the secret is not stored."""
    _check_lead(actor)
    person, today = Person.objects.select_for_update().get(pk=person.pk), timezone.localdate()
    if not is_active_on(person, today):
        raise ValidationError(f"{person} is not active. A token acts only in the name of an active person.")
    if not today <= ends_on <= last_day(today):
        raise ValidationError({"ends_on": f"Enter a day from today to {day_words(last_day(today))}."})
    secret = f"{TOKEN_STARTS}{secrets.token_urlsafe(32)}"
    token = AccessToken(
        person=person,
        purpose=purpose.strip(),
        token_sha256=token_sha256(secret),
        ends_on=ends_on,
        entered_by=actor,
        entered_at=timezone.now(),
    )
    token.full_clean()
    token.save()
    changes = {"person": [None, person.username], "purpose": [None, token.purpose], "ends_on": [None, ends_on.isoformat()]}
    audit_record(actor=actor, verb="accesstoken.issued", obj=token, changes=changes)
    return token, secret


@write
def token_revoke(*, actor, token, reason=""):
    """From now on a token does not work. A revoked token stays revoked."""
    _check_lead(actor)
    token = AccessToken.objects.select_for_update().get(pk=token.pk)
    if token.revoked_at is None:
        token.revoked_at = timezone.now()
        token.save(update_fields=["revoked_at"])
        audit_record(actor=actor, verb="accesstoken.revoked", obj=token, reason=reason)
    return token


def _check_lead(actor):
    if not actor.may("token.edit"):
        raise ValidationError(LEADS_ONLY)


def token_used(token, on):
    """Note the day a token was last used: one write a day. Nobody decides anything by it, so it has no entry in the audit trail."""
    if token.used_on == on:
        return
    # somebody else saves, or nothing can be: reading does not wait for that, and the next request notes the day
    saved_if_free(lambda: AccessToken.objects.filter(pk=token.pk).update(used_on=on))
