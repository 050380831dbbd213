"""Accounts. Nobody registers themselves: a coordinator makes every account."""

import secrets

from django.db import transaction

from registry.services.records import record_save

__all__ = ["person_save"]


@transaction.atomic
def person_save(*, actor, person, password=None):
    """Store an account; a new one without a password gets a random one, and its owner sets their own by the reset mail."""
    if password or not person.pk:
        person.set_password(password or secrets.token_urlsafe(32))
    record_save(actor=actor, obj=person)
    return person
