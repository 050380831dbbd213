"""A crew that measures does not learn which lot or role a tree has, on no page and in no download: whoever knows it measures less freely."""

import pytest
from django.urls import reverse

from plantings.choices import EntryRole
from plantings.models import Tree
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def pages(db):
    """{route: address} of pages about a planting with two lots in different roles, its crew, and the codes of the lots."""
    actor = factories.person("lead")
    crew = factories.person("volunteer")
    planting = factories.planting(crew=[crew], note="P19-KW-03 is 2-0 stock, one year older than the rest.")
    lots = [factories.stock_lot(actor=actor, code=code) for code in ("P19-KW-03", "P19-KW-04")]
    factories.trees(planting, lots[0], 2, actor=actor, row=1)
    factories.trees(planting, lots[1], 2, actor=actor, row=2, role=EntryRole.FILLER)
    census_round = factories.census_round(planting, 1)
    tree = Tree.objects.filter(planting=planting).last()
    keys = {
        "planting_detail": planting.pk, "planting_map": planting.pk, "tree_detail": tree.pk, "round_detail": census_round.pk,
        "round_records": census_round.pk, "site_detail": planting.site_id,
    }  # fmt: skip
    addresses = {name: reverse(name, args=[key]) for name, key in keys.items()}
    addresses |= {"tree_list": reverse("tree_list"), "trees as a sheet": reverse("tree_list") + "?download=csv"}
    addresses["plantings as a sheet"] = reverse("planting_list") + "?download=csv"
    return addresses, crew, actor, [lot.code for lot in lots]


def test_no_page_tells_a_crew_the_lot_or_the_role_of_a_tree(pages, client):
    addresses, crew, actor, codes = pages
    shown = {}
    for person in (crew, actor):
        client.force_login(person)
        answers = {name: client.get(address) for name, address in addresses.items()}
        assert {answer.status_code for answer in answers.values()} == {200}
        text = {name: b"".join(answer).decode() if answer.streaming else answer.content.decode() for name, answer in answers.items()}
        said = [*codes, str(EntryRole.FILLER.label)]
        shown[person] = {name for name, words in text.items() if any(word in words for word in said)}
    assert shown[crew] == set()
    assert {"planting_detail", "planting_map", "tree_detail", "tree_list", "trees as a sheet", "plantings as a sheet"} <= shown[actor]


def test_a_crew_cannot_ask_for_the_trees_of_a_lot(pages, client):
    addresses, crew, _actor, codes = pages
    client.force_login(crew)
    answer = client.get(addresses["tree_list"], {"lot": codes[0], "role": EntryRole.FILLER})
    assert len(answer.context["page_obj"].object_list) == 4
