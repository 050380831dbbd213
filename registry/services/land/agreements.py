"""Agreements with landowners: the wordings, each in versions, and who signed which of them."""

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from registry.choices import AuthorizationType, SignedHow
from registry.models import AgreementSignature, AgreementText, Authorization
from registry.selectors.land.land import wording_offered
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import not_yet_words

__all__ = ["agreement_sign", "agreement_sign_by_link", "agreement_text_add"]


@write
def agreement_text_add(*, actor, title, version, body, is_example=False):
    """Write a wording, or a new version of one. What was signed stays as it was read."""
    text = AgreementText(title=title, version=version, body=body, is_example=is_example, entered_by=actor, entered_at=timezone.now())
    before = AgreementText.objects.filter(title=title)
    if before.filter(version=version).exists():
        raise ValidationError({"version": f"Version {version} of “{title}” exists already. A changed wording takes a new version."})
    same = before.order_by("entered_at", "pk").last()
    if same and same.body == body:
        raise ValidationError({"body": f"The wording is the same as in version {same.version}. Change it, or cancel."})
    text.full_clean()
    append_row(text)
    audit_record(actor=actor, verb="agreementtext.added", obj=text)
    return text


@write
def agreement_sign(*, actor, authorization, text, signed_by, signed_on, how=SignedHow.PAPER, reason=""):
    """Enter that somebody signed a wording of an agreement. The same person's signature under the same version is stored once.

    It does not put the paper in force: the office sets its state when all have signed.
    """
    paper = Authorization.objects.select_for_update().get(pk=authorization.pk)
    if paper.type != AuthorizationType.LANDOWNER:
        raise ValidationError(f"{paper.code} is not an agreement with a landowner, so no wording is signed under it.")
    if paper.partner_id is None:
        raise ValidationError(f"{paper.code} names no partner. Enter on the paper who it is made with, then who signed.")
    if signed_on > timezone.localdate():
        raise ValidationError({"signed_on": not_yet_words(timezone.localdate())})
    signed = paper.signatures.filter(text=text, signed_by__iexact=signed_by.strip()).first()
    if signed:
        return signed
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
        raise ValidationError(_("The wording was changed while this page was open. Read the new wording before you sign it."))
    return agreement_sign(
        actor=link.person, authorization=authorization, text=offered, signed_by=signed_by, signed_on=timezone.localdate(),
        how=SignedHow.LINK, reason=reason,
    )  # fmt: skip
