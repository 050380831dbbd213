"""Incidents: entered whatever the papers say, told within their clocks."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.compliance.duties.place_zones import zone_of
from registry.models import Incident, IncidentNotice
from registry.selectors.duties.incidents import incident_clocks, with_clocks
from registry.selectors.movements.site_land import site_land
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.permits.documents import file_keep
from registry.services.shared.records import record_save

__all__ = ["incident_close", "incident_notice_enter", "incident_save"]


@write
def incident_save(*, actor, incident, papers=None, lots=None, reason=""):
    """Store an incident, new or changed, whatever the state and the dates of its papers. Without a code it gets the next one.

    Raises
    ------
    django.core.exceptions.ValidationError
        Naming the field, for a discovery in the future: its clocks would start too late.
    """
    if incident.found_at and incident.found_at > timezone.now():
        raise ValidationError({"found_at": "This moment is in the future. Enter when it was discovered: the clocks run from then."})
    incident.zone = incident.zone or _zone_of_place(incident)
    if incident.pk is None:
        incident.code = incident.code.strip() or _next_code(incident)
        incident.entered_by, incident.entered_at = actor, timezone.now()
    many = {name: records for name, records in (("authorizations", papers), ("lots", lots)) if records is not None}
    return record_save(actor=actor, obj=incident, many=many, reason=reason)


def _zone_of_place(incident):
    """The time zone of the site; "" where it is not known, and the programme's counts."""
    land = site_land(incident.site_code)
    return zone_of(land.place.code) if land else ""


def _next_code(incident):
    year = timezone.localtime(incident.found_at).year if incident.found_at else timezone.localdate().year
    number = Incident.objects.filter(code__startswith=f"IN-{year}-").count() + 1
    while Incident.objects.filter(code=f"IN-{year}-{number}").exists():
        number += 1
    return f"IN-{year}-{number}"


@write
def incident_notice_enter(
    *, actor, incident, told_at, told_whom, how, told_by, text="", clocks=(), content=None, filename="", supersedes=None, reason=""
):
    """Somebody was told. One record for each clock it answers; one without a clock when it answers none: [IncidentNotice].

    With `supersedes` it corrects a notice entered wrongly: that one no longer counts, and its clock runs again unless the
    correction answers it.
    """
    if supersedes is not None:
        if not reason.strip():
            raise ValidationError({"reason": "Say why it is corrected. The notice it replaces stays on file."})
        if IncidentNotice.objects.filter(supersedes=supersedes).exists():
            raise ValidationError("This notice is corrected already. Correct the newer one.")
    own = {clock.pk for paper in incident.authorizations.all() for clock in paper.clocks.all()}
    if any(clock.pk not in own for clock in clocks):
        raise ValidationError({"clocks": f"Choose clocks of the papers that {incident.code} affects."})
    if told_at > timezone.now():
        raise ValidationError({"told_at": "This moment is in the future. Enter when they were told."})
    if told_at < incident.found_at:
        raise ValidationError({"told_at": "This is before the discovery. Correct one of the two."})
    file = file_keep(actor=actor, content=content, filename=filename) if content is not None else None
    notices = []
    for clock in clocks or (None,):
        notice = IncidentNotice(
            incident=incident, clock=clock, told_at=told_at, told_whom=told_whom.strip(), how=how.strip(), told_by=told_by.strip(),
            text=text.strip(), file=file, supersedes=None if notices else supersedes, reason="" if notices else reason.strip(),
            entered_by=actor, entered_at=timezone.now(),
        )  # fmt: skip
        notice.full_clean()
        append_row(notice)
        notices.append(notice)
    changes = {"told_whom": [None, notices[0].told_whom], "told_at": [None, told_at.isoformat()], "how": [None, notices[0].how]}
    audit_record(actor=actor, verb="incident.entered_who_was_told", obj=incident, changes=changes, reason=reason.strip())
    return notices


@write
def incident_close(*, actor, incident, closed_on, reason):
    """End an incident. Every clock needs a notice first: closing does not tell an authority anything."""
    Incident.objects.select_for_update().get(pk=incident.pk)
    incident = with_clocks(Incident.objects.filter(pk=incident.pk)).get()
    if incident.closed_on:
        raise ValidationError({"closed_on": f"It was closed on {day_words(incident.closed_on)}."})
    running = [state.clock.title for state in incident_clocks(incident, timezone.now()) if state.is_running]
    if running:
        raise ValidationError(f"No notice yet for: {', '.join(running)}. Enter who was told and when, then close it.")
    if closed_on > timezone.localdate():
        raise ValidationError({"closed_on": "This day is in the future."})
    if closed_on < timezone.localtime(incident.found_at).date():
        raise ValidationError({"closed_on": "This is before the discovery."})
    if not reason.strip():
        raise ValidationError({"reason": "Say how the incident ended."})
    incident.closed_on, incident.closed_reason = closed_on, reason.strip()
    incident.full_clean()
    incident.save()
    changes = {"closed_on": [None, closed_on.isoformat()]}
    audit_record(actor=actor, verb="incident.closed", obj=incident, changes=changes, reason=incident.closed_reason)
    return incident
