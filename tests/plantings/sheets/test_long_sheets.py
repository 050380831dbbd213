"""Long sheets are checked and saved by the worker: with a bar, cancelable, all or nothing, and nobody else waits for them."""

import threading
from io import StringIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.core.management.base import OutputWrapper
from django.db import connection, connections
from django.urls import reverse

from plantings.imports.loading import sheet_load
from plantings.views.sheets.long_sheets import MAPPING_CHANGED, MOVED, check_ask, load_ask
from registry.imports.sheets.sheet import Sheet
from registry.management.progress_lines import ProgressLines
from registry.models import AuditEntry, Job, Load, SheetUpload, Taxon
from registry.services.audit.apart import prepared_apart
from registry.services.audit.write import writing
from registry.services.jobs import running
from registry.services.jobs.jobs import job_cancel
from registry.services.shared.records import record_save
from registry.services.sheets.uploads import upload_keep, upload_map
from tests import factories
from tests.jobs import work_off

SHEET = b"Name,Role\nJuglans longa,native\nJuglans longior,native\nJuglans longissima,donor\n"
STORED = {"Juglans longa", "Juglans longior", "Juglans longissima"}


@pytest.fixture(autouse=True)
def every_sheet_is_long(settings, tmp_path):
    settings.LONG_SHEET_ROWS = 2
    settings.DATA_DIR, settings.JOB_RESULTS = tmp_path, tmp_path / "results"


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def uploaded(lead, content=SHEET):
    return upload_keep(actor=lead, kind="taxon", content=content, filename="species.csv")


def stored():
    return set(Taxon.objects.filter(name__startswith="Juglans long").values_list("name", flat=True))


def done(job):
    work_off()
    job.refresh_from_db()
    return job


@pytest.mark.django_db
def test_a_long_sheet_is_checked_and_saved_from_its_pages(client, lead):
    page = client.post(reverse("sheet_send", args=["taxon"]), {"file": SimpleUploadedFile("species.csv", SHEET)}, follow=True)
    preview = page.redirect_chain[-1][0]
    assert "Check this sheet" in page.content.decode() and "form" not in page.context
    checking = client.post(preview, {"check": "1"})
    assert client.get(preview).url == checking.url  # comes back to the bar
    work_off()
    assert client.get(reverse("job_now", args=[Job.objects.get().pk])).json()["page"] == preview
    page = client.get(preview)
    assert dict(page.context["counts"])["new"] == 3 and "Juglans longissima" in page.content.decode()
    assert "This is only a first check: saving checks every row again" in page.content.decode()
    assert not stored()
    client.post(preview, {"shown": page.context["form"]["shown"].value()})
    saving = done(Job.objects.get(kind="sheet_load"))
    assert (saving.state, saving.error, saving.result_page) == ("done", "", reverse("load_detail", args=[Load.objects.get().pk]))
    assert stored() == STORED


@pytest.mark.django_db
def test_wrong_rows_of_a_long_sheet_are_listed_and_set_aside(client, lead):
    failed = done(check_ask(lead, uploaded(lead, b"Name,Role\nJuglans wrong,nobody\nJuglans q1,native\nJuglans q2,native\n"), True))
    assert "nobody" in failed.error and "“q1” is a species or an author" in failed.error  # said once the other rows were tried
    upload = uploaded(lead, SHEET + b"Juglans wrong,nobody\n")
    preview = reverse("sheet_preview", args=[upload.key])
    done(check_ask(lead, upload, False))
    assert "Make it as CSV" in client.get(preview).content.decode()
    client.post(preview, {"problems": "csv"})
    to_correct = done(Job.objects.get(kind="sheet_problems"))
    assert b"What to correct" in b"".join(client.get(reverse("job_file", args=[to_correct.pk])).streaming_content)
    aside = preview + "?aside=1"
    client.post(aside, {"check": "1"})
    work_off()
    client.post(aside, {"shown": client.get(aside).context["shown"]})
    work_off()
    assert stored() == STORED and Load.objects.get().aside_count == 1


@pytest.mark.django_db
def test_what_was_agreed_to_is_saved_or_nothing(lead):
    upload = uploaded(lead)
    moved = load_ask(lead, upload, shown="2 new", reason="", sets_aside=False)
    assert (done(moved).state, moved.error) == ("failed", MOVED)
    mapped = load_ask(lead, upload, shown="3 new", reason="", sets_aside=False)
    upload_map(actor=lead, upload=upload, spec={"decimal": ","})
    assert (done(mapped).state, mapped.error) == ("failed", MAPPING_CHANGED)
    left = load_ask(lead, SheetUpload.objects.get(), shown="3 new", reason="", sets_aside=False)
    lead.role = "nursery"
    lead.save()
    assert (done(left).state, left.error) == ("failed", running.MAY_NO_LONGER)
    assert not stored() and not Load.objects.exists()


@pytest.mark.django_db
def test_the_command_says_how_far_a_long_sheet_is(lead, tmp_path):
    path, err = tmp_path / "species.csv", StringIO()
    path.write_bytes(SHEET)
    call_command("load", "taxon", path, stdout=StringIO(), stderr=err)
    assert err.getvalue().splitlines() == ["Reading the file", "Checking taxa: 3 rows", "Saving taxa: 3 rows"]
    on_terminal = OutputWrapper(Terminal())
    lines = ProgressLines(on_terminal)
    lines("Checking species", 1, 3, "rows")
    assert on_terminal.getvalue() == "\r\033[KChecking species [##########....................] 1 of 3 rows"
    assert stored() == STORED


@pytest.mark.django_db
def test_a_row_of_several_kinds_counts_once_for_each(client, lead, settings):
    """The check of such a sheet stores its rows and takes them back, so it holds others up like a load."""
    settings.LONG_SHEET_ROWS = 4
    kind = {"columns": {"name": {"constant": "Juglans longa"}}}
    for parts, is_checked_at_once in (({"taxon": kind}, True), ({"taxon": kind, "partner": {"columns": {"code": "Name"}}}, False)):
        upload = upload_keep(actor=lead, kind="combined", content=SHEET, filename="all.csv")
        upload_map(actor=lead, upload=upload, spec={"parts": parts})
        page = client.get(reverse("combined_preview", args=[upload.key])).content.decode()
        assert ("This sheet is long" not in page) is is_checked_at_once


class Terminal(StringIO):
    def isatty(self):
        return True


def beside(work):
    """Somebody else does it in a thread with a connection of their own. Returns what was raised."""
    raised = []

    def run():
        try:
            work()
        except Exception as error:
            raised.append(error)
        finally:
            connections.close_all()

    thread = threading.Thread(target=run)
    thread.start()
    thread.join()
    return raised


@pytest.mark.django_db(transaction=True)
def test_a_sheet_that_is_being_saved_is_cancelled_and_leaves_nothing(lead, monkeypatch):
    """Somebody else cancels it in the middle of its rows, saves something unrelated and waits for neither."""
    job, said = load_ask(lead, uploaded(lead), shown="3 new", reason="", sets_aside=False), []
    monkeypatch.setattr(running, "SAY_EVERY", 0.0)
    before = Sheet.save_row

    def save_row(*args):
        found = before(*args)
        if not said:
            said.append(Job.objects.get(pk=job.pk).step if connection.vendor == "postgresql" else "")
            said.append(beside(lambda: job_cancel(actor=lead, job=Job.objects.get(pk=job.pk))))
            said.append(beside(lambda: record_save(actor=lead, obj=Taxon(name="Carya ovata", common_name="hickory", role="native"))))
            running_now.tell("Storing the next row")
        return found

    running_now = running.JobRun(job)
    monkeypatch.setattr(Sheet, "save_row", save_row)
    assert done(job).state == "cancelled"
    assert said[1:] == [[], []]
    assert not stored() and Taxon.objects.filter(name="Carya ovata").exists()


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="PostgreSQL needs no copy: others write meanwhile")
def test_what_is_prepared_apart_is_stored_as_prepared_or_done_again(lead):
    """A save meanwhile has the work done again, before and after it was prepared; the trail adds up either way."""
    tries = []

    def load(name):
        plan = sheet_load(actor=lead, kind="taxon", content=b"Name,Role\n%s,native\n" % name.encode(), filename="one.csv")
        tries.append(name)
        return plan

    def other(name):
        assert not beside(lambda: record_save(actor=lead, obj=Taxon(name=name, common_name="hickory", role="native")))

    def disturbed():
        plan = load("Juglans longa")
        if len(tries) == 1:
            other("Carya ovata")
        return plan

    first = prepared_apart(disturbed)
    assert tries == ["Juglans longa"] * 2 and not stored() and not Load.objects.exists()
    second = prepared_apart(lambda: load("Juglans longior"))
    with first.around(), writing():
        first.store()
    with second.around(), writing():
        second.store()  # the first was saved since
    assert tries == ["Juglans longa"] * 2 + ["Juglans longior"] * 2
    assert stored() == {"Juglans longa", "Juglans longior"}
    assert set(Load.objects.values_list("pk", flat=True)) == {first.result.load.pk, second.result.load.pk}
    assert AuditEntry.objects.filter(verb="load.added").count() == 2
    call_command("verify", stdout=StringIO())
