"""Long work belongs to one person, says how far it is, is cancelled between steps, and stores all of its result or nothing."""

import os
import signal
import subprocess
import sys
import time
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from plantings.selectors.overview.today import today_lines
from registry.models import AuditEntry, Job, Taxon
from registry.selectors.jobs.jobs import GONE, SIGN_OF_LIFE, job_now, result_path
from registry.services.audit.write import write
from registry.services.jobs import running
from registry.services.jobs.jobs import RESTORED, job_again, job_ask, job_cancel, jobs_stop
from registry.services.jobs.running import STOPPING, JobResult, run_job
from registry.services.jobs.worker import results_tidy
from registry.services.shared.records import record_save
from tests import factories
from tests.jobs import work_off
from tests.places import PROJECT

pytestmark = pytest.mark.django_db
DO = {}  # what the work of a test does: a function of the run


def work(run):
    return DO["work"](run)


@pytest.fixture(autouse=True)
def kind(settings, tmp_path, monkeypatch):
    settings.JOB_RESULTS = tmp_path / "results"
    monkeypatch.setitem(running._KINDS, "permit_zip", ("permitfile.view", f"{__name__}.work"))


@pytest.fixture
def lead():
    return factories.person("lead")


def asked(lead, work, **given):
    DO["work"] = work
    return job_ask(actor=lead, kind="permit_zip", title="Permit file of P-1", given=given)


def after(job):
    work_off()
    job.refresh_from_db()
    return job


def making_a_file(run):
    run.step("Tables", 1, 3, "parts")
    with run.file("file.zip", "application/zip") as file:
        file.write(b"made")
    return JobResult(file=run.made_file)


def test_a_job_is_done_and_its_owner_downloads_the_file(lead, client):
    job = after(asked(lead, making_a_file))
    assert (job.state, job.done, job.total, job.result_bytes) == ("done", 3, 3, 4)
    client.force_login(lead)
    answer = client.get(reverse("job_file", args=[job.pk]))
    assert b"".join(answer.streaming_content) == b"made"
    assert [entry.verb for entry in AuditEntry.objects.filter(record_type="job").order_by("pk")] == ["job.asked_for", "job.ended"]


def test_nobody_else_sees_it_whatever_their_role(lead, client):
    job = after(asked(lead, making_a_file))
    client.force_login(factories.person("lead"))
    assert client.get(reverse("job_file", args=[job.pk])).status_code == 404
    assert client.get(reverse("job_now", args=[job.pk])).status_code == 404


def test_the_same_work_is_not_started_twice(lead):
    assert asked(lead, making_a_file, paper=1) == asked(lead, making_a_file, paper=1)
    assert asked(lead, making_a_file, paper=2).pk != Job.objects.get(given={"paper": 1}).pk


def test_waiting_work_is_cancelled_at_once_and_never_runs(lead):
    job = asked(lead, lambda run: pytest.fail("It was cancelled."))
    job_cancel(actor=lead, job=job)
    assert after(job).state == "cancelled"


def test_work_under_way_is_cancelled_at_its_next_step_and_leaves_nothing(lead):
    def cancelled_meanwhile(run):
        making_a_file(run)
        job_cancel(actor=lead, job=run.job)
        run.step("The step after")
        pytest.fail("It went on.")

    job = after(asked(lead, cancelled_meanwhile))
    assert job.state == "cancelled"
    assert not result_path(job).exists()


def test_a_fault_is_said_in_words_and_it_can_be_started_again(lead, caplog):
    def refused(run):
        raise ValidationError("There is no complete round.")

    job = after(asked(lead, refused))
    assert (job.state, job.error) == ("failed", "There is no complete round.")
    DO["work"] = lambda run: 1 / 0
    job = after(job_again(actor=lead, job=job))
    assert (job.state, job.error) == ("failed", running.PROGRAM_ERROR)
    assert "ZeroDivisionError" in caplog.text
    DO["work"] = making_a_file
    assert after(job_again(actor=lead, job=job)).state == "done"


def test_what_is_stored_is_stored_with_the_end_of_the_job_or_not_at_all(lead):
    @write
    def store():
        record_save(actor=lead, obj=Taxon(name="Juglans testis", common_name="test walnut", role="native"))
        raise ValidationError("Too late.")

    job = after(asked(lead, lambda run: JobResult(store=store)))
    assert (job.state, job.error) == ("failed", "Too late.")
    assert not Taxon.objects.filter(name="Juglans testis").exists()


def test_a_worker_that_is_gone_is_noticed_and_can_store_nothing_later(lead):
    """The second start is made while the first is still in hand: what the first then says or stores is refused."""

    def slow(run):
        Job.objects.filter(pk=run.job.pk).update(sign_of_life_at=timezone.now() - 2 * SIGN_OF_LIFE)
        gone = job_now(Job.objects.get(pk=run.job.pk), timezone.now())
        assert (gone.state, gone.note, gone.can_again) == ("stopped", GONE, True)
        DO["work"] = making_a_file
        job_again(actor=lead, job=run.job)
        return JobResult(page="/of-the-first/")

    job = asked(lead, slow)
    run_job.func(job.pk, 1)
    job.refresh_from_db()
    assert (job.state, job.result_page) == ("waiting", "")
    assert after(job).state == "done"


def test_a_worker_that_is_told_to_stop_ends_the_work_in_hand(lead):
    def told_to_stop(run):
        STOPPING.set()
        run.step("The step after")

    try:
        job = after(asked(lead, told_to_stop))
    finally:
        STOPPING.clear()
    assert (job.state, job.error) == ("stopped", running.WORKER_STOPPED)


def test_who_may_no_longer_do_it_gets_nothing(lead):
    job = asked(lead, making_a_file)
    lead.role = "volunteer"
    lead.save()
    assert after(job).error == running.MAY_NO_LONGER


def test_restored_records_start_nothing_by_themselves(lead):
    job = asked(lead, lambda run: pytest.fail("It ran."))
    jobs_stop(RESTORED)
    assert not DBTaskResult.objects.exists()
    assert (after(job).state, job.error) == ("stopped", RESTORED)


def test_today_names_it_until_its_owner_has_opened_it(lead, client):
    def lines():
        now = timezone.now()
        return [line.text for line in today_lines(lead, timezone.localdate(now), now) if "P-1" in line.text]

    job = asked(lead, making_a_file)
    assert lines() == ["Permit file of P-1: waiting to start"]
    after(job)
    client.force_login(lead)
    assert reverse("job_detail", args=[job.pk]) in client.get(reverse("today")).content.decode()
    assert lines() == ["Permit file of P-1: ready"]
    page = client.get(reverse("job_detail", args=[job.pk])).content.decode()
    assert reverse("job_file", args=[job.pk]) in page
    assert lines() == []


def test_the_page_says_how_far_it_is_without_a_script(lead, client):
    job = asked(lead, making_a_file)
    now = timezone.now()
    Job.objects.filter(pk=job.pk).update(
        state="running", started_at=now, sign_of_life_at=now, done=3, total=12, unit="parts", step="Table of trees"
    )
    client.force_login(lead)
    page = client.get(reverse("job_detail", args=[job.pk])).content.decode()
    assert 'value="3" max="12"' in page
    assert "3 of 12 parts" in page
    assert client.get(reverse("job_now", args=[job.pk])).json()["step"] == "Table of trees"


def test_finished_files_are_deleted_after_two_weeks_and_the_page_says_so(lead, client):
    job = after(asked(lead, making_a_file))
    results_tidy(timezone.now() + timedelta(days=13))
    assert result_path(job).exists()
    results_tidy(timezone.now() + timedelta(days=15))
    client.force_login(lead)
    assert "no longer here" in client.get(reverse("job_file", args=[job.pk]), follow=True).content.decode()


def test_the_worker_beside_the_server_ends_when_the_server_is_killed(tmp_path):
    """The server is a process that becomes another one, as `start` does; a worker that fails is started again."""
    beat = tmp_path / "beats"
    worker = f"open({str(beat)!r}, 'a').write('x'); import time; time.sleep(0.2)"
    keep = f"from registry.worker import run_beside; run_beside([{sys.executable!r}, '-c', {worker!r}], pause=0.05, look_every=0.05)"
    server = (
        f"import os, subprocess, sys; print(subprocess.Popen([{sys.executable!r}, '-c', {keep!r}]).pid, flush=True); "
        f"os.execv({sys.executable!r}, [{sys.executable!r}, '-c', 'import time; time.sleep(60)'])"
    )
    process = subprocess.Popen([sys.executable, "-c", server], cwd=PROJECT, stdout=subprocess.PIPE, text=True)
    keeper = int(process.stdout.readline())
    try:
        _waits(lambda: beat.exists() and len(beat.read_text()) >= 2)
    finally:
        process.kill()
        process.wait()
    _waits(lambda: not _is_alive(keeper))


def _waits(until):
    """A busy machine may take its time; a wait without end meets the limit of every test."""
    while not until():
        time.sleep(0.05)


def _is_alive(number):
    try:
        os.kill(number, signal.SIG_DFL)
    except ProcessLookupError:
        return False
    return open(f"/proc/{number}/stat").read().rpartition(")")[2].split()[0] != "Z"


def test_a_download_that_broke_off_goes_on_where_it_stopped(client, lead):
    def work(run):
        with run.file("table.csv", "text/csv") as target:
            target.write(bytes(range(100)))
        return JobResult(file=run.made_file)

    job = after(asked(lead, work))
    client.force_login(lead)
    url = reverse("job_file", args=[job.pk])
    whole = client.get(url)
    assert whole.status_code == 200 and b"".join(whole.streaming_content) == bytes(range(100))
    rest = client.get(url, headers={"Range": "bytes=90-", "If-Range": whole["ETag"]})
    assert (rest.status_code, rest["Content-Range"], rest["Content-Length"]) == (206, "bytes 90-99/100", "10")
    assert b"".join(rest.streaming_content) == bytes(range(90, 100))
    other = client.get(url, headers={"Range": "bytes=90-", "If-Range": '"an earlier file"'})
    assert other.status_code == 200 and b"".join(other.streaming_content) == bytes(range(100))
