"""A planting over its rounds: what each position was, in marks and in words, on the page and on paper."""

import re

import numpy as np
import pytest
from django.urls import reverse

from plantings.choices import TreeFate
from plantings.selectors.plantings import film
from plantings.selectors.plantings.film import FilmRound, PlantingFilm, planting_film
from plantings.services.trees import TreeAsPlanted, tree_replace, trees_plant
from plantings.views.plantings.film_picture import CANKERED, FATE, HEIGHT, film_frames
from registry.templatetags.shapes import drawn
from tests import factories
from tests.prints.reading import page_texts


@pytest.fixture
def here(client):
    """Six trees in two blocks and three rounds: one dies, one is lost and seen again, one has no position and one is replaced."""
    lead = factories.person("lead")
    owner = factories.person("landowner", partner=factories.partner())
    planting, lot = factories.planting(site=factories.site(partner=owner.partner)), factories.stock_lot(actor=lead)
    places = [("1", 1, 1), ("1", 1, 2), ("1", 1, 3), ("2", 1, 1), ("2", 1, 2), ("2", None, None)]
    trees_plant(actor=lead, planting=planting, trees=[TreeAsPlanted(f"T{n}", lot, "test", *place) for n, place in enumerate(places)])
    trees = list(planting.trees.in_walk_order())
    for season, codes in ((1, "AAAAAA"), (2, ["A", "NF", "A", "D", "A", "A"]), (3, ["A", "A", "AR", "D", "NF", "A"])):
        item = factories.census_round(planting, season=season)
        factories.observe(item, dict(zip(trees, codes, strict=True)), actor=lead)
    tree_replace(actor=lead, tree=trees[3], tag="R1", planted_on=factories.day(2022, 5), lot=lot)
    return lead, owner, planting


@pytest.mark.django_db
def test_each_round_has_the_fates_that_the_figures_use(here, client, django_assert_num_queries):
    lead, owner, planting = here
    with django_assert_num_queries(4):
        found = planting_film(planting, lead)
    assert (len(found.places), found.unplaced, found.replacements) == (5, 1, 1)
    assert [frame.summary for frame in film_frames(found, FATE)] == [
        "5 alive", "4 alive, 1 dead", "2 alive, 1 alive by resprout, 1 dead, 1 not found",
    ]  # fmt: skip
    client.force_login(owner)
    client.cookies["mastbook_language"] = "fr"
    html = client.get(reverse("planting_film", args=[planting.pk])).content.decode()
    assert html.count('<svg class="drawn"') == 3 + 4 and "1 mort" in html
    assert re.findall(r'="[^"]*\d,\d', html) == []


@pytest.mark.django_db
def test_one_round_is_a_map_and_is_not_called_a_film(here, client):
    lead, _owner, _planting = here
    client.force_login(lead)
    other = factories.planting()
    factories.observe(factories.census_round(other), dict.fromkeys(factories.trees(other, count=3), "A"), actor=lead)
    page = client.get(reverse("planting_film", args=[other.pk]))
    assert page.context["title"] == f"{other.code} at its one round so far, by fate" and len(page.context["frames"]) == 1


@pytest.mark.django_db
def test_the_print_has_the_maps_and_their_words(here, client):
    lead, _owner, planting = here
    client.force_login(lead)
    address = reverse("planting_film", args=[planting.pk])
    texts = " ".join(" ".join(page_texts(client.get(address, {"print": "letter"}).content)).split())
    for words in ("block 2", "4 alive, 1 dead", "Planted later as replacements, and not on the map: 1 tree.", "page 1 of"):
        assert words in texts
    assert client.get(address, {"show": "age"}).status_code == client.get(address, {"print": "a9"}).status_code == 404


@pytest.mark.django_db
def test_a_large_planting_is_shown_by_block(here, client, monkeypatch):
    lead, _owner, planting = here
    monkeypatch.setattr("plantings.views.plantings.film.FILM_TREES_MAX", 5)
    client.force_login(lead)
    address = reverse("planting_film", args=[planting.pk])
    page = client.get(address)
    assert page.context["frames"] == [] and f"{address}?block=2" in page.content.decode()
    assert [frame.summary for frame in client.get(address, {"block": "2"}).context["frames"]][1] == "1 alive, 1 dead"


def test_maps_of_a_thousand_trees_at_ten_rounds_stay_under_300_kb():
    random = np.random.default_rng(17)
    fates = random.choice([TreeFate.ALIVE, TreeFate.DEAD, TreeFate.NOT_FOUND], (10, film.FILM_TREES_MAX), p=[0.6, 0.3, 0.1])
    places = tuple((str(number // 50), number % 50 // 10, number % 10) for number in range(film.FILM_TREES_MAX))
    heights = tuple(random.uniform(10, 400, film.FILM_TREES_MAX).round().tolist())
    cankers = tuple(random.integers(0, 5, film.FILM_TREES_MAX).tolist())
    rounds = tuple(FilmRound("2020 autumn", 1, True, tuple(map(TreeFate, line)), heights, cankers) for line in fates.tolist())
    found = PlantingFilm(places, rounds, 0, 0)
    for shown in (FATE, HEIGHT, CANKERED):
        frames = film_frames(found, shown)
        assert sum(len(drawn(frame.picture)) for frame in frames) < 290_000
        assert len({frame.summary for frame in frames}) > 1
    assert "to 400 cm" in film_frames(found, HEIGHT)[0].summary or "to 399 cm" in film_frames(found, HEIGHT)[0].summary
