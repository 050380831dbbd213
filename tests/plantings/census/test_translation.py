"""Everything a volunteer reads of a census goes through Django's translation. Every translated text is marked here, and what is left is
compared with the names and codes of the records."""

import html
import re

import pytest
from django.urls import reverse

from plantings.calc.census.codes import CAUSES_OF_DEATH, REMOVAL_REASONS
from plantings.calc.census.measurements import MEASUREMENTS
from plantings.services.trees import counted_plot_add
from tests import factories
from tests.plantings.census.test_census_grid import filled
from tests.prints.reading import page_texts

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]  # which words go through translation is the same on both

# What stays in every language: the codes, the units, and the names of this test's records and file sizes.
CODES = {str(code) for codes in (CAUSES_OF_DEATH, REMOVAL_REASONS, *(item.classes for item in MEASUREMENTS)) for code, *_ in codes}
NAMES = {"autumn", "Tom", "Okafor", "Falls", "Road", "FALLS", "STOCK", "ONE", "Sep", "Oct", "Nov"}
# The name of the product, and the other language in its own word.
FRAME = {"Mastbook", "Français"}


@pytest.fixture
def walk(client):
    volunteer = factories.person("volunteer", first_name="Tom", last_name="Okafor")
    site = factories.site(name="Falls Road", code="FALLS", cautions="Πηγάδι")
    planting = factories.planting(code="PL-1", site=site, crew=[volunteer])
    trees = factories.trees(planting, factories.stock_lot(code="STOCK-1"), 3)
    counted_plot_add(actor=factories.person("lead"), planting=planting, code="D1", lot=factories.seed_lot(code="ONE"), planted_count=9)
    client.force_login(volunteer)
    return factories.census_round(planting, 1), trees


def left_over(text):
    """The words of a text that did not go through translation."""
    while re.search(r"\[[^\[\]]*\]", text):
        text = re.sub(r"\[[^\[\]]*\]", " ", text)
    return {word for word in re.findall(r"[A-Za-zÀ-ÿ_]{3,}", text) if word not in CODES | NAMES}


@pytest.mark.parametrize("route", ["today", "census_tree", "census_grid", "census_counts", "field_form"])
def test_every_word_of_the_entry_pages_goes_through_translation(client, walk, marked, route):
    census_round, trees = walk
    args = {"today": [], "census_tree": [census_round.pk, trees[0].pk]}.get(route, [census_round.pk])
    answer = client.get(reverse(route, args=args))
    page = answer.content.decode()
    text = html.unescape(re.sub(r"<[^>]+>", " ", page[page.index("<body") : page.index("</body>")]))
    assert len(re.findall(r"\[", text)) > 10
    assert left_over(text) - {"English"} == FRAME  # the choice of the form’s language


def test_every_word_of_the_field_form_goes_through_translation(client, walk, marked):
    census_round, _trees = walk
    answer = client.post(reverse("field_form", args=[census_round.pk]), {"page": "letter", "trees": "all", "last": "on"})
    text = " ".join(" ".join(page_texts(answer.content)).split())
    assert "[Height]" in text
    assert left_over(text) == {"Mastbook"}


def test_messages_and_errors_of_the_grid_go_through_translation(client, walk, marked):
    census_round, trees = walk
    rows = {
        trees[0]: {"status": "Q", "height_cm": "14x", "canker_class": "9", "dieback_percent": "1.5"},
        trees[1]: {"height_cm": "7000"},
        trees[2]: {"status": "NF", "height_cm": "7000", "cause": "r", "browse_class": "x"},
    }
    url = reverse("census_grid", args=[census_round.pk])
    errors = [message for *_where, message in client.post(url, filled(client, census_round, rows)).context["grid"].errors]
    assert len(errors) >= 8 and [message for message in errors if left_over(message)] == []
    page = client.post(url, filled(client, census_round, {trees[0]: {"status": "A", "height_cm": "40"}}), follow=True)
    assert [left_over(str(message)) for message in page.context["messages"]] == [set()]
