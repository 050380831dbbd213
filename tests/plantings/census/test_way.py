"""The way to a site and whom to call: a place opens in the phone's map, a number dials."""

import pytest
from django.urls import reverse

from tests import factories

pytestmark = pytest.mark.django_db
GEO, COPY = 'href="geo:44.50000,-73.20000"', "44.50000,-73.20000"


@pytest.fixture
def visit():
    volunteer = factories.person("volunteer")
    planting = factories.planting(crew=[volunteer])
    tree = factories.trees(planting, count=2)[0]
    return volunteer, factories.census_round(planting), tree


def pages(census_round, tree):
    yield reverse("census_tree", args=[census_round.pk, tree.pk])
    yield reverse("census_grid", args=[census_round.pk])
    yield reverse("round_detail", args=[census_round.pk])


def test_the_crew_opens_the_place_in_a_map_and_calls_somebody(client, visit):
    volunteer, census_round, tree = visit
    factories.person("lead", phone="555-0199")
    factories.person("coordinator", phone="(802) 555-0100", first_name="Ada", last_name="Brook")
    client.force_login(volunteer)
    for address in pages(census_round, tree):
        page = client.get(address).content.decode()
        assert GEO in page and COPY in page.replace(GEO, ""), address
        assert '<a href="tel:8025550100">(802) 555-0100</a>' in page, address
        assert "555-0199" not in page  # the coordinator comes first


def test_the_lead_is_called_where_no_coordinator_has_a_telephone(client, visit):
    volunteer, census_round, tree = visit
    factories.person("lead", phone="555-0199")
    client.force_login(volunteer)
    assert '<a href="tel:5550199">' in client.get(next(pages(census_round, tree))).content.decode()


def test_a_generalised_place_opens_no_map(client, visit):
    _volunteer, census_round, _tree = visit
    site = census_round.planting.site
    client.force_login(factories.person("manager"))
    for address in (reverse("site_detail", args=[site.pk]), reverse("round_detail", args=[census_round.pk])):
        page = client.get(address).content.decode()
        assert "geo:" not in page and COPY not in page


def test_the_page_of_a_site_opens_the_map_and_dials_the_partner_and_crew(client):
    crew = factories.person("volunteer", phone="+1 (0) 802 555 0111")
    site = factories.site(partner=factories.partner(phone="555 0122", contact_name="A. Owner"))
    factories.planting(site=site, crew=[crew])
    client.force_login(factories.person("coordinator"))
    page = client.get(reverse("site_detail", args=[site.pk])).content.decode()
    assert GEO in page and COPY in page.replace(GEO, "")
    assert 'href="tel:+18025550111"' in page
    assert 'href="tel:5550122"' in page


def test_a_site_without_a_point_opens_no_map(client):
    site = factories.site(longitude=None, latitude=None)
    client.force_login(factories.person("coordinator"))
    assert "geo:" not in client.get(reverse("site_detail", args=[site.pk])).content.decode()
