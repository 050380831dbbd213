"""Whoever reads a figure learns that nobody has reviewed some records behind it, on whatever page the figure is. Counted by hand."""

import csv
import datetime
import io
import json

import pytest
from django.urls import reverse

from plantings.choices import ReviewState
from plantings.models import Observation
from plantings.selectors.survival.roguing import roguing_document
from plantings.services.census.reviews import records_review
from plantings.views.land.one_page import one_page
from plantings.views.survival.filtered import DESK
from registry.services.people.programme import programme_setting_save
from tests import factories
from tests.plantings.survival.survival_examples import planting_on

pytestmark = pytest.mark.django_db
WORDS = "12 records of the censuses behind these figures are not reviewed yet, and counted all the same."
PAGES = {name: reverse(name) for name in (*(name for name, _words, _action in DESK), "results", "results_mothers", "map")}
PAGES["one lineage"] = reverse("survival_lineage") + "?level=lot&lineage=OURS"
PAGES["the map as a file"] = reverse("map_file")
SHEETS = ("survival_lineages", "survival_lifetimes", "survival_by_site", "survival_growth", "survival_measured", "results_mothers")
BEHIND = ["Unread records behind the table", "Unread records counted"]
API = ("survival", "lineages", "lifetimes", "growth", "measurements", "data")


@pytest.fixture
def lead(client):
    """Eight trees under test and four native checks, all recorded with a height by somebody of the crew; the lead is signed in."""
    lead, volunteer = factories.person("lead"), factories.person("volunteer")
    planting = planting_on(factories.site(code="FALLS"), crew=[volunteer])
    native = factories.stock_lot(taxon=factories.taxon(role="native"), generation_other="native")
    trees = factories.trees(planting, factories.stock_lot(code="OURS"), 8)
    trees += factories.trees(planting, native, 4, role="check", row=2)
    census_round = factories.census_round(planting, 1)
    factories.observe(
        census_round, dict.fromkeys(trees, "A"), actor=volunteer, height_cm={tree: 60 + number for number, tree in enumerate(trees)}
    )
    client.force_login(lead)
    return lead


def accept():
    records_review(actor=factories.person(), observations=Observation.objects.all(), state=ReviewState.ACCEPTED)


def said(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    return WORDS.rstrip(".") in answer.content.decode()


@pytest.mark.parametrize("address", PAGES.values(), ids=PAGES)
def test_every_page_of_results_says_what_is_not_reviewed(client, lead, address):
    assert said(client, address)
    accept()
    assert not said(client, address)


@pytest.mark.parametrize("name", API)
def test_every_answer_to_a_program_says_it_in_numbers(client, lead, name):
    def answer():
        return json.loads(client.get(f"/api/1/{name}").content)

    found = answer()
    assert (found["unread_records"], found["unread_counted"]) == (12, True)
    accept()
    assert answer()["unread_records"] == 0


@pytest.mark.parametrize("name", SHEETS)
def test_every_row_of_a_downloaded_table_says_it(client, lead, name):
    factories.pedigree_tree(orchard="NORTH", status="standing")  # a mother to list

    def ends():
        sheet = client.get(PAGES[name], {"download": "csv"}).content.decode("utf-8-sig")
        heads, *rows = csv.reader(io.StringIO(sheet))
        assert rows and heads[-2:] == BEHIND
        return {tuple(row[-2:]) for row in rows}

    assert ends() == {("12", "yes")}
    programme_setting_save(actor=lead, key="complete_percent", value="1", owner="The lead", set_on=datetime.date(2026, 1, 15))
    records_review(actor=lead, observations=Observation.objects.all()[:1], state=ReviewState.ACCEPTED)
    programme_setting_save(actor=lead, key="unread_count", value="no", owner="The lead", set_on=datetime.date(2026, 1, 15))
    assert ends() == {("11", "no")}
    accept()
    assert ends() == {("0", "no")}


def test_where_they_do_not_count_the_pages_say_that(client, lead):
    """One is accepted; the other eleven are behind the figure and not in it."""
    records_review(actor=lead, observations=Observation.objects.all()[:1], state=ReviewState.ACCEPTED)
    programme_setting_save(actor=lead, key="unread_count", value="no", owner="The lead", set_on=datetime.date(2026, 1, 15))
    programme_setting_save(actor=lead, key="complete_percent", value="1", owner="The lead", set_on=datetime.date(2026, 1, 15))
    page = client.get(PAGES["map"]).content.decode()
    assert "11 records of the censuses behind these figures are not reviewed yet, and not counted." in page


def test_the_prints_say_it_too(client, lead):
    made = {"scan": "", "made_on": datetime.date(2026, 11, 30), "made": "by the lead"}
    assert WORDS in str(roguing_document(factories.pedigree_tree(), user=lead, **made).parts)
    partner = Observation.objects.first().tree.planting.site.partner
    landowner = factories.person("landowner", partner=partner)
    assert WORDS in str(one_page(landowner, datetime.date(2026, 11, 30)).parts)
