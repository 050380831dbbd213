"""The answer to a question is worked out by a job, once for all who ask it, and stored in place of the one before."""

from django.utils import timezone

from registry.choices import JobKind, JobState
from registry.models import StoredAnswer
from registry.selectors.jobs.answers import question_job
from registry.services.jobs.jobs import job_ask, job_see

__all__ = ["ANSWERS_MOST", "answer_ask", "answer_follow", "answer_seen", "answer_store"]

ANSWERS_MOST = 400
PAGE_MOST = 200  # the longest address that a job notes


def answer_ask(*, actor, awaited, title, page):
    """Start the job that works out an answer. Returns the one that does so already, whoever started it; `page` shows the answer."""
    question = awaited.question
    page = page if len(page) <= PAGE_MOST else page.partition("?")[0]
    given = {"question": question.sha256, "scope": question.scope, "choices": question.choices, "page": page}
    return job_ask(actor=actor, kind=JobKind.MODEL, title=title, given=given)


def answer_follow(*, actor, awaited, title, page, is_program=False):
    """The job of an answer that somebody looks for, None where there is none. It is started for the first who asks. One that ended
    without an answer waits for a person to start it again, so that looking does not undo what somebody cancelled; so does a page that has
    an earlier answer to show, which a program has not."""
    job = question_job(awaited.question.sha256)
    if (awaited.stored is None or is_program) and (job is None or job.state == JobState.DONE):
        return answer_ask(actor=actor, awaited=awaited, title=title, page=page)
    return job


def answer_store(*, question, rests_sha256, values, about):
    """Store an answer in the write that ends its job; the oldest of too many go."""
    found = {"rests_sha256": rests_sha256, "values": values, "about": about, "made_at": timezone.now()}
    StoredAnswer.objects.update_or_create(question=question, defaults=found)
    kept = StoredAnswer.objects.values_list("pk", flat=True)[:ANSWERS_MOST]
    StoredAnswer.objects.exclude(pk__in=[*kept]).delete()


def answer_seen(*, actor, question):
    """Today names no longer that an answer is ready for whoever looks at it."""
    job = question_job(question.sha256)
    if job is not None and job.asked_by_id == actor.pk:
        job_see(job, timezone.now())
