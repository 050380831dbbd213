"""Incidents and their clocks: by when whom, told or not."""

from dataclasses import dataclass
from datetime import timedelta

from django.db.models import Prefetch
from django.utils import timezone

from registry.calc.shared.screen import day_words, moment_words
from registry.compliance.duties.clocks import Clock, Deadline, deadline, is_in_time
from registry.models import Incident, IncidentNotice, ReportingClock

__all__ = ["ClockState", "incident_clocks", "limit_words", "running_clocks", "with_clocks", "zoned_words"]


@dataclass(frozen=True, slots=True)
class ClockState:
    """One clock of an incident. `notice` is the first that answers it; `late_by` is None while it is kept."""

    incident: Incident
    clock: ReportingClock
    limit: Deadline
    notice: IncidentNotice | None
    late_by: timedelta | None

    @property
    def is_running(self):
        return self.notice is None


def with_clocks(queryset):
    """Incidents with their papers, the clocks of these and the notices given: four queries for any number."""
    standing = IncidentNotice.objects.filter(superseded_by__isnull=True)
    return queryset.prefetch_related("authorizations__clocks", Prefetch("notices", standing))


def incident_clocks(incident, now):
    """The clocks of every paper an incident of `with_clocks` touches, the nearest first: [ClockState].

    The programme's time zone counts, since an incident names no other. Holidays are not known here, so working days run
    through them: the deadline shown is the earlier one.
    """
    zone = timezone.get_current_timezone()
    states = []
    for paper in incident.authorizations.all():
        for clock in paper.clocks.all():
            limit = deadline(Clock(clock.unit, clock.amount), incident.found_at, zone)
            told = sorted((notice for notice in incident.notices.all() if notice.clock_id == clock.pk), key=lambda notice: notice.told_at)
            notice = told[0] if told else None
            moment = notice.told_at if notice else now
            states.append(ClockState(incident, clock, limit, notice, None if is_in_time(limit, moment) else moment - limit.at))
    return sorted(states, key=lambda state: (state.limit.at, state.clock.pk))


def running_clocks(user, now):
    """The clocks nobody has answered, of every incident this person sees, the nearest first. Four queries."""
    incidents = with_clocks(Incident.objects.for_user(user).filter(authorizations__clocks__isnull=False).distinct())
    states = [state for incident in incidents for state in incident_clocks(incident, now) if state.is_running]
    return sorted(states, key=lambda state: state.limit.at)


def zoned_words(moment):
    """'13 Oct 2026, 09:00 EDT (America/New_York)': a moment in the programme's zone, and its name."""
    return f"{moment_words(timezone.localtime(moment), zone=True)} ({timezone.get_current_timezone_name()})"


def limit_words(limit):
    """A deadline with its zone: a moment, or the end of a day."""
    if limit.is_whole_days:
        return f"the end of {day_words(limit.on)} ({timezone.get_current_timezone_name()})"
    return zoned_words(limit.at)
