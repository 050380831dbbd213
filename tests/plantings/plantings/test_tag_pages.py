"""Planting tags on screen: which trees, in which order, and that each tag leads to its tree."""

from urllib.parse import urlsplit

import pytest
from django.urls import reverse

from plantings.selectors.plantings.trees import trees_to_tag
from plantings.services.trees import tree_replace
from registry.models import IssuedPrint
from registry.services.identity.questions import question_raise
from tests import factories
from tests.prints.reading import codes, page_texts, pictures

pytestmark = pytest.mark.django_db

SHEET = {"sheet": "a4-3x8", "start": "1", "first": "1"}


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def made(client, planting, **data):
    answer = client.post(reverse("planting_tags", args=[planting.pk]), SHEET | data)
    assert answer.headers["Content-Type"] == "application/pdf", answer.content.decode()[:2000]
    return answer.content


def test_tags_come_in_walk_order_with_place_lot_and_role(client, lead):
    lot, planting = factories.stock_lot(code="P-19"), factories.planting(code="HF-26")
    factories.trees(planting, lot, 3, actor=lead)
    factories.trees(planting, lot, 3, actor=lead, row=2, role="check")
    (text,) = page_texts(made(client, planting))
    printed = [word for word in text.split() if word.startswith("HF-26/")]
    # odd rows upwards, even rows back: serpentine walk, common practice
    assert printed == [f"HF-26/T{row:02d}{place:03d}" for row, places in ((1, (1, 2, 3)), (2, (3, 2, 1))) for place in places]
    assert [text.count(f"walk {number}\n") for number in range(1, 7)] == [1] * 6
    assert (text.count("TEST"), text.count("CHECK"), text.count("lot P-19"), text.count("row 2 · position 3")) == (3, 3, 6, 1)
    issued = IssuedPrint.objects.get()
    assert (issued.kind, issued.title, list(issued.lots.all())) == ("tags", "Planting tags of HF-26", [lot])


def test_a_tag_scanned_with_a_phone_leads_to_its_tree(client, lead):
    planting = factories.planting(code="HF/26 Ø")
    trees = factories.trees(planting, factories.stock_lot(), 4, actor=lead)
    found = codes(pictures(made(client, planting))[0])
    assert len(found) == 4
    pages = {client.get(f"{urlsplit(address).path}?{urlsplit(address).query}").url for address in found}
    assert pages == {reverse("tree_detail", args=[tree.pk]) for tree in trees}


def test_part_of_a_planting_is_taken_by_walk_number(client, lead):
    planting = factories.planting()
    factories.trees(planting, count=9, actor=lead)
    (text,) = page_texts(made(client, planting, first="4", last="6"))
    assert [number for number in range(1, 10) if f"walk {number}\n" in text] == [4, 5, 6]


def test_trees_that_are_gone_get_no_tag(client, lead):
    planting = factories.planting()
    alive, dead, gone = factories.trees(planting, count=3, actor=lead)
    factories.observe(factories.census_round(planting), {alive: "A", dead: "D", gone: "RM"}, actor=lead)
    assert list(trees_to_tag(planting)) == [alive]
    new = tree_replace(actor=lead, tree=dead, tag="NEW-1", planted_on=factories.day(2020, 4))
    assert set(trees_to_tag(planting)) == {alive, new}


@pytest.mark.parametrize(
    ("data", "field", "message"),
    [
        ({"first": "5", "last": "2"}, "last", "2 comes before 5"),
        ({"first": "900"}, "first", "No living tree has these walk numbers"),
        ({"start": "25"}, "start", "This sheet has 24 labels"),
        ({"first": ""}, "first", "required"),
    ],
)
def test_tags_that_cannot_be_are_refused_at_their_box(client, lead, data, field, message):
    planting = factories.planting()
    factories.trees(planting, count=6, actor=lead)
    page = client.post(reverse("planting_tags", args=[planting.pk]), SHEET | data)
    assert message in str(page.context["form"].errors[field])
    assert not IssuedPrint.objects.exists()


def test_more_than_five_hundred_are_taken_in_parts(client, lead):
    planting = factories.planting()
    factories.trees(planting, count=501, actor=lead)
    page = client.post(reverse("planting_tags", args=[planting.pk]), SHEET)
    assert "These are 501 trees. Take at most 500 at once." in str(page.context["form"].errors["last"])


def test_trees_of_a_lot_in_question_say_so_on_their_tag(client, lead):
    planting, lot = factories.planting(), factories.stock_lot()
    factories.trees(planting, lot, 2, actor=lead)
    factories.trees(planting, factories.stock_lot(), 2, actor=lead, row=2)
    question_raise(actor=lead, about=lot, raised_on=factories.day(2020), reason="Tag lost")
    (text,) = page_texts(made(client, planting))
    assert text.count("IDENTITY IN QUESTION") == 2


def test_a_planting_without_trees_offers_no_tags(client, lead):
    planting = factories.planting()
    labels = [label for label, _url in client.get(reverse("planting_detail", args=[planting.pk])).context["actions"]]
    assert "Print planting tags" not in labels
    assert client.get(reverse("planting_tags", args=[planting.pk])).context["parts"] == []
    factories.trees(planting, count=1, actor=lead)
    labels = [label for label, _url in client.get(reverse("planting_detail", args=[planting.pk])).context["actions"]]
    assert "Print planting tags" in labels


@pytest.mark.parametrize(
    ("role", "status"), [("manager", 200), ("coordinator", 200), ("auditor", 403), ("volunteer", 403), ("landowner", 403)]
)
def test_who_may_make_tags(client, role, status):
    planting = factories.planting()
    client.force_login(factories.person(role))
    assert client.get(reverse("planting_tags", args=[planting.pk])).status_code == status
