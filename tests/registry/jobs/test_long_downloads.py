"""A download of many rows is a job that writes what the page would have answered, with the rights of whoever asked."""

import pytest
from django.urls import reverse
from django.utils import timezone

from registry.access.active import is_active_on
from registry.models import Job
from registry.services.jobs.running import MAY_NO_LONGER, JobRun
from registry.services.people.people import person_save
from registry.views.shared import long_downloads
from tests import factories
from tests.jobs import work_off

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client, settings, tmp_path, monkeypatch):
    settings.JOB_RESULTS = tmp_path / "results"
    monkeypatch.setattr(long_downloads, "ROWS_AT_ONCE", 2)
    person = factories.person("lead")
    client.force_login(person)
    for name in ("Juglans a", "Juglans b", "Juglans c"):
        factories.taxon(name=name)
    return person


def made(client, job):
    return b"".join(client.get(reverse("job_file", args=[job.pk])).streaming_content)


@pytest.mark.parametrize("wanted", ["csv", "xlsx"])
def test_a_long_list_is_a_job_with_the_same_rows(client, lead, monkeypatch, wanted):
    asked = client.get(reverse("taxon_list"), {"download": wanted})
    job = Job.objects.get()
    assert asked.url == reverse("job_detail", args=[job.pk]) and job.title == f"Download: taxa, {wanted.upper()}"
    # asked for twice it is made once
    assert client.get(reverse("taxon_list"), {"download": wanted}).url == asked.url
    work_off()
    job.refresh_from_db()
    assert (job.state, job.result_name, job.error) == ("done", f"taxon.{wanted}", "")
    monkeypatch.setattr(long_downloads, "ROWS_AT_ONCE", 3)
    at_once = client.get(reverse("taxon_list"), {"download": wanted}).content
    assert made(client, job) == at_once if wanted == "csv" else made(client, job)[:2] == at_once[:2] == b"PK"


def test_a_filter_holds_for_the_job_too(client, lead, monkeypatch):
    for _ in range(3):
        factories.seed_lot()
        factories.stock_lot()
    client.get(reverse("lot_list"), {"kind": "seed", "download": "csv"})
    work_off()
    lines = made(client, Job.objects.get()).decode("utf-8-sig").splitlines()
    assert len(lines) == 4 and all(line.split(",")[1] == "seed" for line in lines[1:])
    page = client.get(reverse("job_detail", args=[Job.objects.get().pk])).content.decode()
    assert f'href="{reverse("lot_list")}?kind=seed"' in page


def test_every_record_of_a_kind_is_a_job_too(client, lead):
    address = reverse("sheet_export", args=["taxon", "csv"])
    asked = client.get(address)
    work_off()
    job = Job.objects.get()
    assert asked.url == reverse("job_detail", args=[job.pk]) and job.state == "done"
    assert len(made(client, job).decode("utf-8-sig").splitlines()) == 4  # a head and three taxa


def test_who_may_no_longer_see_the_list_gets_no_file(client, lead):
    people = reverse("person_list")
    for _ in range(3):
        factories.person("manager")
    client.get(people, {"download": "csv"})
    lead.role = "auditor"
    lead.save()
    assert is_active_on(lead, factories.day(2026)) and not lead.may("person.view")
    work_off()
    job = Job.objects.get()
    assert (job.state, job.error, job.result_name) == ("failed", MAY_NO_LONGER, "")


def test_a_file_made_for_an_earlier_role_is_not_given_out(client, lead):
    """A lead sees people and exact places, and an auditor who was the lead no longer does."""
    other = factories.person("lead")
    for _ in range(3):
        factories.person("manager")
    client.get(reverse("person_list"), {"download": "csv"})
    work_off()
    job = Job.objects.get()
    page, file = reverse("job_detail", args=[job.pk]), reverse("job_file", args=[job.pk])
    assert file in client.get(page).content.decode()
    for role, is_open in (("auditor", False), ("lead", True)):
        lead.role = role
        person_save(actor=other, person=lead)
        assert (client.get(file).status_code, file in client.get(page).content.decode()) == ((200, True) if is_open else (302, False))
        assert ("your earlier role" in client.get(page).content.decode()) != is_open


def test_a_long_name_of_a_file_does_not_lose_its_ending(lead):
    job = Job.objects.create(kind="download", title="t", asked_by=lead, asked_at=timezone.now(), state="running")
    run = JobRun(job)
    with run.file("é" * 200 + "-to-correct.csv", "text/csv"):
        pass
    assert run.made_file.name == "é" * 156 + ".csv"  # the 160 signs that a name may have
