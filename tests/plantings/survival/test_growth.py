"""The page of growth: which records it reads, its picture and its download."""

import csv
import io

import pytest
from django.urls import reverse

from plantings.selectors.survival import models
from registry.models import Job
from tests import factories
from tests.jobs import work_off
from tests.plantings.survival.survival_examples import planting_on

pytestmark = pytest.mark.django_db


@pytest.fixture
def get(client):
    """Two trees of a lot and two native checks on each of three sites, measured once, and a dead tree with a height."""
    lead = factories.person("lead")
    client.force_login(lead)
    lot = factories.stock_lot(actor=lead, plants=90, code="LOT-A")
    native = factories.stock_lot(actor=lead, plants=90, taxon=factories.taxon(role="native"))
    for number in range(3):
        planting = planting_on(factories.site())
        trees = factories.trees(planting, lot, 3, actor=lead)
        checks = factories.trees(planting, native, 2, actor=lead, role="check", row=2)
        census_round = factories.census_round(planting, 2)
        for tree, height in zip([*trees[:2], *checks], (120, 124, 100, 104), strict=True):
            factories.observe(census_round, {tree: "A"}, actor=lead, height_cm=height + 10 * number, diameter_mm=9 + number)
        factories.observe(census_round, {trees[2]: "D"}, actor=lead, cause="deer", height_cm=999)
    return lambda **query: client.get(reverse("survival_growth"), {"level": "lot", **query})


def test_growth_is_drawn_and_told_from_the_living_trees(get):
    response = get()
    text = response.content.decode()
    assert text.count('<svg class="drawn"') == 1 and text.count("drawn-lineage-dot") == text.count("drawn-check-dot") == 1
    assert "LOT-A: 132 cm (" in text and "after 2 growing seasons, 6 trees on 3 sites. From the native check: +20.0 (" in text
    rows = list(csv.DictReader(io.StringIO(get(download="csv").content.decode("utf-8-sig"))))
    assert [(row["Lineage"], row["Trees"], float(row["Mean"])) for row in rows] == [("LOT-A", "6", 132.0), ("native checks", "6", 112.0)]


def test_a_line_joins_the_dots_of_three_ages_and_no_fewer(client):
    client.force_login(factories.person("lead"))
    planting = planting_on(factories.site())
    trees = factories.trees(planting, factories.stock_lot(plants=90), 3)
    drawn = []
    for season in (1, 2, 3):
        factories.observe(factories.census_round(planting, season), dict.fromkeys(trees, "A"), height_cm=40 * season)
        text = client.get(reverse("survival_growth"), {"level": "lot"}).content.decode()
        drawn.append((text.count("drawn-lineage-dot"), text.count('class="drawn-lineage"')))
    assert drawn == [(1, 0), (2, 0), (3, 1)]


def test_the_measurement_and_the_sites_are_in_the_address(get):
    assert "LOT-A: 10.0 mm" in get(measure="diameter_mm").content.decode()
    assert "No tree of a lineage under test" in get(site=factories.site().code).content.decode()
    assert get(measure="canker_class").status_code == 400 and get(measure="diameter_at_cm").status_code == 400


def test_large_models_of_growth_are_fitted_by_a_job(get, client, monkeypatch):
    monkeypatch.setattr(models, "CELLS_AT_ONCE", 0)
    meanwhile = get().content.decode()
    assert "job-bar" in meanwhile and "no model (it is being worked out); means of the trees" in meanwhile and "LOT-A: 132 cm" in meanwhile
    assert get(download="csv").status_code == 202
    assert client.get(reverse("api_growth"), {"level": "lot"}).status_code == 202
    work_off()
    assert (Job.objects.get().state, Job.objects.get().error) == ("done", "")
    by_job = get()
    monkeypatch.setattr(models, "CELLS_AT_ONCE", 5_000)
    in_request = get()
    assert by_job.context["table"].growth == in_request.context["table"].growth and "job-bar" not in by_job.content.decode()
    assert client.get(reverse("api_growth"), {"level": "lot"}).status_code == 200
