"""Messages from landowners: open until somebody enters what was done."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.models import LandNotice, Partner
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write

__all__ = ["land_notice_add", "land_notice_handle"]


@write
def land_notice_add(*, actor, partner, kind, text, site_code="", reason=""):
    """Enter a message from a landowner. The same words sent again while it is open are stored once."""
    Partner.objects.select_for_update().get(pk=partner.pk)  # a second tap waits for the first
    same = LandNotice.objects.filter(partner=partner, kind=kind, text=text, site_code=site_code, handled_on__isnull=True).first()
    if same:
        return same
    notice = LandNotice(partner=partner, kind=kind, text=text, site_code=site_code, entered_by=actor, entered_at=timezone.now())
    notice.full_clean()
    notice.save()
    audit_record(actor=actor, verb="landnotice.added", obj=notice, reason=reason)
    return notice


@write
def land_notice_handle(*, actor, notice, on, by, text):
    """Say that somebody acted on it, when, and what was done. Said once; what it led to is entered where it belongs."""
    notice = LandNotice.objects.select_for_update().get(pk=notice.pk)
    if notice.handled_on:
        raise ValidationError(f"{notice.handled_by} already acted on it on {day_words(notice.handled_on)}: {notice.handled_text}")
    if on < timezone.localdate(notice.entered_at):
        raise ValidationError(
            {"on": f"The message is of {day_words(timezone.localdate(notice.entered_at))}. Enter that day or a later one."}
        )
    notice.handled_on, notice.handled_by, notice.handled_text = on, by, text
    notice.full_clean()
    notice.save()
    changes = {"handled_on": [None, on.isoformat()], "handled_by": [None, by], "handled_text": [None, text]}
    audit_record(actor=actor, verb="landnotice.handled", obj=notice, changes=changes)
    return notice
