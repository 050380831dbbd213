"""How many to grow. Numbers: Sedcole 1977, Crop Sci. 17:667-668, exact binomial; the shares are Mendel's for unlinked loci."""

import pytest
from django.urls import reverse

from registry.forms.pedigree.how_many import HowManyForm
from tests import factories

pytestmark = pytest.mark.django_db

ASKED = {
    "loci": 3, "cross": "backcross", "wish": "carrying", "wanted": 1, "confidence": 95, "germination": 100, "lost": 0, "kept": 100,
}  # fmt: skip


@pytest.fixture
def page(client):
    client.force_login(factories.person("manager"))
    return lambda **asked: client.get(reverse("how_many"), asked)


def text(response):
    return " ".join(response.content.decode().split())


def test_a_calculator_does_not_speak_of_saving(page):
    wrong = page(**ASKED | {"loci": 0})
    assert "Please correct 1 thing." in text(wrong)
    assert "Not saved" not in text(wrong)
    assert "100 means no loss: enter your own." in text(wrong)


def test_the_page_opens_with_an_answer_for_three_loci(page):
    opened = page()
    assert opened.context["seeds"] == 23
    assert "Sow 23 seeds to be 95 % sure of at least 1 tree with at least one allele at every locus." in text(opened)
    assert "1/8 (0.125)" in text(opened)


@pytest.mark.parametrize(
    ("changes", "seeds"),
    [
        ({"loci": 2}, 11),
        ({"loci": 3, "wanted": 5}, 71),
        ({"loci": 2, "cross": "intercross", "wish": "full"}, 47),
        ({"loci": 3, "cross": "intercross", "wish": "full", "wanted": 5}, 584),
        ({"loci": 3, "cross": "intercross", "wish": "full", "confidence": 99}, 293),
        ({"loci": 1, "germination": 50}, 11),  # 1/2 x 1/2 = 1/4
        ({"loci": 1, "germination": 80, "lost": 37.5, "kept": 50, "wanted": 5}, 71),  # 1/2 x 0.8 x 0.625 x 1/2 = 1/8
        ({"cross": "parents", "mother": "B3", "father": "native"}, 23),
        ({"cross": "parents", "mother": "1 1 1", "father": "1,0,2"}, 7),  # 3/4 x 1/2 x 1: (5/8)^6 = 0.0596, (5/8)^7 = 0.0373
    ],
)
def test_the_answer_is_the_published_number(page, changes, seeds):
    assert page(**ASKED | changes).context["seeds"] == seeds


def test_a_rare_tree_is_said_in_plain_numbers(page):
    # seven loci, two alleles at each, of an intercross: (1/4)^7 = 1/16,384 by Mendel
    facts = {label: value for label, value, _url in page(**ASKED | {"loci": 7, "cross": "intercross", "wish": "full"}).context["facts"]}
    assert facts["One tree in"] == "16,384"


def test_what_a_cross_cannot_give_is_refused_in_words(page):
    refused = page(**ASKED | {"wish": "full"})
    assert "seeds" not in refused.context
    assert "No tree of this cross can have that, however many are grown: both parents must pass it on." in text(refused)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"cross": "parents"}, "mother", "Give the parent"),
        ({"cross": "parents", "mother": "wild", "father": "native"}, "mother", "is not a generation code"),
        ({"cross": "parents", "mother": "1 1", "father": "native"}, "mother", "2 loci are written, but the cross has 3"),
        ({"cross": "parents", "mother": "1 1 3", "father": "native"}, "mother", "0, 1 or 2 alleles"),
        ({"loci": 0}, "loci", "greater than or equal to 1"),
        ({"confidence": 100}, "confidence", "less than or equal to 99.9"),
        ({"wanted": ""}, "wanted", "required"),
    ],
)
def test_a_wrong_box_is_named_and_nothing_typed_is_lost(changes, field, words):
    form = HowManyForm(ASKED | changes)
    assert not form.is_valid()
    assert any(words in error for error in form.errors[field])
    assert form["loci"].value() == changes.get("loci", 3)


def test_the_steps_show_where_full_resistance_first_appears(page):
    rows = page(**ASKED).context["parts"][1]["rows"]
    found = [[cell[0] for cell in row.cells] for row in rows]
    # 1/2^3 and 1/4^3; Sedcole 1977 for 1/8 and 1/64 at P = .95
    assert [line[0] for line in found] == ["F1", "B1", "B2", "B3", "B3F2", "B3F3"]
    assert [line[2] for line in found] == ["0", "0", "0", "0", "1/64 (0.01562)", "1"]
    assert [line[3] for line in found] == ["1", "23", "23", "23", "191", "1"]


def test_more_than_can_be_grown_is_refused_at_once(page):
    refused = page(**ASKED | {"loci": 20, "cross": "intercross", "wish": "full", "wanted": 200})
    assert "seeds" not in refused.context
    assert "more than 20,000 seeds even on average" in text(refused)


def test_the_table_under_it_is_the_published_one(page):
    # Sedcole 1977, P = .95: q = 1/8 and, for two alleles at three loci, q = 1/64
    rows = page(**ASKED).context["parts"][-1]["rows"]
    numbers = {row.cells[0][0]: [cell[0] for cell in row.cells[1:]] for row in rows}
    assert numbers["backcross, 3 loci"] == [8, 23, 37, 49, 60, 71, 82, 103, 123, 172]
    assert numbers["intercross, two alleles at 3 loci"] == [64, 191, 302, 401, 494, 584, 671, 839, 1002, 1397]
