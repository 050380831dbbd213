"""Long work is started, cancelled and started again by the person it belongs to."""

from django.core.exceptions import ValidationError
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from registry.choices import JobState
from registry.models import AuditHead, Job
from registry.selectors.jobs.jobs import job_now, same_job
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.jobs.running import run_job

__all__ = ["RESTORED", "job_again", "job_ask", "job_cancel", "job_see", "jobs_stop"]

RESTORED = "These records were restored from a backup while it was waiting or under way. Nothing of it was stored. Start it again."


@write
def job_ask(*, actor, kind, title, given):
    """Start long work, in the queue of the worker.

    Parameters
    ----------
    actor : Person
    kind : JobKind
    title : str
        What is made, such as "Permit file of EX-PERMIT-MI".
    given : dict
        What it is made from, as JSON takes it.

    Returns
    -------
    Job
        The one that makes the same for this person at this moment, if there is one: two presses of a button start it once.
    """
    list(AuditHead.objects.select_for_update().values_list("pk"))  # two who ask at once would both find none, and start two
    now = timezone.now()
    found = same_job(actor, kind, given, now)
    if found:
        return found
    job = Job(kind=kind, title=title[:160], given=given, asked_by=actor, asked_at=now, state=JobState.WAITING)
    job.full_clean()
    job.save()
    _queue(job)
    audit_record(actor=actor, verb="job.asked_for", obj=job)
    return job


def _queue(job):
    job.queue_key = run_job.enqueue(job.pk, job.attempt).id
    job.save(update_fields=["queue_key"])


@write
def job_cancel(*, actor, job):
    """Cancel long work: at once while it waits, otherwise at the end of the step it is in."""
    job = Job.objects.select_for_update().get(pk=job.pk)
    if not job_now(job, timezone.now()).can_cancel:
        raise ValidationError("It is not under way any longer, or somebody cancelled it already.")
    job.cancel_asked_at = timezone.now()
    if job.state == JobState.WAITING:
        job.state, job.ended_at = JobState.CANCELLED, job.cancel_asked_at
    job.save()
    audit_record(actor=actor, verb="job.cancelled", obj=job)
    return job


@write
def job_again(*, actor, job):
    """Start long work again that failed, was cancelled, or whose worker is gone. An earlier start can no longer store anything."""
    job = Job.objects.select_for_update().get(pk=job.pk)
    if not job_now(job, timezone.now()).can_again:
        raise ValidationError("It is under way or done, so it cannot be started again.")
    job.attempt += 1
    job.asked_at, job.state = timezone.now(), JobState.WAITING
    job.started_at = job.sign_of_life_at = job.ended_at = job.seen_at = job.cancel_asked_at = None
    job.step = job.error = ""
    job.done = job.total = 0
    job.save()
    _queue(job)
    audit_record(actor=actor, verb="job.started_again", obj=job)
    return job


def job_see(job, now):
    """Note that the person opened ended work, so that Today names it no longer."""
    if job.seen_at is None and job.ended_at is not None:
        Job.objects.filter(pk=job.pk).update(seen_at=now)


def jobs_stop(why):
    """Stop whatever waits or is under way: after a restore, nothing that somebody asked for before may run by itself."""
    DBTaskResult.objects.all().delete()
    under_way = Job.objects.filter(state__in=(JobState.WAITING, JobState.RUNNING))
    return under_way.update(state=JobState.STOPPED, error=why, ended_at=timezone.now())
