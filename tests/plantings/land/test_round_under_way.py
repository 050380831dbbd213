"""A round that a crew has begun and not finished: nowhere do the trees it has not visited yet read as lost."""

import datetime
import re

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from plantings.models import CensusRound, Planting
from plantings.selectors.census.rounds import rounds_listed
from plantings.selectors.land.land import land_plantings
from plantings.selectors.plantings.plantings import last_round_words, plantings_listed
from registry.services.land.links import link_make
from tests import factories

pytestmark = pytest.mark.django_db


def shown(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", response.content.decode()))


@pytest.fixture
def begun():
    """Eight trees under test and four of a buffer. 2019: ten alive, two dead, one of each. Today's round has three of them: one is dead."""
    lead = factories.person("lead")
    owner = factories.person("landowner", partner=factories.partner())
    planting = factories.planting(site=factories.site(partner=owner.partner))
    lot = factories.stock_lot(actor=lead, plants=20)
    trees = [*factories.trees(planting, lot, 8, actor=lead), *factories.trees(planting, lot, 4, row=2, role="buffer", actor=lead)]
    first = factories.census_round(planting, label="first autumn")
    factories.observe(first, dict(zip(trees, "AAAAAAADAAAD", strict=True)), actor=lead)
    today = timezone.localdate()
    opens_on, closes_on = today - datetime.timedelta(days=3), today + datetime.timedelta(days=30)
    second = factories.census_round(planting, 2, label="second autumn", opens_on=opens_on, closes_on=closes_on)
    factories.observe(second, dict(zip(trees, "AAD", strict=False)), actor=lead)
    return lead, owner, planting, second


def test_the_landowner_reads_the_last_complete_visit(begun):
    lead, owner, planting, second = begun
    _link, token = link_make(actor=lead, person=owner)
    page = shown(Client().get(reverse("land_page", args=[token])))
    for words in (
        "At the last complete visit, first autumn:",
        "10 alive",
        "2 dead",
        "A visit since then is not complete and not counted here.",
    ):
        assert words in page
    assert "not visited" not in page
    client = Client()
    client.force_login(lead)
    page = shown(client.get(reverse("partner_one_page", args=[owner.partner.pk])))
    assert "12 10 first autumn; a later visit, last on" in page
    assert f"{planting.code} at the last complete visit, first autumn" in page and "10 alive, 2 dead" in page
    # once everybody is recorded the second round counts
    rest = planting.trees.in_walk_order()[3:]
    factories.observe(second, dict(zip(rest, "AAAADAAAD", strict=True)), actor=lead)
    [item] = land_plantings(owner, timezone.localdate())
    assert (item.under_way, dict(item.fates)) == (False, {"alive": 9, "dead": 3})


def test_a_first_visit_under_way_is_no_number_of_living_trees():
    lead = factories.person("lead")
    owner = factories.person("landowner", partner=factories.partner())
    planting = factories.planting(site=factories.site(partner=owner.partner))
    trees = factories.trees(planting, factories.stock_lot(actor=lead, plants=20), 12, actor=lead)
    today = timezone.localdate()
    factories.observe(factories.census_round(planting, opens_on=today, closes_on=today), {trees[0]: "A"}, actor=lead)
    [item] = land_plantings(owner, today)
    assert (item.under_way, item.complete_round) == (True, None)
    client = Client()
    client.force_login(lead)
    assert "12 – nothing recorded not complete, last on" in shown(client.get(reverse("partner_one_page", args=[owner.partner.pk])))


def test_lists_and_maps_say_that_the_last_round_is_not_complete(begun, client):
    lead, _owner, planting, second = begun
    # of eight test trees one was dead before and three are recorded; the four of the buffer are in no figure
    assert [item.unvisited for item in rounds_listed(CensusRound.objects.order_by("opens_on"))] == [0, 4]
    [listed] = plantings_listed(Planting.objects.all())
    assert (listed.alive_count, last_round_words(listed)) == (10, "second autumn, not complete")
    client.force_login(lead)
    page = shown(client.get(reverse("planting_detail", args=[planting.pk])))
    assert "Marks show the fate at the last round, second autumn, which is not complete." in page
    film = shown(client.get(reverse("planting_film", args=[planting.pk])))
    assert film.count("census not complete") == 1 and "2 growing seasons census not complete" in film
    factories.observe(second, dict.fromkeys(list(planting.trees.in_walk_order())[3:], "A"), actor=lead)
    assert "Marks show the fate at the last round." in shown(client.get(reverse("planting_detail", args=[planting.pk])))
