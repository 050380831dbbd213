"""Two people open the page of a large model at the same moment: one job fits it, and both read what it gave."""

import threading

import pytest
from django.test import Client
from django.urls import reverse

from plantings.calc.lineages.compare import AWAITED, MODEL
from registry.models import AuditEntry, Job, StoredAnswer
from registry.services.jobs import jobs
from tests import factories
from tests.jobs import work_off
from tests.plantings.survival.survival_examples import counted, planting_on
from tests.project.test_concurrency import at_once

pytestmark = pytest.mark.django_db(transaction=True)
AT_ONCE_S = 2  # how long a reader who found no job waits for the other one


@pytest.fixture
def both_find_no_job(monkeypatch):
    """A reader who finds no job waits until the other has found none either, or until the time is up."""
    gate, find = threading.Barrier(2), jobs.same_job

    def found(*words):
        job = find(*words)
        if job is None:
            try:
                gate.wait(timeout=AT_ONCE_S)
            except threading.BrokenBarrierError:
                pass  # the other one waits for what this one stores
        return job

    monkeypatch.setattr(jobs, "same_job", found)


def programme():
    actor = factories.person()
    native = factories.stock_lot(actor=actor, plants=900, taxon=factories.taxon(role="native"))
    lots = [factories.stock_lot(actor=actor, plants=900) for _ in range(5)]
    for ease in (0, 3, 6):
        planting = planting_on(factories.site())
        for lot, alive in zip(lots, (4, 8, 12, 15, 18), strict=True):
            counted(planting, lot, 30, alive + ease)
        counted(planting, native, 20, 4, role="check")


def signed_in(role):
    client = Client()
    client.force_login(factories.person(role))
    return client


def read(client):
    return client.get(reverse("survival_lineages"), {"level": "lot"})


def test_two_first_readers_at_once_get_one_job_and_one_model(fits, both_find_no_job):
    programme()
    readers = [signed_in("lead"), signed_in("coordinator")]
    first = at_once(read, readers)
    assert [(page.status_code, page.context["found"].method) for page in first] == [(200, AWAITED)] * 2
    assert all("The model is being worked out" in page.content.decode() for page in first)
    assert Job.objects.count() == AuditEntry.objects.filter(verb="job.asked_for").count() == 1
    work_off()
    later = at_once(read, readers)
    assert [page.context["found"].method for page in later] == [MODEL] * 2
    assert later[0].context["found"] == later[1].context["found"]
    assert (len(fits), StoredAnswer.objects.count(), Job.objects.count()) == (1, 1, 1)
