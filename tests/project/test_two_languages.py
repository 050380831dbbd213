"""Every page that a volunteer or a landowner with an account can open is in English and in French, and so is each of its words.

Marked texts are put between brackets. What is left outside must have been typed by somebody: it is on file in a field that is no choice.
"""

import html
import re

import pytest
from django.apps import apps
from django.db import models
from django.test import Client

from plantings.calc.census.codes import CAUSES_OF_DEATH, REMOVAL_REASONS, STATUSES
from plantings.calc.census.measurements import MEASUREMENTS
from plantings.models import OwnMeasurement
from registry.access.languages import has_choice
from registry.access.roles import OWN_ROWS_ONLY
from tests.project.access_table import walk
from tests.project.test_every_page import is_page

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]

# the page of the phone holds both languages itself, see tests/plantings/census/test_phone_words.py
ELSEWHERE = {"census_phone"}
CODES = {
    str(code) for codes in (STATUSES, CAUSES_OF_DEATH, REMOVAL_REASONS, *(item.classes for item in MEASUREMENTS)) for code, *_ in codes
}
SAME = {"Mastbook", "GeoJSON", "GeoPackage", "_v", "Français", "English", "CSV", "XLSX", "PDF", "cm", "mm"}
_SPOKEN = re.compile(r'\b(?:title|aria-label|placeholder|alt|data-turn-o\w+)="([^"]*)"')


def typed_words():
    """The words of all text on file that somebody typed."""
    found = set()
    for model in apps.get_models():
        fields = [
            field.attname for field in model._meta.fields if isinstance(field, (models.CharField, models.TextField)) and not field.choices
        ]
        for row in model.objects.values_list(*fields) if fields and model._meta.model_name != "auditentry" else ():
            found |= {word for value in row if value for word in words_in(str(value))}
    return found | {word for classes in OwnMeasurement.objects.values_list("classes") for word in words_in(str(classes))}


def words_in(text):
    return set(re.findall(r"[A-Za-zÀ-ÿ_]{2,}", text))


def unmarked(page):
    """The lines of a page with words outside brackets."""
    body = re.sub(r"<script.*?</script>|<!--.*?-->", " ", page[page.index("<body") : page.index("</body>")], flags=re.DOTALL)
    text = html.unescape(re.sub(r"<[^>]+>", "\n", _SPOKEN.sub(r">\1<", body)))
    while re.search(r"\[[^\[\]]*\]", text):
        text = re.sub(r"\[[^\[\]]*\]", " ", text)
    return [line.strip() for line in text.split("\n") if words_in(line)]


@pytest.mark.parametrize("who", sorted(OWN_ROWS_ONLY))
def test_every_page_is_in_both_languages(shared_world, marked, who):
    people, records, special = shared_world
    pages = {name: answer for name, (_path, answer) in walk(Client(), people[who], records, special).items() if is_page(answer)}
    assert len(pages) > 20
    assert {name for name, answer in pages.items() if not has_choice(answer.wsgi_request)} - ELSEWHERE == set()
    headers = {word for item in MEASUREMENTS for word in words_in(item.sheet_header)}
    data = typed_words() | CODES | SAME | headers
    left = {
        name: [line for line in unmarked(answer.content.decode()) if words_in(line) - data]
        for name, answer in pages.items()
        if name not in ELSEWHERE
    }
    assert {name: lines for name, lines in left.items() if lines} == {}
