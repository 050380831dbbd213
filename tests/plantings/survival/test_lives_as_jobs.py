"""Life tables so large that a job works them out: plain ones meanwhile, and the same figures from the job and from the request."""

import dataclasses
import json
import random

import pytest
from django.urls import reverse

from plantings.calc.lifetimes.lineage_lives import AWAITED, lineage_lives
from plantings.calc.lifetimes.lives_values import about_tallies, lives_values, read_lives, tallies_sha256
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import NATIVE
from plantings.calc.survival.tallies import Tally
from plantings.selectors.survival import models
from registry.models import Job, StoredAnswer
from registry.prints.stored import canonical_json
from registry.services.jobs.jobs import job_cancel
from tests import factories
from tests.jobs import work_off
from tests.plantings.survival.survival_examples import count_again, counted, planting_on


def tally(lineage, site, age, alive, *, standard="", planted=20):
    counts = Counts(planted=planted, alive=alive, dead=planted - alive)
    role = "check" if standard else "test"
    return Tally((lineage,), role, site, f"P-{site}", lineage, standard, False, True, list(counts))


def by_age(missed=()):
    """Two lineages and a native check on three sites at three ages; at the sites `missed` nobody counted at age 2."""
    found = {1: [], 2: [], 3: []}
    for number, site in enumerate(("S1", "S2", "S3")):
        for lineage, standard, left in (("A", "", (18, 17, 15)), ("B", "", (15, 12, 8)), ("wild", NATIVE, (14, 9, 4))):
            for age, alive in zip((1, 2, 3), left, strict=True):
                if not (age == 2 and site in missed):
                    found[age].append(tally(lineage, site, age, alive - number, standard=standard))
    return found


@pytest.mark.parametrize("missed", [(), ("S2",)])
def test_stored_life_tables_are_read_back_as_they_were(missed):
    lives = lineage_lives(by_age(missed))
    stored = canonical_json(lives_values(lives))
    assert read_lives(json.loads(stored)) == lives and lives.lineages[0].test is not None


def test_the_hash_of_tallies_is_of_what_they_say_in_any_order():
    mixed = {age: random.Random(4).sample(tallies, len(tallies)) for age, tallies in by_age().items()}
    assert tallies_sha256(mixed) == tallies_sha256(by_age())
    assert tallies_sha256(by_age(("S2",))) != tallies_sha256(by_age())
    # 27 cells of 20 trees; alive on S1 are 18 + 17 + 15, 15 + 12 + 8 and 14 + 9 + 4, in each of the nine cells one less on S2, two on S3
    assert about_tallies(by_age()) == {"lineages": 2, "sites": 3, "trees": 540, "alive": 3 * (50 + 35 + 27) - 9 * (1 + 2)}
    other = by_age()
    other[3][0] = tally("A", "S1", 3, 14)
    assert tallies_sha256(other) != tallies_sha256(by_age())


def test_plain_life_tables_have_the_curves_without_gaps_and_no_test():
    whole, plain = lineage_lives(by_age()), lineage_lives(by_age(), is_plain=True)
    for one, meanwhile in zip(whole.lineages, plain.lineages, strict=True):
        assert (meanwhile.steps, meanwhile.check, meanwhile.trees) == (one.steps, one.check, one.trees)
        assert (meanwhile.test, meanwhile.hazard.ratio, meanwhile.reason) == (None, None, AWAITED)
    assert all(one.gaps and one.steps == () for one in lineage_lives(by_age(("S2",)), is_plain=True).lineages)


@pytest.fixture
def page(client, db, monkeypatch):
    """Two lots and a native check on three sites at two ages; every table is large."""
    monkeypatch.setattr(models, "TALLIES_AT_ONCE", 0)
    lead = factories.person("lead")
    client.force_login(lead)
    native = factories.stock_lot(actor=lead, plants=900, taxon=factories.taxon(role="native"))
    lots = [factories.stock_lot(actor=lead, plants=900) for _ in range(2)]
    for _site in range(3):
        planting = planting_on(factories.site())
        for lot, one, two, role in ((lots[0], 27, 24, "test"), (lots[1], 20, 12, "test"), (native, 18, 9, "check")):
            plot = counted(planting, lot, 30, one, role=role)
            count_again(plot, 2, two, dead=30 - two)
    return lambda route="survival_lifetimes", **query: client.get(reverse(route), {"level": "lot"} | query)


def lives_of(response):
    return [dataclasses.replace(one, label=str(one.label)) for one, _picture, _sentence in response.context["panels"]]


def test_the_page_draws_curves_and_a_bar_until_the_tests_are_there(page, monkeypatch):
    meanwhile = page()
    text = meanwhile.content.decode()
    assert "drawn-curve" in text and "job-bar" in text and "The tests of these lineages are being worked out" in text
    assert all(one.steps and one.test is None for one in lives_of(meanwhile)) and "Needed:" not in text
    work_off()
    assert (Job.objects.get().state, Job.objects.get().error) == ("done", "")
    by_job = page()
    monkeypatch.setattr(models, "TALLIES_AT_ONCE", 5_000)
    in_request = page()
    assert lives_of(by_job) == lives_of(in_request) and all(one.test for one in lives_of(by_job))
    assert by_job.context["ledger"] == in_request.context["ledger"] and "job-bar" not in by_job.content.decode()


def test_files_programs_and_drafts_wait_for_life_tables_too(page):
    assert page(download="csv").status_code == 202 and page("api_lifetimes").status_code == 202
    assert "job-bar" in page("issuedreport_draft", year=2026).content.decode()
    work_off()
    assert page(download="csv").status_code == 200 and len(page("api_lifetimes").json()["rows"]) == 2
    assert page("issuedreport_draft", year=2026).context["parts"] and Job.objects.count() == 1


def test_life_tables_are_cancelled_between_lineages(page, monkeypatch):
    page()
    whole = lineage_lives

    def cancelled_meanwhile(tallies, *, is_plain=False, say=None):
        job_cancel(actor=Job.objects.get().asked_by, job=Job.objects.get())
        monkeypatch.setattr("registry.services.jobs.running.SAY_EVERY", 0)
        whole(tallies, say=say)
        pytest.fail("It went on to the end.")

    monkeypatch.setattr(models, "lineage_lives", cancelled_meanwhile)
    work_off()
    assert Job.objects.get().state == "cancelled" and not StoredAnswer.objects.exists()
