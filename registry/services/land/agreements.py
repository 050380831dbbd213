"""Agreements with landowners: the wordings, each in versions, and who signed which of them."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.choices import AuthorizationType, SignedHow
from registry.models import AgreementSignature, AgreementText, Authorization
from registry.selectors.land.land import wording_offered
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["agreement_sign", "agreement_sign_by_link", "agreement_text_add"]


@write
def agreement_text_add(*, actor, title, version, body, is_example=False):
    """Write a wording, or a new version of one. What was signed stays as it was read."""
    text = AgreementText(title=title, version=version, body=body, is_example=is_example, entered_by=actor, entered_at=timezone.now())
    before = AgreementText.objects.filter(title=title)
    if before.filter(version=version).exists():
        raise ValidationError({"version": f"Version {version} of “{title}” is in the book. A changed wording takes a new version."})
    same = before.order_by("entered_at", "pk").last()
    if same and same.body == body:
        raise ValidationError({"body": f"It says the same as version {same.version}. Change the wording, or go back."})
    text.full_clean()
    append_row(text)
    audit_record(actor=actor, verb="agreementtext.added", obj=text)
    return text


@write
def agreement_sign(*, actor, authorization, text, signed_by, signed_on, how=SignedHow.PAPER, reason=""):
    """Enter that somebody signed a wording of an agreement. The same person's word on the same version is kept once.

    It does not put the paper in force: the office sets its state when all have signed.
    """
    paper = Authorization.objects.select_for_update().get(pk=authorization.pk)
    if paper.type != AuthorizationType.LANDOWNER:
        raise ValidationError(f"{paper.code} is no agreement with a landowner, so no wording is signed under it.")
    if paper.partner_id is None:
        raise ValidationError(f"{paper.code} names no partner. Write on the paper with whom it is made, then enter who signed.")
    if signed_on > timezone.localdate():
        raise ValidationError({"signed_on": "This date has not come yet. Enter the day it was signed."})
    kept = paper.signatures.filter(text=text, signed_by__iexact=signed_by.strip()).first()
    if kept:
        return kept
    signature = AgreementSignature(
        authorization=paper, text=text, signed_by=signed_by.strip(), signed_on=signed_on, how=how, entered_by=actor,
        entered_at=timezone.now(),
    )  # fmt: skip
    signature.full_clean()
    append_row(signature)
    changes = {"signature": [None, str(signature)], "signed_on": [None, signed_on.isoformat()]}
    audit_record(actor=actor, verb="authorization.signed", obj=paper, changes=changes, reason=reason)
    return signature


@write
def agreement_sign_by_link(*, link, authorization, text_id, signed_by, reason):
    """Sign on the private page. Refused when the wording shown is no longer the one offered."""
    offered = wording_offered(authorization)
    if offered is None or offered.pk != text_id:
        if authorization.signatures.filter(text=text_id).exists():
            return authorization.signatures.filter(text=text_id).first()
        raise ValidationError("The wording was changed while this page was open. Read it as it stands now, and sign that.")
    return agreement_sign(
        actor=link.person, authorization=authorization, text=offered, signed_by=signed_by, signed_on=timezone.localdate(),
        how=SignedHow.LINK, reason=reason,
    )  # fmt: skip
