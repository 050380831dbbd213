"""Unlocking the sign-in of an account."""

from registry.access.sign_in import sign_in_forget
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write

__all__ = ["sign_in_unlock"]


@write
def sign_in_unlock(*, actor, person):
    """Forget the wrong passwords of an account, so that its owner can sign in at once. Leaves an entry when there were any."""
    if sign_in_forget(person.username):
        audit_record(actor=actor, verb="person.unlocked", obj=person)
