"""The weekly mail: what a person has to do. Sent once a week, however often it is started."""

from dataclasses import dataclass
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import send_mail
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext, override

from registry.access import roles
from registry.access.active import is_active_on
from registry.access.languages import mail_language
from registry.models import Person, ReminderSent
from registry.selectors.duties.due_lines import duty_lines, incident_lines, paper_lines, receipt_lines, review_lines

__all__ = ["COMING_DAYS", "Outcome", "Part", "remind_of", "reminder_parts", "reminders_send", "week_of"]

COMING_DAYS = 30
_OTHERS = []


def remind_of(part):
    """Called once by an app that has more to say in the mail: `part(person, on)` gives a heading and its lines."""
    _OTHERS.append(part)


@dataclass(frozen=True, slots=True)
class Part:
    """A heading of the mail and its lines."""

    title: str
    lines: list


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one person's mail: sent, sent before, nothing to say, or failed with the mail server's message."""

    person: Person
    state: str
    error: str = ""


def week_of(on):
    """The ISO week of a day: '2026-W48'. The first days of January may belong to the year before (ISO 8601)."""
    year, week, _day = on.isocalendar()
    return f"{year}-W{week:02d}"


def reminder_parts(person, on, now):
    """What the mail to a person says on a day: [Part], without empty ones."""
    own = duty_lines(person, on, COMING_DAYS, own_only=True) if person.may("duty.view") else []
    parts = [
        Part(_("Overdue"), [line for line in own if line.severity == "late"]),
        Part(_("Due in the next %(days)s days") % {"days": COMING_DAYS}, [line for line in own if line.severity != "late"]),
    ]
    if person.role in roles.STAFF:
        parts.insert(0, Part("Incidents to report", list(incident_lines(person, now))))
        parts.append(Part("Shipments without a receipt", list(receipt_lines(person, on))))
        parts.append(Part("Rules and papers to check again", list(review_lines(person, on))))
    if person.may("authorization.view"):
        parts.append(Part(_("Papers that end"), list(paper_lines(person, on, own_only=True))))
    parts += [Part(*part(person, on)) for part in _OTHERS]
    return [part for part in parts if part.lines]


def reminders_send(*, on, now=None):
    """Send the mail of the week of a day to everybody who has something to read: [Outcome].

    Each person and week has one row. The run that sets its time of sending sends the mail, no other. When sending fails the
    time is removed, so that the next run tries again. A machine that stops between the two leaves that mail unsent.
    """
    now = now or timezone.now()
    people = Person.objects.exclude(email="").order_by("pk")
    outcomes = []
    for person in people:
        if is_active_on(person, on):
            with override(mail_language(person)):
                outcomes.append(_send(person, on, now))
    return outcomes


def _send(person, on, now):
    parts = reminder_parts(person, on, now)
    if not parts:
        return Outcome(person, "nothing to say")
    count = sum(len(part.lines) for part in parts)
    row, _made = ReminderSent.objects.get_or_create(person=person, week=week_of(on), defaults={"lines": count})
    claimed = ReminderSent.objects.filter(pk=row.pk, sent_at__isnull=True)
    if not claimed.update(sent_at=timezone.now(), lines=count):
        return Outcome(person, "sent before")
    text = render_to_string("registry/duties/weekly_mail.txt", {"person": person, "parts": parts, "on": on, "site": settings.SITE_URL})
    try:
        send_mail(f"Mastbook: {_subject(parts)}", text, None, [person.email])
    except (OSError, SMTPException) as error:
        _unclaim(row)
        return Outcome(person, "failed", str(error) or type(error).__name__)
    except BaseException:
        _unclaim(row)
        raise
    return Outcome(person, "sent")


def _unclaim(row):
    ReminderSent.objects.filter(pk=row.pk).update(sent_at=None)


def _subject(parts):
    lines = [line for part in parts for line in part.lines]
    late = sum(line.severity == "late" for line in lines)
    things = ngettext("%(count)s thing to do", "%(count)s things to do", len(lines)) % {"count": f"{len(lines):,}"}
    return _("%(late)s overdue, %(things)s") % {"late": late, "things": things} if late else things
