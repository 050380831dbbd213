"""Unlocking the sign-in of an account, and how often a new password may be asked for by mail."""

import logging

from registry.access.sign_in import LOGGED_FOR, MAIL_WINDOW, MAILS_BY_ADDRESS, MAILS_BY_PERSON, sign_in_forget
from registry.models import PasswordAsked
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write

__all__ = ["password_asked", "sign_in_unlock"]

_log = logging.getLogger(__name__)


@write
def sign_in_unlock(*, actor, person):
    """Forget the wrong passwords of an account, so that its owner can sign in at once. Leaves an entry when there were any."""
    if sign_in_forget(person.username):
        audit_record(actor=actor, verb="person.unlocked", obj=person)


@write
def password_asked(*, email, address, now):
    """Note that a new password was asked for by mail. Returns whether it is within the limits, so that a mail may go.

    It does not look whether there is such an account: whoever asks learns nothing about that, and an unknown one counts alike.
    Nobody is signed in, so the audit trail has no entry of it; its row is the log.
    """
    email = email.strip().casefold()[: PasswordAsked._meta.get_field("email").max_length]  # some letters become three by it
    PasswordAsked.objects.filter(at__lt=now - LOGGED_FOR).delete()
    # what was refused does not count: whoever goes on asking does not keep the owner from their mail for longer
    recent = PasswordAsked.objects.filter(at__gt=now - MAIL_WINDOW, within_limits=True)
    by_person = recent.filter(email=email).count()
    by_address = recent.filter(address=address).count() if address else 0
    within = by_person < MAILS_BY_PERSON and by_address < MAILS_BY_ADDRESS
    PasswordAsked.objects.create(at=now, email=email, address=address, within_limits=within)
    if not within:
        words = "No mail for a new password: %s went to this person and %s were asked for from %s within the hour"
        _log.warning(words, by_person, by_address, address)
    return within
