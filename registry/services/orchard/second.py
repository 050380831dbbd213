"""The second person of a decision confirms it: signed in, or by a link that is shown once and ends. Only a hash of the link is stored."""

import datetime
import secrets

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.choices import AgreedHow
from registry.models import DecisionAgreement, DecisionLink, SelectionDecision
from registry.selectors.orchard.second import decision_link_for, is_second, token_sha256
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["LINK_DAYS", "decision_confirm", "decision_confirm_by_link", "decision_link_make"]

LINK_DAYS = 14  # common practice, no source


@write
def decision_confirm(*, actor, decision):
    """The second person, signed in, agrees. Said twice, it is stored once."""
    decision = _waiting(decision)
    if not is_second(actor, decision):
        raise ValidationError(f"Only {decision.second_name} can confirm this decision, from an account of that name. Make a link instead.")
    return _agree(decision, actor, AgreedHow.ACCOUNT)


@write
def decision_link_make(*, actor, decision):
    """Make a link for the second person of a decision. Returns (link, token); the token is not stored."""
    decision = _waiting(decision)
    if hasattr(decision, "agreement"):
        raise ValidationError(f"{decision.second_name} has confirmed this decision already.")
    token = secrets.token_urlsafe(32)
    ends_on = timezone.localdate() + datetime.timedelta(days=LINK_DAYS)
    link = DecisionLink(decision=decision, token_sha256=token_sha256(token), ends_on=ends_on, entered_by=actor, entered_at=timezone.now())
    link.full_clean()
    link.save()
    audit_record(actor=actor, verb="decisionlink.made", obj=link, changes={"ends_on": [None, ends_on.isoformat()]})
    return link, token


@write
def decision_confirm_by_link(*, token):
    """Whoever holds the link agrees in the name of the second person."""
    link = decision_link_for(token, timezone.localdate())
    if link is None:
        raise ValidationError("This link no longer works. Nothing was saved.")
    return _agree(_waiting(link.decision), None, AgreedHow.LINK, link)


def _waiting(decision):
    return SelectionDecision.objects.select_for_update().get(pk=decision.pk)


def _agree(decision, actor, how, link=None):
    if hasattr(decision, "agreement"):
        return decision.agreement
    agreement = DecisionAgreement(decision=decision, how=how, link=link, entered_by=actor, entered_at=timezone.now())
    agreement.full_clean()
    append_row(agreement)
    # whoever holds the link has no account: the entry names the person who made it
    by = (actor, "") if link is None else (link.entered_by, f"confirmed by the link made for {decision.second_name}")
    changes = {"by": [None, decision.second_name]}
    audit_record(actor=by[0], verb="selectiondecision.confirmed", obj=decision, changes=changes, reason=by[1])
    return agreement
