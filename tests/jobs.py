"""Long work in tests: done in the process of the test, by the worker's own function for one row of the queue."""

from django_tasks_db.models import DBTaskResult

from registry.services.jobs.worker import JobWorker

__all__ = ["work_off"]


def work_off():
    """Do what waits in the queue. The loop of the library would close the connection that the test has."""
    worker = JobWorker(batch=True)
    for row in DBTaskResult.objects.ready():
        row.claim(worker.worker_id)
        worker.run_task(row)
