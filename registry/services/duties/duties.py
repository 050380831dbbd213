"""Duties and the incident clocks of papers. A duty continues until somebody closes it with a reason, whatever became of its paper."""

import datetime

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext

from registry.access import roles
from registry.calc.shared.screen import day_words
from registry.choices import Recurrence
from registry.compliance.duties.recurrence import occurrences
from registry.models import Duty, DutyDone
from registry.selectors.duties.dates import duty_recurrence, first_occurrence
from registry.selectors.shared.local_words import local_day
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.permits.documents import file_keep
from registry.services.shared.records import record_save

__all__ = ["EVERY_TOO_SMALL", "clock_save", "duty_close", "duty_done_correct", "duty_done_enter", "duty_save"]

EVERY_TOO_SMALL = "Give 1 or more: every 1 year, every 6 months."
# a year mistyped as 1026 would make a thousand due dates, all of them late
_FIRST_DAY, _AHEAD_YEARS = datetime.date(1950, 1, 1), 100


@write
def duty_save(*, actor, duty, reason=""):
    """Store a duty, new or changed; without a code it gets the next free one.

    Raises
    ------
    django.core.exceptions.ValidationError
        Naming the field: a recurrence whose parts do not fit or that never falls due, people who cannot do it.
    """
    _check_people(duty)
    _check_recurrence(duty)
    if duty.pk is None:
        duty.code = duty.code.strip() or _next_code()
        duty.entered_by, duty.entered_at = actor, timezone.now()
    return record_save(actor=actor, obj=duty, reason=reason)


def _check_people(duty):
    if duty.responsible and not duty.responsible.may("duty.done"):
        raise ValidationError({"responsible": f"{duty.responsible} cannot mark a duty as done. Name somebody who can."})
    if duty.second and not (duty.second.is_active and duty.second.role in roles.OFFICE):
        raise ValidationError({"second": f"{duty.second} does not see every duty. Name a lead, a coordinator or a manager."})
    if duty.second and duty.second == duty.responsible:
        raise ValidationError({"second": "The second person replaces the first. Name somebody else, or leave it blank."})


def _check_recurrence(duty):
    if duty.first_due_on is None or duty.every is None:
        return  # the record's own check names them
    if duty.every < 1:
        raise ValidationError({"every": EVERY_TOO_SMALL})
    last_day = datetime.date(timezone.localdate().year + _AHEAD_YEARS, 12, 31)
    if not _FIRST_DAY <= duty.first_due_on <= last_day:
        raise ValidationError(
            {
                "first_due_on": f"Give a day from {day_words(_FIRST_DAY)} to {day_words(last_day)}. "
                "For a duty older than these records, give the first due date that still matters."
            }
        )
    if duty.recurrence == Recurrence.YEARLY_ON and duty.season_month is None and duty.season_day is None:
        duty.season_month, duty.season_day = duty.first_due_on.month, duty.first_due_on.day
    if duty.recurrence not in (Recurrence.YEARLY_ON, Recurrence.BEFORE_SEASON):
        duty.season_month = duty.season_day = None
    if duty.recurrence != Recurrence.BEFORE_SEASON:
        duty.days_before = 0
    try:
        first = first_occurrence(duty)
    except ValueError as error:
        field = "recurrence" if duty.recurrence in (Recurrence.MONTHS, Recurrence.YEARS) else "season_day"
        raise ValidationError({field: str(error)}) from error
    if first is None:
        raise ValidationError({"until_on": "It would never fall due: the last day is before the first. Give a later day or none."})


def _next_code():
    number = Duty.objects.count() + 1
    while Duty.objects.filter(code=f"D-{number}").exists():
        number += 1
    return f"D-{number}"


@write
def duty_done_enter(*, actor, duty, due_on, done_on, by, evidence, content=None, filename=""):
    """One due date of a duty is done.

    Parameters
    ----------
    actor : Person
    duty : Duty
    due_on, done_on : datetime.date
    by, evidence : str
    content, filename : bytes, str, optional
        The evidence.

    Raises
    ------
    django.core.exceptions.ValidationError
        Naming the field: a day on which it does not fall due, a day to come, one that is done already.
    """
    # the row lock lines up two people who enter the same date at once
    duty = Duty.objects.select_for_update().get(pk=duty.pk)
    record = DutyDone(duty=duty, due_on=due_on, done_on=done_on, by=by.strip(), evidence=evidence.strip())
    _check_done(record)
    _store_done(actor, record, content, filename)
    changes = {"due_on": [None, due_on.isoformat()], "done_on": [None, done_on.isoformat()], "evidence": [None, record.evidence]}
    audit_record(actor=actor, verb="duty.entered_as_done", obj=duty, changes=changes)
    return record


@write
def duty_done_correct(*, actor, record, due_on, done_on, by, evidence, reason, content=None, filename=""):
    """A newer record replaces one that was wrong; both stay. Without a new file it has the old one."""
    duty = Duty.objects.select_for_update().get(pk=record.duty_id)
    if not reason.strip():
        raise ValidationError({"reason": gettext("Say why it is corrected. The record it replaces stays on file.")})
    if DutyDone.objects.filter(supersedes=record).exists():
        raise ValidationError(gettext("Somebody has corrected this record already. Correct the newer one."))
    newer = DutyDone(
        duty=duty, due_on=due_on, done_on=done_on, by=by.strip(), evidence=evidence.strip(), file=record.file,
        supersedes=record, reason=reason.strip(),
    )  # fmt: skip
    _check_done(newer)
    _store_done(actor, newer, content, filename)
    names = ("due_on", "done_on", "by", "evidence")
    changes = {name: [str(getattr(record, name)), str(getattr(newer, name))] for name in names}
    changes = {name: pair for name, pair in changes.items() if pair[0] != pair[1]}
    if newer.file_id != record.file_id:
        changes["file"] = [str(record.file or ""), str(newer.file)]
    audit_record(actor=actor, verb="duty.corrected_what_was_done", obj=duty, changes=changes, reason=newer.reason)
    return newer


def _check_done(record):
    duty, due = record.duty, record.due_on
    if not occurrences(duty_recurrence(duty), due, due):
        words = gettext("It does not fall due on %(day)s. Choose one of its due dates.")
        raise ValidationError({"due_on": words % {"day": local_day(due)}})
    if duty.closed_on and due > duty.closed_on:
        words = gettext("The duty was closed on %(day)s; nothing falls due after that.")
        raise ValidationError({"due_on": words % {"day": local_day(duty.closed_on)}})
    if record.done_on > timezone.localdate():
        raise ValidationError({"done_on": gettext("This day is in the future. Enter the day it was done.")})
    current = duty.done.filter(due_on=due, superseded_by__isnull=True).exclude(pk=record.supersedes_id).first()
    if current:
        words = gettext("What was due on %(due)s was recorded as done on %(done)s. Correct that record.")
        raise ValidationError({"due_on": words % {"due": local_day(due), "done": local_day(current.done_on)}})


def _store_done(actor, record, content, filename):
    if content is not None:
        record.file = file_keep(actor=actor, content=content, filename=filename)
    record.entered_by, record.entered_at = actor, timezone.now()
    record.full_clean()
    append_row(record)


@write
def duty_close(*, actor, duty, closed_on, reason):
    """End a duty. Nothing falls due after that day; what was not done by then stays on file as not done."""
    duty = Duty.objects.select_for_update().get(pk=duty.pk)
    if duty.closed_on:
        raise ValidationError({"closed_on": f"It was closed on {day_words(duty.closed_on)}."})
    if not reason.strip():
        raise ValidationError({"reason": "Say why the duty ends, and who said so."})
    if closed_on > timezone.localdate():
        raise ValidationError({"closed_on": "This day is in the future. Close it on the day it ends."})
    duty.closed_on, duty.closed_reason = closed_on, reason.strip()
    duty.full_clean()
    duty.save()
    audit_record(actor=actor, verb="duty.closed", obj=duty, changes={"closed_on": [None, closed_on.isoformat()]}, reason=duty.closed_reason)
    return duty


def clock_save(*, actor, clock, reason=""):
    """Store how soon the authority must be told under a paper."""
    return record_save(actor=actor, obj=clock, reason=reason)
