"""Trees of the pedigree on screen."""

import pytest
from django.urls import reverse

from registry.models import AuditEntry, Lot, PedigreeTree, PollenPool
from registry.selectors.pedigree.trees import maternal_line, tree_share_words
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def manager(client):
    person = factories.person("manager")
    client.force_login(person)
    return person


def codes(page):
    return [row.cells[0][0] for row in page.context["rows"]]


def part(page, title):
    return next(section for section in page.context["parts"] if section["title"] == title)


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"status": "rogued"}, ["KW-2"]),
        ({"orchard": "walden"}, ["KW-1"]),
        ({"generation": "native"}, ["KW-2", "KW-3"]),
        ({"generation": "B3-F2"}, ["KW-1"]),
        ({"source": "heron"}, ["KW-1"]),
        ({"parent": "kw-1"}, ["KW-3"]),
        ({"text": "L7"}, ["KW-1"]),
    ],
)
def test_trees_are_found_by_plain_words(client, manager, query, found):
    first = factories.pedigree_tree(
        code="KW-1", orchard="Walden", backcrosses=3, intercrosses=1, source_of_resistance="Heron", recurrent_line="L7"
    )
    factories.pedigree_tree(code="KW-2", status="rogued", status_reason="poor form")
    factories.pedigree_tree(code="KW-3", father=first)
    assert codes(client.get(reverse("pedigreetree_list"), query)) == found


def test_the_maternal_line_ends_at_its_founder_or_where_it_loops():
    founder = factories.pedigree_tree(code="A")
    second = factories.pedigree_tree(code="B", mother=founder)
    third = factories.pedigree_tree(code="C", mother=second)
    assert [tree.code for tree in maternal_line(third)] == ["A", "B"]
    PedigreeTree.objects.filter(pk=founder.pk).update(mother=third)
    assert [tree.code for tree in maternal_line(third)] == ["A", "B"]


def test_the_page_of_a_tree_shows_parents_children_and_lots(client, manager):
    grandmother = factories.pedigree_tree(code="GM")
    mother, father = factories.pedigree_tree(code="M", mother=grandmother), factories.pedigree_tree(code="F")
    tree = factories.pedigree_tree(code="T", mother=mother, father=father, cross_type="controlled")
    factories.pedigree_tree(code="CHILD", father=tree)
    factories.seed_lot(code="LOT", mother=tree)
    page = client.get(reverse("pedigreetree_detail", args=[tree.pk]))
    assert [(step["label"], step["code"]) for step in page.context["chain"]] == [
        ("grandmother tree", "GM"), ("mother tree", "M"), ("this tree", "T"), ("seed lot", "LOT"),
    ]  # fmt: skip
    assert [(row.cells[0][0], row.cells[1][0]) for row in part(page, "Parents")["rows"]] == [("M", "mother"), ("F", "father")]
    assert [(row.cells[0][0], row.cells[1][0]) for row in part(page, "Children")["rows"]] == [("CHILD", "father")]
    assert [row.cells[0][0] for row in part(page, "Lots of this tree")["rows"]] == ["LOT"]


def test_a_tree_with_many_children_shows_the_first_hundred(client, manager):
    mother = factories.pedigree_tree(code="M")
    PedigreeTree.objects.bulk_create(
        PedigreeTree(code=f"C{number:03d}", taxon=mother.taxon, mother=mother, generation_other="native") for number in range(101)
    )
    table = part(client.get(reverse("pedigreetree_detail", args=[mother.pk])), "Children")
    assert (len(table["rows"]), table["note"]) == (100, "The first 100 of 101.")
    everything = client.get(table["actions"][0][1]).content.decode("utf-8-sig").splitlines()
    assert len(everything) == 102


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        # Allard 1960, Principles of Plant Breeding, backcross chapter: 1 - (1/2)^(backcrosses + 1)
        ({"backcrosses": 3, "intercrosses": 2}, "averages 15/16 as a generation, not as a tree"),
        ({"backcrosses": 0, "intercrosses": 0}, "averages 1/2 as a generation, not as a tree"),
        ({"generation_other": "native"}, "1: a native tree, by its pedigree"),
        ({"generation_other": "outcross"}, ""),
        ({"generation_other": ""}, ""),
    ],
)
def test_a_share_is_an_average_of_a_generation_and_no_promise(fields, words):
    assert tree_share_words(factories.pedigree_tree(**fields)) == words


def test_a_tree_is_rogued_with_a_reason_and_stays_on_record(client, manager):
    tree = factories.pedigree_tree(code="KW-1")
    address = reverse("pedigreetree_status", args=[tree.pk])
    assert "status_reason" in client.post(address, {"status": "rogued", "status_on": "2020-03-01"}).context["form"].errors
    assert (
        "is already recorded as standing"
        in client.post(address, {"status": "standing", "status_on": "2020-03-01", "status_reason": "x"}).content.decode()
    )
    client.post(address, {"status": "rogued", "status_on": "2020-03-01", "status_reason": "Rated 4.5 in May.", "confirmed": "on"})
    page = client.get(reverse("pedigreetree_detail", args=[tree.pk]))
    assert page.context["state"] == "rogued"
    assert page.context["due"][0].text == "Rogued: Rated 4.5 in May."
    assert page.context["due"][1].text.startswith("The record stays.")
    assert page.context["actions"][0][0] == "Pedigree and shares"
    entry = AuditEntry.objects.get(verb="pedigreetree.changed")
    assert (entry.changes["status"], entry.reason) == (["standing", "rogued"], "Rated 4.5 in May.")


def test_a_tree_is_added_with_parents_by_code(client, manager):
    mother = factories.pedigree_tree(code="M")
    pool = PollenPool.objects.create(code="POOL", orchard="A", flowering_year=2018)
    data = {"code": "T", "taxon": mother.taxon_id, "mother": "m", "pollen_pool": "pool", "cross_type": "open", "generation": "F1"}
    assert client.post(reverse("pedigreetree_add"), data).status_code == 302
    tree = PedigreeTree.objects.get(code="T")
    assert (tree.mother, tree.pollen_pool, tree.backcrosses, tree.intercrosses) == (mother, pool, 0, 0)
    both = client.post(reverse("pedigreetree_add"), data | {"code": "T2", "father": "M"})
    assert "Give a father or a pollen pool, not both." in both.content.decode()


def test_a_generation_in_a_word_comes_back_to_its_own_box(client, manager):
    tree = factories.pedigree_tree(generation_other="outcross")
    form = client.get(reverse("pedigreetree_edit", args=[tree.pk])).context["form"]
    assert (form["generation"].value(), form["generation_word"].value()) == (None, "outcross")
    other = client.get(reverse("pedigreetree_edit", args=[factories.pedigree_tree(backcrosses=3, intercrosses=2).pk])).context["form"]
    assert (other["generation"].value(), other["generation_word"].value()) == ("B3F3", None)


def test_a_pollen_pool_lists_the_lots_that_name_it(client, manager):
    pool = PollenPool.objects.create(code="POOL", orchard="A", flowering_year=2018)
    factories.seed_lot(code="MINE", pollen_pool=pool)
    factories.seed_lot(code="OTHER")
    table = part(client.get(reverse("pollenpool_detail", args=[pool.pk])), "Lots of this pool")
    assert [row.cells[0][0] for row in table["rows"]] == ["MINE"]


@pytest.fixture
def parents():
    """A native mother and a donor father: their cross is F1 by the definition of the code (Allard 1960, from memory)."""
    donor = factories.taxon(role="donor")
    return factories.pedigree_tree(code="N"), factories.pedigree_tree(code="D", generation_other="donor", taxon=donor)


def tree_form(mother, father, **fields):
    named = {"mother": mother.code, "father": father.code, "taxon": mother.taxon_id}
    return {"code": "X", "cross_type": "controlled", "regulated_engineered": ""} | named | fields


def test_a_form_refuses_a_generation_that_the_parents_contradict(client, manager, parents):
    page = client.post(reverse("pedigreetree_add"), tree_form(*parents, generation="B2"))
    assert page.context["form"].errors["generation"] == [
        "B2 is not what its parents give, F1; write that, leave it blank, or correct a parent."
    ]
    assert 'value="B2"' in page.content.decode() and not PedigreeTree.objects.filter(code="X").exists()
    client.post(reverse("pedigreetree_add"), tree_form(*parents, generation="F1"))
    assert PedigreeTree.objects.get(code="X").generation_code == "F1"


def test_a_tree_that_contradicts_its_parents_keeps_its_form_for_the_rest(client, manager, parents):
    mother, father = parents
    old = factories.pedigree_tree(
        code="X", mother=mother, father=father, cross_type="controlled", backcrosses=2, intercrosses=0, taxon=mother.taxon
    )
    address = reverse("pedigreetree_edit", args=[old.pk])
    same = tree_form(mother, father, generation="B2", reason="note of 1998")
    assert client.post(address, same | {"note": "from the old cards"}).status_code == 302
    assert PedigreeTree.objects.get(code="X").note == "from the old cards"
    page = client.post(address, same | {"generation": "B3"})
    assert "is not what its parents give, F1" in page.context["form"].errors["generation"][0]


def test_a_lot_form_refuses_a_generation_that_its_parents_contradict(client, manager, parents):
    mother, father = parents
    values = {
        "code": "L1", "kind": "seed", "origin": "harvest", "taxon": mother.taxon_id, "year": "2019", "mother": mother.code, "father": father.code,
        "cross_type": "controlled",
    }  # fmt: skip
    page = client.post(reverse("lot_add"), values | {"generation": "B2"})
    assert page.context["form"].errors["generation"] == [
        "B2 is not what its parents give, F1; write that, leave it blank, or correct a parent."
    ]
    assert client.post(reverse("lot_add"), values | {"generation": ""}).status_code == 302
    assert Lot.objects.get(code="L1").generation_code == "F1"
