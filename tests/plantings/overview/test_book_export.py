"""The export of all records from a page: made by the worker, the same as the folder of the command, private to whoever started it."""

import io
import zipfile

import pytest
from django.urls import reverse

from plantings.exports.book import book_export
from registry.models import AuditEntry, Job
from registry.services.jobs import jobs
from registry.services.jobs.running import JobRun
from tests import factories
from tests.jobs import work_off

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(client, settings, tmp_path):
    settings.JOB_RESULTS = tmp_path / "results"
    client.force_login(factories.person("lead"))
    factories.trees(factories.planting(), count=3)
    client.post(reverse("book_export"))
    return Job.objects.get()


def test_the_file_holds_what_the_command_writes(job, client, tmp_path, settings):
    work_off()
    job.refresh_from_db()
    assert (job.state, job.error, job.result_name) == ("done", "", "mastbook-records.zip")
    packed = zipfile.ZipFile(io.BytesIO(b"".join(client.get(reverse("job_file", args=[job.pk])).streaming_content)))
    assert packed.testzip() is None
    exported = AuditEntry.objects.get(verb="audithead.exported")
    assert exported.changes["folder"] == [None, "mastbook-records.zip"]
    folder = tmp_path / "by-command"
    book_export(folder)
    trees = "tables/tree.csv"
    assert packed.read(f"mastbook-records/{trees}") == (folder / trees).read_bytes()
    names = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    assert {name.removeprefix("mastbook-records/") for name in packed.namelist()} == names
    assert [path.name for path in settings.JOB_RESULTS.iterdir()] == [f"job-{job.pk}-1"]


def test_an_export_is_cancelled_among_its_rows_and_leaves_no_file(job, monkeypatch, settings):
    said = JobRun.tell

    def tell(run, words, *given):
        if words.startswith("Writing") and not run.job.cancel_asked_at:
            jobs.job_cancel(actor=run.actor, job=run.job)
            run.job.refresh_from_db()
        return said(run, words, *given)

    monkeypatch.setattr(JobRun, "tell", tell)
    work_off()
    job.refresh_from_db()
    assert job.state == "cancelled"
    assert list(settings.JOB_RESULTS.iterdir()) == []
    assert not AuditEntry.objects.filter(verb="audithead.exported").exists()
