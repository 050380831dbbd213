"""The worker of long work: that of the library, which also shows that it is alive, and ends work in hand when it is told to stop."""

import contextlib
import shutil
import sys
import threading
from datetime import timedelta

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils import timezone
from django.utils.crypto import get_random_string
from django_tasks_db.management.commands.db_worker import Worker
from django_tasks_db.models import DBTaskResult

from registry.choices import JobState
from registry.disk.whole_files import remove_abandoned
from registry.models import Job
from registry.selectors.jobs.jobs import RESULT_DAYS
from registry.services.jobs.running import STOPPING

__all__ = ["UNFINISHED", "JobWorker", "results_tidy"]

UNFINISHED = ".unfinished-"  # begins the name of a folder that a job works in
_A_DAY = timedelta(days=1)

_BEAT = 10  # seconds


class JobWorker(Worker):
    """Works the queue off, one job after another. With `batch` it ends when the queue is empty."""

    def __init__(self, *, batch=False, interval=1.0):
        super().__init__(
            queue_names=["*"], excluded_queue_names=[], interval=interval, batch=batch, backend_name="default", startup_delay=False,
            max_tasks=None, worker_id=get_random_string(32),
        )  # fmt: skip

    def shutdown(self, signum, frame):
        """End at once, or after the step that is under way; a second signal does not wait for it."""
        if not self.running:
            sys.exit(1)
        self.running = False
        STOPPING.set()
        if not self.running_task:
            sys.exit(0)

    def run_task(self, db_task_result):
        with _signs_of_life(db_task_result):
            super().run_task(db_task_result)
        results_tidy(timezone.now())


@contextlib.contextmanager
def _signs_of_life(row):
    """While a job is in hand, a thread writes down every few seconds that its worker is alive."""
    key, attempt = row.args_kwargs["args"]
    ended = threading.Event()
    mine = Job.objects.filter(pk=key, attempt=attempt, state=JobState.RUNNING)

    def beat():
        while not ended.wait(_BEAT):
            with contextlib.suppress(DatabaseError):  # the database is busy: the next one will do
                mine.update(sign_of_life_at=timezone.now())
        connection.close()

    thread = threading.Thread(target=beat, daemon=True)
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join()


def results_tidy(now):
    """Delete finished files that have been there long enough, and what the queue has of work as old."""
    before = now - timedelta(days=RESULT_DAYS)
    DBTaskResult.objects.filter(enqueued_at__lt=before).delete()
    if not settings.JOB_RESULTS.is_dir():
        return
    remove_abandoned(settings.JOB_RESULTS)
    for path in settings.JOB_RESULTS.glob(f"{UNFINISHED}*"):  # left by a worker that was killed
        if path.stat().st_mtime < (now - _A_DAY).timestamp():
            shutil.rmtree(path, ignore_errors=True)
    for path in settings.JOB_RESULTS.glob("job-*"):
        if path.stat().st_mtime < before.timestamp():
            path.unlink(missing_ok=True)
