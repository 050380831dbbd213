"""How long work is done: step by step, with its progress on file, to be cancelled between steps, and stored at its end or not at all.

The worker of the library calls `run_job` with the key of a job and the number of its start. What does the work of a kind is a function
that another module names by `runs_job`; it takes a `JobRun` and gives a `JobResult`.
"""

import contextlib
import hashlib
import logging
import threading
import time
from collections.abc import Callable
from typing import NamedTuple

from django.core.exceptions import ValidationError
from django.db import OperationalError
from django.utils import timezone
from django.utils.module_loading import import_string
from django_tasks import task

from registry.access.active import is_active_on
from registry.choices import JobState
from registry.disk.faults import is_busy
from registry.disk.whole_files import whole_file
from registry.models import Job
from registry.prints.qr import PrintError
from registry.selectors.jobs.jobs import result_path
from registry.services.audit.apart import saved_at_once
from registry.services.audit.trail import OPEN_WRITE, audit_record
from registry.services.audit.write import write
from registry.services.shared.progress import listening

__all__ = ["STOPPING", "JobCancelled", "JobResult", "JobRun", "job_end", "run_job", "runs_job"]

log = logging.getLogger(__name__)
STOPPING = threading.Event()  # set when the worker is told to stop: work in hand ends at its next step
WORKER_STOPPED = "The worker was stopped before the end. Nothing of it was stored. Start it again."
PROGRAM_ERROR = "An error of the program stopped it; the log of the worker has the details. Nothing of it was stored."
MAY_NO_LONGER = "The person who started it may no longer do this. Nothing was stored."
SAY_EVERY = 1.0  # seconds between two notes of how far one step is
_KINDS = {}


class JobCancelled(Exception):
    """The person asked to cancel it."""


class _Interrupted(Exception):
    """The worker was told to stop."""


class _Superseded(Exception):
    """It was started again meanwhile: this worker was taken for gone."""


class JobResult(NamedTuple):
    """What came of the work: a file (`file`, of `JobRun.file`), or the address of a page. `store` is called in the write that ends the
    job and stores what the work found; where it returns an address, that is the page. That write is inside the context
    `around()`. `note` is what the page says of a result that is there, such as what it lacks."""

    file: "ResultFile | None" = None
    page: str = ""
    store: Callable | None = None
    around: Callable = contextlib.nullcontext
    note: str = ""


class ResultFile(NamedTuple):
    name: str
    type: str
    size: int
    sha256: str


def runs_job(kind, action, path):
    """Work of a kind is done by the function at a dotted path, for people who may do an action."""
    _KINDS[kind] = (action, path)


class JobRun:
    """A job in the hands of a worker: who started it and from what, and how it says how far it is."""

    def __init__(self, job):
        self.job, self.actor, self.given = job, job.asked_by, job.given
        self.made_file = None
        self._said = ("", 0.0)

    def step(self, words, done=0, total=0, unit=""):
        """Say what comes next and how far the work is, such as 3 of 12 "parts". Work that is cancelled stops here."""
        if STOPPING.is_set():
            raise _Interrupted
        is_apart = OPEN_WRITE.get() is None
        with saved_at_once() as can_save:
            if can_save:
                self._note_step(words, done, total, unit, is_apart)

    def _note_step(self, words, done, total, unit, is_apart):
        mine = Job.objects.filter(pk=self.job.pk, attempt=self.job.attempt, state=JobState.RUNNING)
        alive = mine.update(step=words[:160], done=min(done, total), total=total, unit=unit, sign_of_life_at=timezone.now())
        if not alive and is_apart:  # inside a write `job_end` looks at its end
            raise _Superseded
        if mine.exclude(cancel_asked_at=None).exists():
            raise JobCancelled

    def tell(self, words, done=0, total=0, unit=""):
        """As `step`, for work that says often how far it is: each new step is noted, then one in a second."""
        said, at = self._said
        if words != said or time.monotonic() - at >= SAY_EVERY:
            self._said = (words, time.monotonic())
            try:
                self.step(words, done, total, unit)
            except OperationalError as error:
                if not is_busy(error):  # somebody saves for long; the next note will do
                    raise

    @contextlib.contextmanager
    def file(self, name, content_type):
        """The file that is made, to write to; complete at the end or absent. `made_file` is then what a `JobResult` says of it."""
        path = result_path(self.job)
        with whole_file(path, mode=0o600) as file:
            yield file
        with path.open("rb") as made:
            sha256 = hashlib.file_digest(made, "sha256").hexdigest()
        self.made_file = ResultFile(_file_name(name), content_type, path.stat().st_size, sha256)

    def discard(self):
        result_path(self.job).unlink(missing_ok=True)


def _file_name(name):
    """A name as long as its column takes it, with its ending."""
    most = Job._meta.get_field("result_name").max_length
    stem, dot, ending = name.rpartition(".")
    return name if len(name) <= most else stem[: most - len(ending) - 1] + dot + ending


@task()
def run_job(key, attempt):
    """Do the work of a job, unless it was cancelled or started again since."""
    started = timezone.now()
    waiting = Job.objects.filter(pk=key, attempt=attempt, state=JobState.WAITING)
    if not waiting.update(state=JobState.RUNNING, started_at=started, sign_of_life_at=started):
        return
    run = JobRun(Job.objects.select_related("asked_by").get(pk=key))
    try:
        with listening(run.tell):
            _end(run, *_outcome(run))
    except _Superseded:
        run.discard()
        log.warning("Job %s was started again while an earlier start of it was still under way.", key)


def _outcome(run):
    """(state, error in words, result) of the work."""
    action, path = _KINDS[run.job.kind]
    if not (is_active_on(run.actor, timezone.localdate()) and run.actor.may(action)):
        return JobState.FAILED, MAY_NO_LONGER, None
    return _tried(lambda: (JobState.DONE, "", import_string(path)(run)))


def _tried(work):
    try:
        return work()
    except _Superseded:
        raise
    except JobCancelled:
        return JobState.CANCELLED, "", None
    except _Interrupted:
        return JobState.STOPPED, WORKER_STOPPED, None
    except ValidationError as error:
        return JobState.FAILED, " ".join(error.messages), None
    except PrintError as error:
        return JobState.FAILED, str(error), None
    except Exception:
        log.exception("Long work failed")
        return JobState.FAILED, PROGRAM_ERROR, None


def _end(run, state, error, result):
    """End the job; what the result stores is stored with it or not at all. A result that cannot be stored is a failure, in words."""

    def ended():
        with result.around() if result else contextlib.nullcontext():
            job_end(job=run.job, state=state, error=error, result=result)
        return state, error, result

    state_after, error_after, _result = _tried(ended)
    if state_after != state:
        job_end(job=run.job, state=state_after, error=error_after, result=None)
    if state_after != JobState.DONE:
        run.discard()


@write
def job_end(*, job, state, error, result):
    """Record how a job ended, and store its result in the same write."""
    # stored first: while the row of the job is locked, nobody could cancel it, nor see how far the storing is
    stored = result.store() if result and result.store else ""
    mine = Job.objects.select_for_update().filter(pk=job.pk, attempt=job.attempt, state=JobState.RUNNING).first()
    if mine is None:
        raise _Superseded
    if result is not None:
        mine.result_page = stored or result.page
        error = error or result.note
        if result.file:
            mine.result_name, mine.result_type, mine.result_bytes, mine.result_sha256 = result.file
        mine.done = mine.total
    mine.state, mine.error, mine.ended_at, mine.step = state, error[:500], timezone.now(), ""
    mine.save()
    audit_record(actor=mine.asked_by, verb="job.ended", obj=mine, changes={"state": [JobState.RUNNING, state]})
