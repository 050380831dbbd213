"""Programmes whose truth is known: what the site says of them, beside that truth."""

import csv
import io

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from plantings.calc.survival.census_choice import AGE, CensusChoice
from plantings.imports.demo.simulated.lives import draw_planting
from plantings.imports.demo.simulated.truth import DONOR, NATIVE, Size, Wrong, draw_truth
from plantings.models import Observation
from plantings.selectors.survival.lineages import lineage_comparison
from plantings.selectors.survival.survival import SurvivalFilter, survival_rows
from registry.models import Partner, Person
from tests import factories
from tests.simulation.loaded import differences, options, small

ROUNDS = 3
SMALL = ["--sites=4", "--plantings=5", "--lineages=6", "--lots=9", "--entries=5", "--trees=70", f"--rounds={ROUNDS}", "--seed=7"]


def simulate(folder, *more):
    """Text of the command, and truth.csv as {(lineage, season): row}."""
    out = io.StringIO()
    call_command("simulate", str(folder), *SMALL, *more, stdout=out)
    with (folder / "truth.csv").open(newline="") as file:
        return out.getvalue(), {(row["lineage"], int(row["growing_seasons"])): row for row in csv.DictReader(file)}


def lineages_on_the_page(season):
    table = survival_rows(Person.objects.get(), by=("lineage",), level="source", moment=CensusChoice(AGE, season))
    names = {"native": NATIVE, "donor": DONOR}
    return {names.get(row.standard) or row.keys[0]: row for row in table.rows}


@pytest.mark.django_db
def test_where_nothing_is_missed_the_page_counts_the_trees_truly_alive(tmp_path):
    text, truth = simulate(tmp_path / "new", "--load", "--missing=0", "--vanishing=0", "--late=0.3")
    assert "are loaded" in text and Observation.objects.count() == 5 * 70 * ROUNDS
    for season in range(1, ROUNDS + 1):
        shown = lineages_on_the_page(season)
        assert {name: (row.counts.alive + row.counts.resprout, row.n) for name, row in shown.items()} == {
            name: (int(row["truly_alive"]), int(row["planted"])) for (name, at), row in truth.items() if at == season
        }


@pytest.mark.django_db
def test_trees_not_found_once_widen_the_band_and_the_band_holds_the_truth(tmp_path):
    """Once: a tree that two rounds do not find is presumed dead, and a living one may be among those."""
    _text, truth = simulate(tmp_path / "new", "--load", "--missing=0.2", "--vanishing=0.4", "--rounds=1")
    wide = 0
    for name, row in lineages_on_the_page(1).items():
        true = int(truth[name, 1]["truly_alive"]) / int(truth[name, 1]["planted"])
        assert row.band_low <= true <= row.band_high
        wide += row.band_high - row.band_low > 0.1
    assert wide > 4


@pytest.mark.django_db
def test_lineages_that_differ_much_are_put_in_their_true_order(tmp_path):
    big = ["--sites=8", "--plantings=8", "--trees=120", "--entries=9", "--lineage-sd=1.2"]
    call_command("simulate", str(tmp_path / "new"), *SMALL, *big, "--load", stdout=io.StringIO())
    truth = draw_truth(Size(8, 8, 6, 9, 9, 120, ROUNDS), Wrong(lineage_sd=1.2), 7)
    ranked = lineage_comparison(Person.objects.get(), "source", CensusChoice(AGE, ROUNDS), SurvivalFilter()).comparison.ranked
    values = [truth.values[truth.names.index(row.label)] for row in ranked]
    assert len(values) == 6 and np.corrcoef(np.argsort(np.argsort(values)), np.arange(6)[::-1])[0, 1] > 0.8


@pytest.mark.django_db
def test_a_loaded_programme_has_the_intervals_of_one_in_memory(tmp_path):
    truth = small(3)
    call_command("simulate", str(tmp_path / "new"), *options(truth, 3), "--load", stdout=io.StringIO())
    number, apart = differences(truth, 3)
    assert number > 120 and apart < 1e-9


def test_true_survival_is_the_share_of_very_many_trees():
    truth = draw_truth(Size(sites=1, plantings=1, lineages=2, lots=2, entries=2, trees=200_000, rounds=4), Wrong(frailty_sd=0.8), 3)
    drawn = draw_planting(truth, 0, 3)
    for lineage in range(4):
        trees = drawn.alive[drawn.lineages == lineage]
        error = 4 * np.sqrt(0.25 / len(trees))  # four standard errors of a share at most
        assert np.abs(trees.mean(axis=0) - truth.survival_on(0)[lineage]).max() < error


def test_true_heights_and_cankers_are_those_of_very_many_trees():
    size = Size(sites=1, plantings=1, lineages=2, lots=2, entries=2, trees=100_000, rounds=3)
    truth = draw_truth(size, Wrong(growth_sd=0.1, pressure_sd=1.0), 4)
    drawn = draw_planting(truth, 0, 4)
    for lineage in range(4):
        own = drawn.lineages == lineage
        # SD of a tree: a fifth of the growth of 38 cm a season, over three seasons, and a sum of 25,000 trees
        expected = 40 + 38 * 3 * (1 + truth.growth[lineage, 0])
        assert abs(drawn.height_cm[own, 2].mean() - expected) < 4 * 0.2 * 38 * 3 / np.sqrt(own.sum())
        clear = (drawn.canker[own] == 0).mean(axis=0)
        assert np.abs(clear - truth.clear_on(0)[lineage]).max() < 4 * np.sqrt(0.25 / own.sum())


def test_true_cankers_over_all_sites_are_the_mean_of_very_many():
    truth = draw_truth(Size(sites=20_000, plantings=20_000, lineages=1, lots=1, entries=1, trees=3, rounds=2), Wrong(pressure_sd=1.0), 4)
    each = np.array([truth.clear_on(site) for site in range(20_000)])
    assert np.abs(each.mean(axis=0) - truth.clear_anywhere()).max() < 4 * each.std(axis=0).max() / np.sqrt(20_000)


def test_trees_missing_at_random_are_as_often_dead_as_alive():
    size = Size(sites=1, plantings=1, lineages=1, lots=1, entries=1, trees=100_000, rounds=1)
    at_random, dead_more = (
        draw_planting(draw_truth(size, Wrong(unlocated=0.1, unlocated_dead=dead), 6), 0, 6) for dead in (0.1, 0.3)
    )  # fmt: skip
    for drawn, dead in ((at_random, 0.1), (dead_more, 0.3)):
        missed, lives = drawn.status[:, 0] == "NL", drawn.alive[:, 0]
        assert abs(missed[lives].mean() - 0.1) < 0.006 and abs(missed[~lives].mean() - dead) < 0.02


def test_a_planting_is_the_same_whichever_others_are_drawn():
    truth = draw_truth(Size(), Wrong(errors=0.1), 5)
    again = draw_planting(draw_truth(Size(), Wrong(errors=0.1), 5), 3, 5)
    assert (draw_planting(truth, 3, 5).status == again.status).all()
    assert (draw_planting(truth, 3, 6).status != again.status).any()
    assert set(np.unique(again.status)) == {"A", "D", "NF"}


@pytest.mark.django_db
def test_records_are_never_mixed_with_simulated_ones(tmp_path):
    factories.person("lead")
    with pytest.raises(CommandError, match="Nothing was changed"):
        call_command("simulate", str(tmp_path / "new"), "--load")
    assert not (tmp_path / "new").exists() and not Partner.objects.exists()


@pytest.mark.parametrize(
    ("option", "words"),
    [
        ("--sites=30", "Give as many plantings as sites"), ("--entries=40", "fewer entries, or more lots"), ("--trees=3", "Give more trees"),
        ("--missing=1.5", "Give a share from 0 to below 1"), ("--missing=nan", "Give a share"), ("--seed=-1", "Give 0 or a larger number"),
        ("--lots=2", "as many lots as lineages"), ("--rounds=0", "Give 1 or more"), ("--site-sd=-1", "Give a number from 0 to 5"),
        ("--rounds=200", "Give at most"),
    ],
)  # fmt: skip
def test_a_programme_that_cannot_be_is_refused_before_anything_is_written(tmp_path, option, words):
    with pytest.raises(CommandError, match=words):
        call_command("simulate", str(tmp_path / "new"), option)
    assert not (tmp_path / "new").exists()


def test_a_folder_that_is_there_is_left_alone(tmp_path):
    with pytest.raises(CommandError, match="is already there. Nothing was written"):
        call_command("simulate", str(tmp_path))
    assert list(tmp_path.iterdir()) == []
