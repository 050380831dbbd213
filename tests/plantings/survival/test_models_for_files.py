"""Files, prints, drafts and programs that need a large model wait for its job and say so; a command fits it itself."""

import jsonschema
import pytest
from django.urls import reverse

from plantings.calc.lineages.compare import MODEL
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.lineages import lineage_comparison
from registry.models import Job
from tests import factories
from tests.jobs import work_off
from tests.plantings.survival.model_examples import page, programme
from tests.plantings.survival.survival_examples import counted, planting_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("fits")]


def test_programs_are_told_to_come_back_and_where_to_look(client, lead):
    programme()
    description = client.get(reverse("api_openapi")).json()
    answers_of = description["paths"]["/lineages"]["get"]["responses"]
    schema = answers_of["202"]["content"]["application/json"]["schema"] | {"components": description["components"]}
    answer = page(client, "api_lineages")
    found = answer.json()
    jsonschema.Draft202012Validator(schema).validate(found)
    assert (answer.status_code, answer["Retry-After"], found["state"], found["earlier"]) == (202, "10", "waiting", None)
    assert client.get(found["task"]).json() == found
    assert "/models/{question}" in description["paths"]
    work_off()
    assert client.get(found["task"]).json()["state"] == "done"
    answer = page(client, "api_lineages")
    assert answer.status_code == 200 and answer.json()["method"] == MODEL and len(answer.json()["rows"]) == 5


def test_a_program_gets_no_model_of_earlier_records(client, lead):
    planting, lots = programme()
    page(client, "api_lineages")
    work_off()
    counted(planting, lots[0], 30, 30)
    found = page(client, "api_lineages")
    assert found.status_code == 202 and found.json()["earlier"] and Job.objects.count() == 2


def test_a_file_is_not_made_without_its_model(client, lead):
    programme()
    answer = page(client, download="csv")
    assert answer.status_code == 202 and answer.content.decode().startswith("The model of these figures is not there yet.")
    assert Job.objects.count() == 1
    work_off()
    assert page(client, download="csv").status_code == 200


def test_a_draft_waits_for_its_model_and_then_can_be_issued(client, lead):
    programme()
    draft = page(client, "issuedreport_draft", year=2026)
    assert "job-bar" in draft.content.decode() and "parts" not in draft.context
    work_off()
    draft = page(client, "issuedreport_draft", year=2026)
    assert draft.context["parts"] and draft.context["issue_url"]
    assert page(client).context["found"].method == MODEL and Job.objects.count() == 1  # the page asks the same question


def test_an_evidence_print_without_its_model_says_so(client, lead):
    mother = factories.pedigree_tree(code="M-1")
    actor = factories.person()
    native = factories.stock_lot(actor=actor, plants=900, taxon=factories.taxon(role="native"))
    mothers = (mother, *(factories.pedigree_tree() for _ in range(4)))
    seeds = [factories.seed_lot(actor=actor, mother=one) for one in mothers]
    lots = [factories.stock_lot(actor=actor, plants=200, origin="sown", outside_origin="", parent=seed, taxon=seed.taxon) for seed in seeds]
    for ease in (0, 3, 6):
        planting = planting_on(factories.site())
        for lot, alive in zip(lots, (4, 8, 12, 15, 18), strict=True):
            counted(planting, lot, 30, alive + ease)
        counted(planting, native, 20, 4, role="check")
    listed = client.get(reverse("results_mothers")).content.decode()
    assert "By their codes, until the model is there" in listed and "job-bar" in listed
    shown = client.get(reverse("pedigreetree_roguing", args=[mother.pk])).content.decode()
    assert "The model of these records is missing" in shown and "Place by" not in shown
    work_off()
    assert "is missing" not in client.get(reverse("pedigreetree_roguing", args=[mother.pk])).content.decode()


def test_a_command_waits_for_the_model_itself(lead, fits):
    programme()
    assert lineage_comparison(lead, "lot", None, SurvivalFilter()).comparison.method == MODEL
    assert len(fits) == 1 and not Job.objects.exists()
