"""Records of a future day, or of a day before the planting, are refused."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from plantings.imports.census import CensusSheet
from plantings.imports.counts import PlotCountSheet
from plantings.models import Observation, PlotCount
from plantings.services.census.observations import CensusRefused, CensusRow, observation_correct, observations_record
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.trees import counted_plot_add
from tests import factories
from tests.registry.sheets.sheet_help import refused

pytestmark = pytest.mark.django_db

WRONG_DAYS = [(datetime.date(2162, 9, 20), "has not come yet"), (datetime.date(1, 1, 1), "before")]


def a_round(**fields):
    planting = factories.planting(**fields)
    factories.trees(planting, factories.stock_lot(plants=10), 3)
    return factories.census_round(planting)


def a_plot():
    planting = factories.planting()
    lot = factories.stock_lot(plants=100)
    plot = counted_plot_add(actor=factories.person(), planting=planting, lot=lot, code="D1", planted_count=100)
    return factories.census_round(planting), plot


@pytest.mark.parametrize(("on", "words"), WRONG_DAYS)
def test_no_tree_is_seen_on_a_day_that_cannot_be(on, words):
    census_round = a_round()
    trees = list(census_round.planting.trees.all())
    rows = [CensusRow(census_round.pk, tree.pk, status="D", observed_on=on) for tree in trees]
    with pytest.raises(CensusRefused) as error:
        observations_record(actor=factories.person(), rows=rows)
    assert len(error.value.problems) == 3 and words in str(error.value)
    assert not Observation.objects.exists()
    factories.observe(census_round, dict.fromkeys(trees, "A"))
    record = Observation.objects.first()
    with pytest.raises(CensusRefused):
        observation_correct(actor=factories.person(), observation=record, reason="mistyped", observed_on=on)
    assert Observation.objects.count() == 3


def test_the_preview_of_a_census_sheet_says_so_too():
    census_round = a_round()
    tag = census_round.planting.trees.first().tag
    rows = f"Planting,Season,Tag,Status,Observed on\n{census_round.planting.code},{census_round.label},{tag},D,2162-09-20\n"
    [problem] = refused(CensusSheet, rows)
    assert "Observed on" in problem and "has not come yet" in problem


@pytest.mark.parametrize(("on", "words"), [*WRONG_DAYS, (datetime.date(1990, 5, 1), "before planting")])
def test_no_plot_is_counted_on_a_day_that_cannot_be(on, words):
    census_round, plot = a_plot()
    with pytest.raises(ValidationError) as error:
        plot_count_record(actor=factories.person(), census_round=census_round, plot=plot, alive=40, observed_on=on)
    assert words in error.value.message_dict["observed_on"][0].replace("Check the year", "before")
    [problem] = refused(
        PlotCountSheet,
        f"Planting,Season,Plot,Alive (count),Observed on\n{plot.planting.code},{census_round.label},D1,40,{on.isoformat()}\n",
    )
    assert "row 2" in problem.lower()
    assert not PlotCount.objects.exists()


def test_a_plot_count_from_before_the_planting_is_refused(client):
    census_round, plot = a_plot()
    client.force_login(factories.person("coordinator"))
    url = reverse("census_counts", args=[census_round.pk])
    page = client.get(url)
    [(_plot, form, _counts)] = page.context["grid"].lines
    data = {"observed_on": "1990-05-01", "observer": "A", f"p{plot.pk}-uuid": str(form["uuid"].value()), f"p{plot.pk}-alive": "100"}
    answer = client.post(url, data)
    assert answer.status_code == 200 and "before planting" in answer.content.decode()
    assert not PlotCount.objects.exists()
    client.post(url, data | {"observed_on": timezone.localdate().isoformat()})
    assert PlotCount.objects.get().alive == 100
