"""Tallies counted by an earlier edition of the definitions are counted again when the tables are migrated."""

import pytest
from django.core.management import call_command

from plantings.models import CauseTally, RoundProgress, SurvivalTally
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.census.tallies import plantings_to_recount
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def planting():
    planting = factories.planting()
    trees = factories.trees(planting, count=10)
    factories.observe(factories.census_round(planting, 1), dict(zip(trees, ["A"] * 8 + ["D", "NF"], strict=True)))
    return planting


def test_records_of_an_older_edition_are_counted_again(planting):
    # as a book of the edition before: no progress, no causes, nothing without hindsight
    RoundProgress.objects.all().delete()
    CauseTally.objects.all().delete()
    SurvivalTally.objects.update(alive_then=0, assessed_then=0)
    assert recount_differences()[1]
    call_command("migrate", verbosity=0)
    assert recount_differences()[1] == []
    assert RoundProgress.objects.get().assessed == 10


def test_tallies_of_today_are_left_alone(planting):
    before = list(SurvivalTally.objects.values_list("pk", flat=True))
    assert not plantings_to_recount().exists()
    call_command("migrate", verbosity=0)
    assert list(SurvivalTally.objects.values_list("pk", flat=True)) == before


@pytest.mark.parametrize("name", ["assessed", "countable", "unsettled", "ended"])
def test_the_recount_finds_progress_that_is_wrong(planting, name):
    RoundProgress.objects.update(**{name: 77})
    [line] = recount_differences()[1]
    assert planting.code in line[0] and "77" in line[1]


def test_the_recount_finds_causes_that_are_wrong(planting):
    CauseTally.objects.update(trees=5)
    [line] = recount_differences()[1]
    assert line[1:] == ("5", "1")


def test_the_recount_corrects_tallies_on_request(planting, capsys):
    factories.person("lead")
    CauseTally.objects.update(trees=5)
    planting.trees.update(fate="dead")
    with pytest.raises(SystemExit):
        call_command("recount")
    assert len(recount_differences()[1]) > 1
    call_command("recount", "--correct")
    assert recount_differences()[1] == []
    assert f"1 planting corrected: {planting.code}." in capsys.readouterr().err
