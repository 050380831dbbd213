"""Every word that the scripts of the phone write goes through translation, and the page stays small."""

import json
import re

import pytest
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse
from django.utils import translation

from plantings.views.phone import page as phone
from plantings.views.phone.words import phone_words
from tests import factories
from tests.french import french_texts
from tests.places import PROJECT

SCRIPTS = sorted((PROJECT / "plantings/static/plantings/js/phone").glob("*.js"))
PAGE_BYTES_MOST = 300_000


PAGE = PROJECT / "plantings/templates/plantings/census/phone.html"


def source():
    return "\n".join(path.read_text(encoding="utf-8") for path in SCRIPTS)


def test_the_scripts_and_the_table_name_the_same_words():
    page = PAGE.read_text(encoding="utf-8")
    named = set(re.findall(r'"(\w+)"', source() + page))
    said = set(re.findall(r'\bsay\("(\w+)"', source())) | set(re.findall(r'data-say="(\w+)"', page))
    assert len(said) > 40
    assert said - set(phone_words()) == set()
    assert set(phone_words()) - named == set()


def test_every_word_of_the_page_is_translated(monkeypatch):
    met = set()

    def bracketed(listed, words):
        met.add(listed)
        return f"[{words}]"

    monkeypatch.setattr(translation._trans, "gettext", lambda words: bracketed(words, words), raising=False)
    monkeypatch.setattr(
        translation._trans, "ngettext", lambda one, many, number: bracketed(one, one if number == 1 else many), raising=False
    )
    texts = [text for words in phone_words().values() for text in ([words] if isinstance(words, str) else words)]
    assert [text for text in texts if not text.startswith("[")] == []
    page = re.sub(r"<script.*?</script>|<[^>]+>|\[[^\]]*\]", " ", phone.shell(), flags=re.DOTALL)
    assert re.findall(r"[A-Za-z]{2,}", page.replace("Mastbook", "")) == []
    assert met - french_texts() == set()


def test_no_script_writes_a_sentence_of_its_own():
    """Strings in the scripts are names of elements, classes and words: no sentence with blanks between letters."""
    strings = re.findall(r'"([^"\n]*)"', re.sub(r"^\s*//.*$", "", source(), flags=re.MULTILINE))
    classes = {"said told-last", "use strict", "take over", "told told-", "word word-", "beside planned"}
    assert {text for text in strings if re.search(r"[a-z]{2,} [a-z]{2,}", text)} - classes - MESSAGES_OF_ERRORS == set()


MESSAGES_OF_ERRORS = {"not scaled", "not stored", "not our worker", "not stored: "}  # thrown and caught; nobody reads them


@pytest.mark.django_db
@pytest.mark.one_database  # the bytes are those of our own JSON
def test_a_planting_of_a_thousand_trees_is_within_300_kb():
    crew = factories.person("volunteer")
    planting = factories.planting(crew=[crew])
    lot = factories.stock_lot()
    trees = [tree for row in range(1, 11) for tree in factories.trees(planting, lot, 100, actor=crew, row=row)]
    factories.observe(factories.census_round(planting), dict.fromkeys(trees, "A"), actor=crew, height_cm=142.5, diameter_mm=12.5)
    client = Client()
    client.force_login(crew)
    # as the page asks for it
    data = client.get(reverse("census_phone_data", args=[factories.census_round(planting, 2).pk]), {"part": "", "days": "once"}).content
    both_languages(json.loads(data))
    files = sum(len(finders_bytes(name)) for name in (*phone._STYLES, *phone._SCRIPTS, *phone._ICONS, phone._WORKER))
    assert len(json.loads(data)["trees"]) == 1_000
    assert len(data) + files + len(phone.shell().encode()) < PAGE_BYTES_MOST, (len(data), files)


def both_languages(data):
    """All that a round says in words is there in French, with the same codes and limits."""
    french = data["local"]["fr"]
    assert {type(one) for one in data["local"].values()} == {dict}
    same, changed = [], 0
    for english, other in zip(leaves({name: data[name] for name in french}), leaves(french), strict=True):
        same += [english] if english == other else []
        changed += english != other
        assert type(english) is type(other)
    assert changed > 70
    codes = {
        code for codes in (data["statuses"], *data["causes"].values(), *(item["classes"] for item in data["asked"])) for code, *_ in codes
    }
    names = (
        {data["way"]["place"], data["way"]["geo"]}
        | {data["round"][name] for name in ("label", "planting", "site")}
        | {item["field"] for item in data["asked"]}
    )
    alike = {"cm", "mm", "%"}  # the same word in both
    assert {text for text in same if isinstance(text, str) and text} - codes - names - alike == set()


def leaves(value):
    """Every text, number and blank of a JSON value, in order."""
    if isinstance(value, dict):
        value = [value[name] for name in sorted(value)]
    return [leaf for one in value for leaf in leaves(one)] if isinstance(value, list) else [value]


def finders_bytes(name):
    with open(finders.find(name), "rb") as file:
        return file.read()
