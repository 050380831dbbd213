"""A large model is fitted by a job: the page says so until it is there, and what it gave is kept."""

import signal
import subprocess
import sys

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from plantings.calc.lineages import model_answer
from plantings.calc.lineages.compare import AWAITED, MODEL
from plantings.selectors.survival import models
from registry.disk.faults import BUSY
from registry.models import Job, StoredAnswer
from registry.selectors.jobs.jobs import SIGN_OF_LIFE
from registry.services.audit.busy import Busy
from registry.services.jobs import answers
from registry.services.jobs.jobs import RESTORED, job_cancel, jobs_stop
from tests import factories
from tests.jobs import work_off
from tests.places import PROJECT
from tests.plantings.survival.model_examples import labels, page, programme
from tests.plantings.survival.survival_examples import counted, planting_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("fits")]


def test_a_page_shows_proportions_and_a_bar_and_fits_nothing(client, lead, fits):
    _planting, lots = programme()
    response = page(client)
    found, text = response.context["found"], response.content.decode()
    assert fits == [] and found.method == AWAITED
    assert labels(response) == [lot.code for lot in lots]  # by code: the last lives best
    assert all(one.shrunk is None and one.row.difference.low is not None for one in found.ranked)
    assert '<progress class="job-bar"' in text and "The model is being worked out" in text and "drawn-estimate" in text
    assert "the lineages are listed by name" in text
    assert Job.objects.get().title == "Model of lineages, by lot, alive after 1 growing season"


def test_the_job_gives_the_same_figures_as_the_request(client, lead, fits, monkeypatch):
    programme()
    page(client)
    work_off()
    by_job = page(client)
    assert len(fits) == 1 and by_job.context["found"].method == MODEL and "The model is being worked out" not in by_job.content.decode()
    assert labels(by_job) == sorted(labels(by_job), reverse=True)
    monkeypatch.setattr(models, "WORK_AT_ONCE", 1_000_000)
    in_request = page(client)
    assert len(fits) == 2 and in_request.context["found"] == by_job.context["found"]
    assert in_request.context["ledger"] == by_job.context["ledger"]


def test_two_people_who_ask_get_one_job_and_one_model(client, lead, fits):
    programme()
    page(client)
    client.force_login(factories.person("coordinator"))
    text = page(client).content.decode()
    job = Job.objects.get()
    assert reverse("model_now", args=[job.given["question"]]) in text and reverse("job_detail", args=[job.pk]) not in text
    assert client.get(reverse("model_now", args=[job.given["question"]])).json()["moving"]
    work_off()
    assert page(client).context["found"].method == MODEL and len(fits) == 1


def test_a_landowner_has_a_model_of_their_own_rows_and_sees_no_other(client, lead):
    owner = factories.person("landowner", partner=factories.partner())
    programme(owner.partner)
    programme()
    page(client)
    question = Job.objects.get().given["question"]
    client.force_login(owner)
    client.cookies["mastbook_language"] = "fr"
    text = page(client).content.decode()
    assert "Le modèle est en cours de calcul" in text and "The model" not in text and "job-bar" in text
    assert Job.objects.count() == 2 and client.get(reverse("model_now", args=[question])).status_code == 404
    assert client.get(reverse("api_model", args=[question])).status_code == 404
    work_off()
    assert len(page(client).context["found"].ranked) == 5
    client.force_login(lead)
    assert len(page(client).context["found"].ranked) == 10


def test_an_earlier_model_is_marked_as_of_its_day_until_somebody_asks(client, lead, fits):
    planting, lots = programme()
    page(client)
    work_off()
    first = page(client).context["found"]
    newer = factories.stock_lot(actor=lead, plants=900)
    for part in (planting, planting_on(factories.site())):
        counted(part, newer, 30, 20)
        counted(part, lots[0], 30, 30)
    counted(part, factories.stock_lot(actor=lead, plants=900, taxon=factories.taxon(role="native")), 20, 4, role="check")
    response = page(client)
    text = response.content.decode()
    assert len(fits) == 1 and Job.objects.count() == 1  # looking starts nothing while there is an earlier model
    assert "The model is of earlier records" in text and "Work the model out again" in text and "Records that they rest on changed" in text
    # then 3 sites × (4 + 8 + 12 + 15 + 18 + 5 × ease of 0, 3 and 6) + 3 × 4 checks = 228; now 20 + 30 more twice, and 4 checks
    assert "228 of 510 trees alive in 5 lineages on 3 sites" in text and "332 of 650 trees alive in 6 lineages on 4 sites" in text
    shown = {one.label: one.shrunk for one in response.context["found"].ranked}
    assert shown.pop(newer.code) is None and shown == {one.label: one.shrunk for one in first.ranked}
    assert client.post(f"{reverse('survival_lineages')}?level=lot").status_code == 302
    assert "job-bar" in page(client).content.decode() and Job.objects.count() == 2
    work_off()
    now = page(client)
    assert "earlier records" not in now.content.decode() and all(one.shrunk for one in now.context["found"].ranked)
    assert StoredAnswer.objects.count() == 1


def test_a_page_is_shown_while_nothing_can_be_saved(client, lead, monkeypatch):
    def busy(**_given):
        raise Busy(BUSY)

    programme()
    monkeypatch.setattr("registry.services.jobs.answers.job_ask", busy)
    text = page(client).content.decode()
    assert "drawn-estimate" in text and "The model is not there" in text and "Work the model out</button>" in text


def test_looking_again_does_not_undo_that_somebody_cancelled_it(client, lead):
    programme()
    page(client)
    job_cancel(actor=lead, job=Job.objects.get())
    text = page(client).content.decode()
    assert Job.objects.count() == 1 and "somebody cancelled it" in text and "Work the model out</button>" in text
    client.post(f"{reverse('survival_lineages')}?level=lot")
    work_off()
    assert page(client).context["found"].method == MODEL


def test_it_is_cancelled_in_the_middle_of_a_fit_and_stores_nothing(client, lead, monkeypatch):
    programme()
    page(client)
    fit = model_answer.lineage_fit

    def cancelled_meanwhile(cells, say):
        say()
        job_cancel(actor=lead, job=Job.objects.get())
        monkeypatch.setattr("registry.services.jobs.running.SAY_EVERY", 0)
        fit(cells, say)
        pytest.fail("It went on to the end of the fit.")

    monkeypatch.setattr(model_answer, "lineage_fit", cancelled_meanwhile)
    work_off()
    assert Job.objects.get().state == "cancelled" and not StoredAnswer.objects.exists()


def test_a_restored_book_keeps_the_model_and_asks_before_it_works(client, lead, fits):
    """What a backup had of models is true of the records it came with; what waited does not run by itself."""
    planting, lots = programme()
    page(client)
    work_off()
    counted(planting, lots[0], 30, 30)
    client.post(f"{reverse('survival_lineages')}?level=lot")
    jobs_stop(RESTORED)
    work_off()
    text = page(client).content.decode()
    assert len(fits) == 1 and "Nothing of it was stored" in text and "The model is of earlier records" in text


def test_whoever_sees_other_rows_by_then_gets_no_model(client, lead):
    owner = factories.person("landowner", partner=factories.partner())
    programme(owner.partner)
    page(client)
    lead.role, lead.partner = "landowner", owner.partner
    lead.save()
    work_off()
    assert "sees other records by now" in Job.objects.get().error and not StoredAnswer.objects.exists()


def test_only_so_many_answers_are_kept(monkeypatch):
    monkeypatch.setattr(answers, "ANSWERS_MOST", 2)
    for number in range(4):
        answers.answer_store(question=str(number), rests_sha256="", values=None, about={})
    assert [answer.question for answer in StoredAnswer.objects.all()] == ["3", "2"]


def test_today_names_a_model_until_its_page_was_seen(client, lead):
    programme()
    page(client)
    work_off()
    assert Job.objects.get().seen_at is None
    page(client)
    assert Job.objects.get().seen_at <= timezone.now()


# A worker of its own, that is killed in the middle of the fit, as when somebody pulls the plug.
WORKER = """
import os, signal, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "registry.settings"
import django
django.setup()
from django.db import connection
connection.settings_dict["NAME"] = sys.argv[1]
from plantings.calc.lineages import model_answer
from plantings.selectors.survival import models
from registry.services.jobs.worker import JobWorker

fit, looks = model_answer.lineage_fit, []

def die(cells, say):
    def look():
        say()
        looks.append(1)
        if len(looks) == 20:
            os.kill(os.getpid(), signal.SIGKILL)
    return fit(cells, look)

models.WORK_AT_ONCE = 0
if sys.argv[2] == "dies":
    model_answer.lineage_fit = die
JobWorker(batch=True).run()
"""


@pytest.mark.django_db(transaction=True)
def test_a_worker_killed_in_the_middle_of_a_fit_leaves_nothing(client, lead):
    programme()
    page(client)

    def run(how):
        arguments = [sys.executable, "-c", WORKER, str(connection.settings_dict["NAME"]), how]
        return subprocess.run(arguments, cwd=PROJECT, capture_output=True, text=True, timeout=240)

    killed = run("dies")
    assert killed.returncode == -signal.SIGKILL, killed.stderr
    job = Job.objects.get()
    assert (job.state, job.step, job.done, StoredAnswer.objects.exists()) == ("running", "Fitting the model", 1, False)
    Job.objects.update(sign_of_life_at=timezone.now() - 2 * SIGN_OF_LIFE)
    text = page(client).content.decode()
    assert "The last start did not come to its end" in text and "Work the model out</button>" in text and Job.objects.count() == 1
    client.post(f"{reverse('survival_lineages')}?level=lot")
    done = run("goes on")
    assert done.returncode == 0, done.stderr
    assert page(client).context["found"].method == MODEL and StoredAnswer.objects.count() == 1
