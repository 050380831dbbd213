"""Nothing becomes its own ancestor: by form and by sheet, through parents, pollen pools, parent lots and components."""

import pytest
import tablib
from django.core.exceptions import ValidationError
from django.urls import reverse

from plantings.selectors.census.recount import recount_differences
from registry.imports.kinds import LotSheet, PedigreeTreeSheet
from registry.imports.sheets.plan import SheetRefused
from registry.models import Lot, LotComponent, PedigreeTree, PollenPool, PollenPoolMember
from registry.selectors.pedigree.loops import record_loops
from registry.services.lots.ledger import lot_bulk
from registry.services.orchard.pools import pool_members_set
from registry.services.pedigree.parents import lot_save, tree_save
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def line():
    """A grandmother, her child and her grandchild: {code: tree}."""
    factories.taxon(name="Juglans cinerea")
    trees, mother = {}, None
    for code in ("JC-06", "SL-S-01", "SL-K-01"):
        trees[code] = mother = factories.pedigree_tree(code=code, taxon=factories.taxon(), mother=mother)
    return trees


def pool_of(code, *members):
    pool = PollenPool.objects.create(code=code, orchard="A", flowering_year=2018)
    for tree in members:
        PollenPoolMember.objects.create(pool=pool, tree=tree)
    return pool


def refused(save):
    with pytest.raises(ValidationError) as error:
        save()
    return {name: messages[0] for name, messages in error.value.message_dict.items()}


def load(sheet, rows, reason="the old list was found"):
    headers = list(dict.fromkeys(name for row in rows for name in row))
    plan = sheet.plan(tablib.Dataset(*[[row.get(name, "") for name in headers] for row in rows], headers=headers))
    sheet.store(plan, factories.person("manager"), reason)
    return plan


LOOP = "JC-06 would be its own ancestor: JC-06 comes from SL-K-01, SL-K-01 from SL-S-01, SL-S-01 from JC-06."


def test_the_form_refuses_a_descendant_as_parent(client, line):
    client.force_login(factories.person("manager"))
    tree = line["JC-06"]
    data = {
        "code": "JC-06",
        "taxon": tree.taxon_id,
        "mother": "SL-K-01",
        "cross_type": "unknown",
        "generation_word": "native",
        "reason": "x",
    }
    page = client.post(reverse("pedigreetree_edit", args=[tree.pk]), data)
    assert LOOP in page.content.decode()
    assert list(page.context["form"].errors) == ["mother"]
    tree.refresh_from_db()
    assert tree.mother is None


def test_the_sheet_of_trees_refuses_a_loop_and_stores_nothing(line):
    with pytest.raises(SheetRefused) as error:
        load(PedigreeTreeSheet(), [{"Tree": "SL-K-01", "Note": "seen"}, {"Tree": "JC-06", "Father": "SL-K-01"}])
    [problem] = error.value.plan.problems
    assert (problem.row, problem.column, problem.value) == (3, "Father", "SL-K-01")
    assert LOOP in problem.message
    assert not PedigreeTree.objects.exclude(note="").exists()


def test_a_loop_that_later_rows_undo_is_not_refused(line):
    # the grandchild becomes the mother of the grandmother, in the row before it gets another mother itself
    factories.pedigree_tree(code="JC-09")
    load(PedigreeTreeSheet(), [{"Tree": "JC-06", "Mother": "SL-K-01"}, {"Tree": "SL-K-01", "Mother": "JC-09"}])
    assert PedigreeTree.objects.get(code="JC-06").mother.code == "SL-K-01"
    assert record_loops()[1] == []


def test_new_trees_in_a_loop_of_their_sheet_are_named_along_it():
    factories.taxon(name="Juglans cinerea")
    row = {"Binomial": "Juglans cinerea", "Generation": "native"}
    with pytest.raises(SheetRefused) as error:
        load(
            PedigreeTreeSheet(),
            [row | {"Tree": "A", "Mother": "C"}, row | {"Tree": "B", "Father": "A"}, row | {"Tree": "C", "Mother": "B"}],
        )
    assert "A from C, C from B, B from A" in str(error.value.plan.problems[0])


def test_a_tree_cannot_come_from_a_pool_it_or_its_children_are_in(line):
    actor, child = factories.person("manager"), line["SL-K-01"]
    child.pollen_pool = pool_of("POOL-1", line["SL-S-01"], child)
    words = "SL-K-01 would be its own ancestor: SL-K-01 comes from pollen pool POOL-1, pollen pool POOL-1 from SL-K-01."
    assert words in refused(lambda: tree_save(actor=actor, tree=child))["pollen_pool"]
    grandmother = line["JC-06"]
    grandmother.pollen_pool = pool_of("POOL-2", child)
    assert "pollen_pool" in refused(lambda: tree_save(actor=actor, tree=grandmother))


def test_a_tree_cannot_join_a_pool_it_descends_from(line):
    first = pool_of("POOL-1", line["JC-06"])
    second = pool_of("POOL-2", factories.pedigree_tree(pollen_pool=first))
    late = factories.pedigree_tree(code="LATE", pollen_pool=second)
    with pytest.raises(ValidationError, match="LATE descends from this pool"):
        pool_members_set(actor=factories.person("manager"), pool=first, weights={}, added=(late, None), reason="seen")


def test_a_change_without_a_loop_is_stored_beside_an_old_loop(line):
    PedigreeTree.objects.filter(code="JC-06").update(mother=line["SL-K-01"])
    other = factories.pedigree_tree(code="X")
    other.mother = line["SL-S-01"]
    tree_save(actor=factories.person("manager"), tree=other)
    assert PedigreeTree.objects.get(code="X").mother == line["SL-S-01"]


# -- lots --------------------------------------------------------------------------------------


@pytest.fixture
def lots():
    stock = factories.stock_lot(code="Q-STOCK", plants=10)
    return stock, factories.stock_lot(code="Q-PART", origin="split", parent=stock, outside_origin="", taxon=stock.taxon)


def test_a_lot_cannot_be_raised_from_its_own_descendant(client, lots):
    stock, part = lots
    client.force_login(factories.person("manager"))
    words = "Q-STOCK would be its own component: Q-STOCK comes from Q-PART, Q-PART from Q-STOCK."
    data = {"code": "Q-STOCK", "kind": "stock", "taxon": stock.taxon_id, "year": 2019, "origin": "split", "parent": "Q-PART", "reason": "x"}
    page = client.post(reverse("lot_edit", args=[stock.pk]), data)
    assert words in page.content.decode()
    assert list(page.context["form"].errors) == ["parent"]
    Lot.objects.filter(pk=stock.pk).update(origin="split", parent=factories.stock_lot(), outside_origin="")
    with pytest.raises(SheetRefused) as error:
        load(LotSheet(), [{"Lot": "Q-STOCK", "Parent lot": "Q-PART"}])
    assert words in str(error.value.plan.problems[0])


def test_a_bulk_cannot_take_what_was_split_from_it(lots):
    _stock, part = lots
    bulk = factories.stock_lot(code="Q-BULK", origin="bulk", outside_origin="")
    part.parent = bulk
    lot_save(actor=factories.person("manager"), lot=part)
    words = refused(lambda: lot_bulk(actor=factories.person("manager"), bulk=bulk, component=part, count=1, on=factories.day(2020)))
    assert "Q-BULK comes from Q-PART, Q-PART from Q-BULK" in words["component"]
    assert not LotComponent.objects.exists()


# -- all records ----------------------------------------------------------------------------


def test_the_recount_names_every_loop_of_old_records(line, lots):
    stock, part = lots
    assert record_loops()[1] == []
    PedigreeTree.objects.filter(code="JC-06").update(mother=line["SL-K-01"])
    Lot.objects.filter(pk=stock.pk).update(origin="split", parent=part, outside_origin="")
    checked, differences = recount_differences()
    assert checked["origins"] == 5
    loops = [found for _, kept, found in differences if kept == "its own ancestor"]
    assert loops == ["JC-06 comes from SL-K-01, SL-K-01 from SL-S-01, SL-S-01 from JC-06", "Q-STOCK comes from Q-PART, Q-PART from Q-STOCK"]


# -- years -------------------------------------------------------------------------------------


def test_a_tree_older_than_its_mother_is_stored_and_pointed_out(client, line):
    client.force_login(factories.person("manager"))
    PedigreeTree.objects.filter(code="JC-06").update(planted_year=2020)
    PedigreeTree.objects.filter(code="SL-S-01").update(planted_year=2001)
    page = client.get(reverse("pedigreetree_detail", args=[line["SL-S-01"].pk])).content.decode()
    assert "Its planting year 2001 is not after 2020, when its mother JC-06 was planted; look at both years, or at the parent." in page
    PedigreeTree.objects.filter(code="SL-S-01").update(planted_year=2021)
    assert "look at both years" not in client.get(reverse("pedigreetree_detail", args=[line["SL-S-01"].pk])).content.decode()


def test_the_preview_of_a_sheet_points_it_out_and_stores_it(line):
    row = {"Binomial": "Juglans cinerea", "Generation": "native"}
    pool_of("POOL-1", line["JC-06"])
    rows = [
        row | {"Tree": "M", "Planted year": 2020},
        row | {"Tree": "C", "Planted year": 2001, "Mother": "M"},
        row | {"Tree": "D", "Planted year": 2018, "Pollen pool": "POOL-1"},
        row | {"Tree": "E", "Planted year": 2024, "Mother": "M", "Pollen pool": "POOL-1"},
    ]
    plan = load(PedigreeTreeSheet(), rows)
    assert [str(warning) for warning in plan.warnings] == [
        "row 3, column 'Planted year': '2001' is not after 2020, when its mother M was planted; look at both years, or at the parent",
        "row 4, column 'Planted year': '2018' is not after 2018, when pollen pool POOL-1 flowered; look at both years, or at the pool",
    ]
    assert PedigreeTree.objects.filter(code__in=("M", "C", "D", "E")).count() == 4
