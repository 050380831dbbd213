"""Accounts. Nobody registers themselves: a coordinator makes every account."""

import secrets

from django.contrib.auth.forms import PasswordResetForm
from django.core.exceptions import ValidationError
from django.db import transaction

from registry.services.audit import audit_record
from registry.services.records import record_save

__all__ = ["person_link_send", "person_save"]


@transaction.atomic
def person_save(*, actor, person, password=None):
    """Store an account; a new one without a password gets a random one, and its owner sets their own by the reset mail."""
    if password or not person.pk:
        person.set_password(password or secrets.token_urlsafe(32))
    record_save(actor=actor, obj=person)
    return person


class _LinkForm(PasswordResetForm):
    """Django's reset mail for one account, where several may share an address."""

    def __init__(self, person):
        super().__init__({"email": person.email})
        self.person = person

    def get_users(self, email):
        return [self.person]


@transaction.atomic
def person_link_send(*, actor, person, domain, secure):
    """Mail the owner of an account a link to set their password, on the site at `domain` (over TLS when `secure`)."""
    form = _LinkForm(person)
    if not person.is_active:
        raise ValidationError("This account is no longer active. Make it active before you send a link.")
    if not form.is_valid():
        raise ValidationError("This account has no e-mail address. Enter one before you send a link.")
    audit_record(actor=actor, verb="person.link_sent", obj=person)
    form.save(
        domain_override=domain, use_https=secure,
        subject_template_name="registry/person_link_subject.txt", email_template_name="registry/person_link.txt",
    )  # fmt: skip
