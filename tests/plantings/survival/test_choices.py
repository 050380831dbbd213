"""The choices of the survival desk: one list for all pages of results, each choice in the address."""

import re

import pytest
from django.urls import reverse

from plantings.forms.survival.choices import SurvivalChoices
from plantings.views.survival.filtered import DESK
from tests import factories
from tests.people import everyone
from tests.plantings.survival.survival_examples import counted, planting_on

pytestmark = pytest.mark.django_db

PAGES = [name for name, _words, _action in DESK]


@pytest.fixture
def two_sites(client):
    """FALLS, fenced, in Vermont with a B3F3 lot; POND in New York, without protection, with an F1 lot; a native check on both."""
    lead = factories.person("lead")
    client.force_login(lead)
    sites = [
        factories.site(code="FALLS", jurisdiction="US-VT", protection="Fence 2.4 m since 2020-04-20"),
        factories.site(code="POND", jurisdiction="US-NY"),
    ]
    lots = [factories.stock_lot(backcrosses=3, intercrosses=2), factories.stock_lot(backcrosses=0, intercrosses=0)]
    native = factories.stock_lot(taxon=factories.taxon(role="native"), generation_other="native")
    for site, lot in zip(sites, lots, strict=True):
        planting = planting_on(site)
        counted(planting, lot, 20, 12)
        counted(planting, native, 20, 4, role="check")
    return lead


def sites_of(client, **query):
    return {row.keys[0] for row in client.get(reverse("survival"), {"by": "site", "role": "test", **query}).context["table"].rows}


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ({"site": "FALLS, pond"}, {"FALLS", "POND"}), ({"site": "POND"}, {"POND"}), ({"jurisdiction": "us-ny"}, {"POND"}),
        ({"protection": "fence"}, {"FALLS"}), ({"protection": "none"}, {"POND"}), ({"generation": "BC3F3"}, {"FALLS"}),
        ({"cause": "drought"}, set()), ({"review": "unread"}, {"FALLS", "POND"}), ({"review": "accepted"}, set()),
    ],
)  # fmt: skip
def test_each_choice_limits_the_figures(client, two_sites, query, expected):
    assert sites_of(client, **query) == expected


def test_a_cause_chooses_the_plantings_where_trees_died_of_it(client, two_sites):
    planting = factories.planting(site=factories.site(code="RIDGE"))
    trees = factories.trees(planting, count=3)
    when = factories.census_round(planting, 1)
    factories.observe(when, {trees[0]: "A", trees[1]: "A"})
    factories.observe(when, {trees[2]: "D"}, cause="drought")
    assert sites_of(client, cause="drought") == {"RIDGE"}
    assert sites_of(client, cause="canker") == set()


@pytest.mark.parametrize("name", PAGES)
def test_a_census_with_unread_records_is_left_out_with_the_reason(client, two_sites, name):
    table = client.get(reverse(name), {"review": "accepted", "site": "FALLS"}).context["table"]
    assert [(left.site, left.reason) for left in table.left_out] == [("FALLS", "records that nobody has accepted")]


@pytest.mark.parametrize("name", PAGES)
def test_every_page_takes_the_shared_choices_and_hands_them_on(client, two_sites, name):
    query = {"site": "FALLS", "protection": "fence", "generation": "B3F3", "review": "unread", "level": "lot"}
    response = client.get(reverse(name), query)
    assert response.status_code == 200
    table = response.context["table"]
    assert {left.site for left in table.left_out} | set(getattr(table, "site_names", ())) <= {"FALLS"}
    others = [url for url, _words in response.context["other_pages"]][:-1]
    assert {url.split("?")[0] for url in others} == {reverse(other) for other in PAGES if other != name}
    assert all(all(f"{key}=" in url for key in query) for url in others)
    assert set(response.context["filters"].fields) & set(query) == set(query) <= set(SurvivalChoices.base_fields)


def test_a_box_offers_sites_as_somebody_types_and_lists_none_before(client, two_sites):
    response = client.get(reverse("survival_lifetimes"))
    assert "FALLS" not in response.content.decode().split('<form class="filters"')[1].split("</form>")[0]
    assert [line["code"] for line in client.get(reverse("survival"), {"offer": "site", "fits": "fa"}).json()["offers"]] == ["FALLS"]
    assert client.get(reverse("survival"), {"offer": "jurisdiction", "fits": "vt"}).json()["offers"] == [
        {"code": "US-VT", "words": "US-VT"}
    ]
    client.force_login(everyone()["landowner"])
    assert client.get(reverse("survival"), {"offer": "site", "fits": "fa"}).json() == {"offers": [], "more": False}


@pytest.mark.parametrize("name", PAGES)
def test_how_each_number_is_made_is_one_click_away(client, two_sites, name):
    html = client.get(reverse(name), {"level": "lot"}).content.decode()
    assert '<a href="#how">How each number is made</a>' in html
    part = html.split('id="how"')[1].split("</section>")[0]
    assert re.search(r"\b(1[89]|20)\d\d\b.*Definition of this programme|Σ|\((\D+ )?(1[89]|20)\d\d\)", part)
