"""A measurement by site and lineage: which values enter a row, and the page with its download."""

import csv
import io
import math

import pytest
from django.urls import reverse

from plantings.calc.census.measurements import CANKER, HEIGHT
from plantings.calc.survival.measured import MeasuredGroup, measured_rows, spread_of
from plantings.choices import ReviewState
from plantings.models import Observation
from plantings.selectors.survival.measured import measured_table
from plantings.selectors.survival.rounds import SurvivalFilter
from plantings.services.census.observations import observation_correct
from plantings.services.census.reviews import records_review
from tests import factories


def test_mean_and_deviation_of_a_published_sample():
    """Anscombe 1973, American Statistician 27:17-21, the x of his first three sets: mean 9, sum of squares 110, n 11 (from memory)."""
    spread = spread_of(dict.fromkeys(map(float, range(4, 15)), 1))
    assert (spread.n, spread.mean, spread.lowest, spread.highest) == (11, 9, 4, 14)
    assert math.isclose(spread.deviation, math.sqrt(11)) and spread_of({5.0: 1}).deviation is None


def test_a_row_adds_up_the_trees_of_its_entries_and_sites():
    groups = [
        MeasuredGroup(("L",), "test", "", False, site, site, code, trees) for site, code, trees in (("S", 0, 2), ("T", 0, 1), ("T", 2, 1))
    ]
    [row] = measured_rows(CANKER, groups)
    assert (row.n, row.sites, row.classes, row.share(0), row.share(1)) == (4, 2, {0: 3, 2: 1}, 0.75, 0)


def test_intervals_know_the_sites():
    """Means 10, 20, 30 of two trees each: t over three sites, worked out by hand; shares as `share_over_sites` and Wilson's."""
    values = [(site, mean + side) for site, mean in (("S", 10), ("T", 20), ("U", 30)) for side in (-1.0, 1.0)]
    [row] = measured_rows(HEIGHT, [MeasuredGroup(("L",), "test", "", False, site, site, value, 1) for site, value in values])
    half = 4.302653 * 10 / math.sqrt(3)  # t of 2 degrees of freedom at 0.975; SD of the site means 10
    assert row.mean_interval == pytest.approx((20 - half, 20 + half))
    groups = [MeasuredGroup(("L",), "test", "", False, "S", "S", code, trees) for code, trees in ((0, 182), (2, 81))]
    [row] = measured_rows(CANKER, groups)
    assert row.share_interval(2) == pytest.approx((0.255289, 0.366210), abs=1e-6)  # Newcombe 1998, Table I, 81/263
    [two] = measured_rows(CANKER, [*groups, *(group._replace(site="T") for group in groups)])
    assert two.share_interval(2)[0] < two.share(2) < two.share_interval(2)[1] and two.n == 526


@pytest.fixture
def here(db):
    lead = factories.person("lead")
    own = factories.own_measurement(actor=lead, code="leaf_spot").definition
    protocol = factories.protocol(["height", own.field], actor=lead)
    planting = factories.planting()
    trees = factories.trees(planting, count=6)
    census_round = factories.census_round(planting, protocol=protocol)
    for tree, height in zip(trees, (100, 110, 120, 140), strict=False):
        factories.observe(census_round, {tree: "A"}, actor=lead, height_cm=height, own_values={own.field: height // 70})
    factories.observe(census_round, {trees[4]: "D"}, actor=lead, cause="deer", height_cm=999)
    factories.observe(census_round, {trees[5]: "AR"}, actor=lead)
    return lead, census_round, trees, own


def rows(lead, item):
    return measured_table(lead, item, ("site",), "lot", None, SurvivalFilter()).rows


def test_only_the_last_record_that_counts_of_a_living_tree_enters(here):
    lead, census_round, trees, own = here
    [row] = rows(lead, HEIGHT)
    assert (row.n, row.spread.mean, row.spread.highest) == (4, 117.5, 140)
    [row] = rows(lead, own)
    assert row.classes == {1: 3, 2: 1}
    observation_correct(actor=lead, observation=Observation.objects.get(tree=trees[3]), reason="misread", height_cm=130)
    factories.observe(census_round, {trees[0]: "A"}, actor=lead, height_cm=104)  # a second crew, later
    records_review(actor=lead, observations=Observation.objects.filter(tree=trees[1]), state=ReviewState.REJECTED, reason="other tree")
    [row] = rows(lead, HEIGHT)
    assert (row.n, row.spread.mean) == (3, (104 + 120 + 130) / 3)


def test_the_page_shows_a_measurement_and_downloads_what_it_shows(client, here):
    lead, _round, _trees, own = here
    client.force_login(lead)
    address, asked = reverse("survival_measured"), {"measure": own.field, "by": "site"}
    page = client.get(address, asked).content.decode()
    assert "3 of 4" in page and "1 some leaves" in page
    assert "118 (" in client.get(address, {"by": "site"}).content.decode()
    sheet = client.get(address, asked | {"download": "csv"}).content.decode("utf-8-sig")
    [line] = csv.DictReader(io.StringIO(sheet))
    assert (line["Trees"], line["0 none"], line["1 some leaves"], line["2 most leaves"]) == ("4", "0.0", "0.75", "0.25")
    assert "No tree recorded alive" in client.get(address, {"measure": "dieback_percent"}).content.decode()
    assert client.get(address, {"measure": "nothing"}).status_code == 400
