"""Long work as its page and Today say it. A worker that is gone writes nothing, so what the page says goes by its last sign of life."""

from datetime import timedelta
from typing import NamedTuple

from django.conf import settings
from django.urls import reverse

from registry.calc.shared.screen import amount_words
from registry.choices import JobState
from registry.models import AuditEntry, Job, Person
from registry.models.audit import stored_name
from registry.selectors.duties.duty_line import Duty

__all__ = ["RESULT_DAYS", "SIGN_OF_LIFE", "job_lines", "job_now", "latest_job", "role_has_changed", "same_job", "result_path"]

SIGN_OF_LIFE = timedelta(seconds=60)  # a worker gives one every ten seconds; after this it is taken for gone
UNSTARTED = timedelta(seconds=60)  # work that waits longer while nothing else is under way: no worker may be running
RESULT_DAYS = 14  # how long a finished file is there to be downloaded

GONE = "The program that did it stopped before the end. Nothing of it was stored. Start it again."
NO_WORKER = (
    "Nothing has started it yet. Work starts one after another; if nothing else is under way, ask whoever runs Mastbook whether the worker "
    "is running (manage.py worker)."
)


class JobNow(NamedTuple):
    """A job at a moment: its state with its words, what the person can do, and how far it is."""

    state: str
    words: str
    note: str
    can_cancel: bool
    can_again: bool
    progress: str

    @property
    def is_moving(self):
        """Whether it waits or is under way."""
        return self.state in (JobState.WAITING, JobState.RUNNING)


def job_now(job, now):
    """What is true of a job at a moment, its worker considered."""
    state, note = job.state, job.error
    if state == JobState.RUNNING and now - (job.sign_of_life_at or job.started_at) > SIGN_OF_LIFE:
        state, note = JobState.STOPPED, GONE
    elif state == JobState.WAITING and now - job.asked_at > UNSTARTED:
        note = NO_WORKER
    elif state == JobState.RUNNING and job.cancel_asked_at:
        note = "It will be cancelled at the end of this step."
    under_way = state in (JobState.WAITING, JobState.RUNNING)
    progress = f"{job.done:,} of {amount_words(job.total, job.unit)}" if job.total and state != JobState.DONE else ""
    return JobNow(
        state=state, words=JobState(state).label, note=note, can_cancel=under_way and not job.cancel_asked_at,
        can_again=not under_way and state != JobState.DONE, progress=progress,
    )  # fmt: skip


def same_job(person, kind, given, now):
    """The job of a person that makes the same at this moment, or None. What answers a question is the same for all who may ask it."""
    running = Job.objects.filter(kind=kind, state__in=(JobState.WAITING, JobState.RUNNING), cancel_asked_at=None)
    if "question" in given:
        same = running.filter(given__question=given["question"])
        return next((job for job in same if not job_now(job, now).can_again), None)
    running = running.filter(asked_by=person)
    return next((job for job in running if job.given == given and not job_now(job, now).can_again), None)


def latest_job(person, kind, given):
    """The job of a person that was started last for the same, or None; `given` names an upload."""
    jobs = Job.objects.filter(asked_by=person, kind=kind, given__upload=given["upload"]).order_by("-asked_at", "-pk")
    return next((job for job in jobs if job.given == given), None)


def result_path(job):
    """Where the file of a finished job is, while it is there."""
    return settings.JOB_RESULTS / f"job-{job.pk}-{job.attempt}"


def role_has_changed(job, person):
    """Whether a person has another role than when the file of their job was begun, which shows what that role may see."""
    name = stored_name(Person)
    later = AuditEntry.objects.filter(record_type=name, record_id=person.pk, at__gte=job.started_at, changes__has_key="role")
    first = later.order_by("pk").first()
    return first is not None and first.changes["role"][0] != person.role


def job_lines(user, on, now):
    """Lines of Today about a person's own long work: under way, ready, or failed; each until it was opened."""
    jobs = Job.objects.filter(asked_by=user, seen_at=None, asked_at__gte=now - timedelta(days=RESULT_DAYS))
    for job in jobs.exclude(state=JobState.CANCELLED).order_by("-asked_at"):
        found = job_now(job, now)
        words = {JobState.DONE: "ready"}.get(found.state, found.words)
        severity = "odd" if found.can_again else "info"
        text = f"{job.title}: {words}" + (f", {found.progress}" if found.progress else "")
        yield Duty(severity, text, url=reverse("job_detail", args=[job.pk]), mine=True)
