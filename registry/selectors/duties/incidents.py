"""Incidents and their clocks: by when whom, told or not."""

from dataclasses import dataclass
from datetime import timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db.models import Prefetch
from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.screen import day_words, moment_words, span_words
from registry.compliance.duties.clocks import Clock, Deadline, deadline, is_in_time
from registry.models import Authorization, Incident, IncidentNotice, ReportingClock
from registry.selectors.duties.duty_line import Duty as Line

__all__ = [
    "ClockState", "clock_line", "clock_status", "incident_clocks", "incident_zone", "limit_words", "running_clocks", "with_clocks",
    "zoned_words",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class ClockState:
    """One clock of an incident, by a paper. `notice` is the first that answers it; `late_by` is None while it is in time."""

    incident: Incident
    paper: Authorization
    clock: ReportingClock
    limit: Deadline
    notice: IncidentNotice | None
    late_by: timedelta | None

    @property
    def is_running(self):
        return self.notice is None


def with_clocks(queryset):
    """Incidents with their papers, the clocks of these and the notices given: four queries for any number."""
    current = IncidentNotice.objects.filter(superseded_by__isnull=True)
    return queryset.prefetch_related("authorizations__clocks", Prefetch("notices", current))


def incident_clocks(incident, now):
    """The clocks of every paper an incident of `with_clocks` affects, the nearest first: [ClockState].

    The time zone of the place counts, that of the programme where none is known. Holidays are not known here, so working days run
    through them: the deadline shown is the earlier one.
    """
    zone = incident_zone(incident)
    states = []
    for paper in incident.authorizations.all():
        for clock in paper.clocks.all():
            limit = deadline(Clock(clock.unit, clock.amount), incident.found_at, zone)
            told = sorted((notice for notice in incident.notices.all() if notice.clock_id == clock.pk), key=lambda notice: notice.told_at)
            notice = told[0] if told else None
            moment = notice.told_at if notice else now
            states.append(ClockState(incident, paper, clock, limit, notice, None if is_in_time(limit, moment) else moment - limit.at))
    return sorted(states, key=lambda state: (state.limit.at, state.clock.pk))


def incident_zone(incident):
    """The time zone in which the clocks of an incident run; that of the programme where none is stored, or one nobody knows any more."""
    try:
        return ZoneInfo(incident.zone) if incident.zone else timezone.get_current_timezone()
    except (ZoneInfoNotFoundError, ValueError):
        return timezone.get_current_timezone()


def running_clocks(user, now):
    """The clocks without a notice, of every incident this person sees, the nearest first. Four queries."""
    incidents = with_clocks(Incident.objects.for_user(user).filter(authorizations__clocks__isnull=False).distinct())
    states = [state for incident in incidents for state in incident_clocks(incident, now) if state.is_running]
    return sorted(states, key=lambda state: state.limit.at)


def zoned_words(moment, incident=None):
    """'13 Oct 2026, 09:00 EDT (America/New_York)': a moment in the zone of an incident, or of the programme, and its name."""
    zone = incident_zone(incident) if incident else timezone.get_current_timezone()
    return f"{moment_words(timezone.localtime(moment, zone), zone=True)} ({zone})"


def limit_words(state):
    """The deadline of a clock with its zone: a moment, or the end of a day."""
    if state.limit.is_whole_days:
        return f"the end of {day_words(state.limit.on)} ({incident_zone(state.incident)})"
    return zoned_words(state.limit.at, state.incident)


def clock_status(state):
    """'told in time', 'told 2 hours late', 'not told, 1 day overdue', 'not told yet'."""
    late = span_words(state.late_by) if state.late_by is not None else ""
    if state.notice:
        return f"told {late} late" if late else "told in time"
    return f"not told, {late} overdue" if late else "not told yet"


def clock_line(state, mine=False):
    """A running clock as a line of what is due."""
    told = f"tell {state.clock.tell} by {limit_words(state)}: {clock_status(state)}"
    text = f"Incident {state.incident.code}: {state.clock.title}, {told}"
    url = reverse("incident_detail", args=[state.incident.pk])
    step = f"Tell {state.clock.tell} now, then enter who was told."
    return Line("late" if state.late_by is not None else "soon", text, state.limit.on, url, mine=mine, step=step)
