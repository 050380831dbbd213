"""A load whose records were corrected can be withdrawn once each correction was taken back; every figure is as before the load."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from plantings.choices import ReviewState
from plantings.imports.withdrawing import load_hindrances
from plantings.models import Observation, Planting, PlotCount, Tree
from plantings.services.census.observations import observation_correct
from plantings.services.census.reviews import records_review
from registry.models import Rating, SeedTest, WithdrawnRow
from tests import factories
from tests.plantings.loads import row_loads
from tests.plantings.loads.test_withdrawing import load as load_sheet
from tests.plantings.loads.test_withdrawn_census import figures, is_clean, load, withdraw
from tests.plantings.loads.test_withdrawn_rows import figures as row_figures

pytestmark = pytest.mark.django_db
SAID = {"reason": "the list of the crew"}
ALIVE, DEAD, MISSING = ([("H11a", "2020", state)] for state in ("alive", "dead", "missing"))


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def test_a_load_goes_after_the_load_that_corrected_it(client, lead):
    empty = figures(client, lead)
    first = load(lead, ALIVE)
    second = load(lead, DEAD, **SAID)
    with pytest.raises(ValidationError, match="1 record was corrected after the load, the first: H/H11a"):
        withdraw(lead, first)
    withdraw(lead, second)
    page = client.get(reverse("load_withdraw", args=[first.pk])).content.decode()
    assert "It cannot be withdrawn" not in page and "Withdraw the load</button>" in page
    withdraw(lead, first)
    assert figures(client, lead) == empty and is_clean()
    again = load(lead, ALIVE)
    assert again.counts == first.counts and Observation.objects.counting().get().status == "A" and is_clean()


def test_three_loads_that_correct_each_other_go_in_turn(client, lead):
    load(lead, [("H11b", "2020", "alive")])
    before = figures(client, lead)
    found = [load(lead, rows, **SAID) for rows in (ALIVE, DEAD, MISSING)]
    for one in found[:2]:
        with pytest.raises(ValidationError, match="corrected after the load"):
            withdraw(lead, one)
    for one in reversed(found):
        withdraw(lead, one)
    assert figures(client, lead) == before and is_clean()


def test_what_the_loads_corrected_is_as_it_was_before_them(client, lead):
    load(lead, MISSING)
    before = figures(client, lead)
    found = [load(lead, rows, **SAID) for rows in (ALIVE, DEAD)]
    for one in reversed(found):
        withdraw(lead, one)
    assert figures(client, lead) == before and is_clean() and Observation.objects.current().get().status == "NF"


def of_tree(lead):
    """A load with the record of a tree that was on file before it."""
    load(lead, [("H11a", "2021", "alive")])
    return load(lead, ALIVE), Observation.objects.get(round__label="2020")


def corrected(lead, record, status, cause=""):
    return observation_correct(actor=lead, observation=record, status=status, cause=cause, reason="read again")


def test_a_correction_on_screen_that_is_taken_back_hinders_nothing(client, lead):
    found, record = of_tree(lead)
    once = corrected(lead, record, "D", "unknown")
    assert any("1 record was corrected after the load" in hindrance.words for hindrance in load_hindrances(found))
    corrected(lead, once, "A")
    assert load_hindrances(found) == []
    withdraw(lead, found)
    assert not Observation.objects.current().filter(round__label="2020").exists() and is_clean()


def test_a_correction_that_was_rejected_hinders_nothing(client, lead):
    found, record = of_tree(lead)
    once = corrected(lead, record, "D", "unknown")
    records_review(actor=lead, state=ReviewState.REJECTED, observations=[once], reason="another tree")
    withdraw(lead, found)
    assert not Observation.objects.current().filter(round__label="2020").exists() and is_clean()
    load(lead, ALIVE)
    again = Observation.objects.current().get(round__label="2020")
    assert again.status == "A" and again.supersedes is None


def test_a_load_in_effect_that_says_the_same_stays(client, lead):
    """Without the first load the third would have stored its record too."""
    first = load(lead, ALIVE)
    second, third = load(lead, DEAD, **SAID), load(lead, ALIVE, **SAID)
    for one in (first, second):
        with pytest.raises(ValidationError, match="corrected after the load"):
            withdraw(lead, one)
    for one in (third, second, first):
        withdraw(lead, one)
    assert not Planting.objects.exists() and is_clean()


def test_rejected_records_of_a_withdrawn_load_do_not_keep_their_tree(client, lead):
    empty = figures(client, lead)
    first = load(lead, ALIVE)
    second = load(lead, [("H11a", "2021", "dead")])
    with pytest.raises(ValidationError, match="a record of the kind “observation” rests on it"):
        withdraw(lead, first)
    withdraw(lead, second)
    withdraw(lead, first)
    assert figures(client, lead) == empty and is_clean() and not Tree.objects.exists()
    for name in ("today", "trace", "planting_list"):
        assert client.get(reverse(name), {"q": "H11a"}).status_code == 200


def test_a_review_does_not_keep_the_load_that_brought_the_planting(lead):
    found = load(lead, ALIVE)
    records_review(actor=lead, state=ReviewState.ACCEPTED, observations=Observation.objects.all())
    withdraw(lead, found)
    assert not Planting.objects.exists() and is_clean()


def test_a_load_goes_whose_rejected_record_is_of_a_withdrawn_tree(client, lead):
    trees = load(lead, ALIVE)
    later = load(lead, [("H11a", "2021", "dead"), ("R11a", "2020", "alive")])
    seen = Observation.objects.filter(round__label="2021")
    records_review(actor=lead, state=ReviewState.REJECTED, observations=seen, reason="another tree")
    withdraw(lead, later)
    withdraw(lead, trees)
    assert not Tree.objects.exists() and is_clean()


def test_counts_of_plots_go_after_their_correction(lead):
    factories.stock_lot(actor=lead, plants=40, code="L")
    planting = factories.planting(code="P", supply="own_stock")
    load_sheet(lead, "counted_plot", "Planting,Plot,Lot,Planted (count)\nP,D1,L,10\n")
    census = factories.census_round(planting)
    head, day = "Planting,Season,Plot,Alive (count),Observed on\n", census.opens_on.isoformat()
    found = [load_sheet(lead, "plot_count", f"{head}P,{census.label},D1,{alive},{day}\n", **SAID) for alive in (7, 5, 3)]
    for one in reversed(found):
        withdraw(lead, one)
    assert not PlotCount.objects.current().exists() and is_clean()
    again = load_sheet(lead, "plot_count", f"{head}P,{census.label},D1,7,{day}\n")
    assert again.counts["new"] == 1 and PlotCount.objects.current().get().alive == 7


@pytest.fixture
def orchard(lead):
    return row_loads.orchard_of(lead)


@pytest.mark.parametrize("scores", [("4", "1"), ("4", "1", "2.25")])
def test_ratings_go_after_their_correction(client, lead, orchard, scores):
    before = row_figures(client, lead)
    found = [row_loads.load(lead, "rating", row_loads.rating(score)) for score in scores]
    for one in reversed(found):
        withdraw(lead, one)
    assert row_figures(client, lead) == before and not Rating.objects.exists() and row_loads.is_clean()
    assert {row.load for row in WithdrawnRow.objects.all()} == {found[0]}
    row_loads.load(lead, "rating", row_loads.rating(scores[0]))
    assert str(float(Rating.objects.get().score)) == str(float(scores[0])) and row_loads.is_clean()


# seeds that the tests used up, one sheet after the other; a test with another number draws again
DRAWN = [(10, 30), (10, 0), (0, 10), (10, 10), (10, 30, 10), (30, 0, 20)]


@pytest.mark.parametrize("earlier", [None, 10, 20, 0])
@pytest.mark.parametrize("drawn", DRAWN)
def test_seeds_of_tests_are_as_before_their_loads(client, lead, orchard, earlier, drawn):
    if earlier is not None:
        row_loads.load(lead, "seed_test", row_loads.float_test(3, drawn=earlier))
    before = row_figures(client, lead)
    found = [row_loads.load(lead, "seed_test", row_loads.float_test(7 + step, drawn=seeds)) for step, seeds in enumerate(drawn)]
    for one in reversed(found):
        withdraw(lead, one)
        assert row_loads.is_clean()
    assert row_figures(client, lead) == before
    assert SeedTest.objects.filter(superseded_by=None).exists() == (earlier is not None)


def test_a_decision_on_a_correction_keeps_the_load(lead, orchard):
    first = row_loads.load(lead, "rating", row_loads.rating("4"))
    withdraw(lead, row_loads.load(lead, "rating", row_loads.rating("1")))
    last = Rating.objects.get(superseded_by=None)
    factories.decision(last.tree, actor=lead, ratings=[last])
    with pytest.raises(ValidationError, match="a record of the kind “selection decision” rests on it"):
        withdraw(lead, first)
