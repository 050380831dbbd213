"""Accounts. A coordinator adds every account, and a programme lead those of the leads; there is no self-registration."""

import secrets

from django.contrib.auth.forms import PasswordResetForm
from django.core.exceptions import ValidationError
from django.utils.translation import override

from registry.access import roles
from registry.access.languages import mail_language
from registry.models import Person
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.shared.records import record_save

__all__ = ["account_make", "language_choose", "person_link_send", "person_save"]

LEADS_ONLY = "This is the account of a programme lead. Only a lead can change it or send its link."


@write
def person_save(*, actor, person, password=None):
    """Store an account; a new one without a password gets a random one, and its owner sets their own with the mailed link.

    Raises `ValidationError` when somebody who is not a programme lead makes or changes a lead, and when no lead would be left.
    """
    _check_leads(actor, person)
    if password or not person.pk:
        person.set_password(password or secrets.token_urlsafe(32))
    record_save(actor=actor, obj=person)
    return person


@write
def account_make(**fields):
    """Store an account that nobody signed in adds, such as the first of an installation; it is the actor of its own audit entry."""
    person = Person.objects.create_user(**fields)
    audit_record(actor=person, verb="person.added", obj=person)
    return person


@write
def language_choose(*, person, language, reason=""):
    """Store the language that somebody chose for themselves, so that mails come in it."""
    person = Person.objects.select_for_update().get(pk=person.pk)
    before, person.language = person.language, language
    if before != language:
        person.save(update_fields=["language"])
        audit_record(actor=person, verb="person.changed", obj=person, changes={"language": [before, language]}, reason=reason)
    return person


def _check_leads(actor, person):
    leads = {lead.pk: lead for lead in Person.objects.select_for_update().filter(role=roles.LEAD).order_by("pk")}
    was_lead = person.pk in leads
    if not was_lead and person.role != roles.LEAD:
        return
    if not _may_change_leads(actor):
        if was_lead:
            raise ValidationError(LEADS_ONLY)
        raise ValidationError({"role": "Only a programme lead can give somebody this role."})
    if was_lead and _is_active_lead(leads.pop(person.pk)) and not _is_active_lead(person) and not any(map(_is_active_lead, leads.values())):
        field = "role" if person.role != roles.LEAD else "is_active" if not person.is_active else "left_on"
        raise ValidationError({field: "This would leave no programme lead. Give that role to somebody else first."})


def _may_change_leads(actor):
    # as stored: what somebody is about to become gives them no right yet. Into an empty database somebody has to enter the first account
    stored = Person.objects.filter(pk=actor.pk).first()
    return stored.may("lead.edit") if stored else not Person.objects.exists()


def _is_active_lead(person):
    return person.role == roles.LEAD and person.is_active and person.left_on is None


class _LinkForm(PasswordResetForm):
    """Django's reset mail for one account, where several may share an address."""

    def __init__(self, person):
        super().__init__({"email": person.email})
        self.person = person

    def get_users(self, email):
        return [self.person]


@write
def person_link_send(*, actor, person, domain, secure):
    """Mail the owner of an account a link to set their password, at the address `domain` (over TLS when `secure`)."""
    form = _LinkForm(person)
    if person.role == roles.LEAD and not _may_change_leads(actor):
        raise ValidationError(LEADS_ONLY)
    if not person.is_active:
        raise ValidationError("This account is no longer active. Make it active before you send a link.")
    if not form.is_valid():
        raise ValidationError("This account has no e-mail address. Enter one before you send a link.")
    audit_record(actor=actor, verb="person.link_sent", obj=person)
    with override(mail_language(person)):
        form.save(
            domain_override=domain, use_https=secure,
            subject_template_name="registry/people/person_link_subject.txt", email_template_name="registry/people/person_link.txt",
        )  # fmt: skip
