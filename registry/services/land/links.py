"""Private links of landowners. The link is shown once, when it is made; only a hash of it is stored, which opens nothing."""

import secrets

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from registry.models import PrivateLink, Receipt
from registry.selectors.land.land import may_have_link, token_sha256
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.land.agreements import agreement_sign_by_link
from registry.services.land.notices import land_notice_add
from registry.services.movements.shipments import receipt_enter
from registry.services.people.people import language_choose

__all__ = ["BY_LINK", "language_by_link", "link_make", "link_opened", "link_revoke", "notice_by_link", "receipt_by_link", "sign_by_link"]

BY_LINK = "by private link"


@write
def link_make(*, actor, person, ends_on=None):
    """Make a link that acts in the name of a landowner's contact. Returns (link, token); the token is not stored."""
    if not may_have_link(person, timezone.localdate()):
        raise ValidationError(
            {"person": f"{person} is not an active landowner contact. A link acts only in the name of one; add the account first."}
        )
    if ends_on and ends_on < timezone.localdate():
        raise ValidationError({"ends_on": "This day has passed. Enter a later day, or leave it blank."})
    token = secrets.token_urlsafe(32)
    link = PrivateLink(person=person, token_sha256=token_sha256(token), ends_on=ends_on, entered_by=actor, entered_at=timezone.now())
    link.full_clean()
    link.save()
    changes = {"ends_on": [None, ends_on.isoformat() if ends_on else None]}
    audit_record(actor=actor, verb="privatelink.made", obj=link, changes=changes)
    return link, token


@write
def link_revoke(*, actor, link, reason=""):
    """From now on a private link, or a link to a round, does not work. A revoked link stays revoked."""
    link = type(link).objects.select_for_update().get(pk=link.pk)
    if link.revoked_at is None:
        link.revoked_at = timezone.now()
        link.save(update_fields=["revoked_at"])
        audit_record(actor=actor, verb=f"{link._meta.model_name}.revoked", obj=link, reason=reason)
    return link


def link_opened(link):
    """Stamp when a link was last opened. Nobody decides anything by it, so it has no entry in the audit trail."""
    PrivateLink.objects.filter(pk=link.pk).update(opened_at=timezone.now())


@write
def _link_in_use(link):
    """The link under its row lock. One that was just revoked, or whose person has left, writes nothing."""
    link = PrivateLink.objects.select_for_update().get(pk=link.pk)
    if link.revoked_at is not None or not may_have_link(link.person, timezone.localdate()):
        raise ValidationError(_("This link no longer works. Nothing was saved."))
    return link


@write
def receipt_by_link(*, link, shipment, counts, **head):
    """A receipt entered on the private page. Sent twice, it is stored once. Returns (receipt, whether it is new)."""
    link = _link_in_use(link)
    # the shipment's row is locked before the look, so that a second tap waits for the first
    shipment = type(shipment).objects.select_for_update().get(pk=shipment.pk)
    same = Receipt.objects.in_effect().filter(shipment=shipment, received_on=head["received_on"], entered_by=link.person).first()
    if same and _says(same) == {line.pk: tuple(count) for line, count in counts.items()}:
        return same, False
    return receipt_enter(actor=link.person, shipment=shipment, counts=counts, reason=BY_LINK, **head), True


def _says(receipt):
    return {part.line_id: (part.sound, part.sprouted, part.spoiled) for part in receipt.lines.all()}


@write
def notice_by_link(*, link, **says):
    link = _link_in_use(link)
    return land_notice_add(actor=link.person, partner=link.person.partner, reason=BY_LINK, **says)


@write
def language_by_link(*, link, language):
    link = _link_in_use(link)
    return language_choose(person=link.person, language=language, reason=BY_LINK)


@write
def sign_by_link(*, link, authorization, text_id, signed_by):
    link = _link_in_use(link)
    return agreement_sign_by_link(link=link, authorization=authorization, text_id=text_id, signed_by=signed_by, reason=BY_LINK)
