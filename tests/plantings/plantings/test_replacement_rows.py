"""Replacements that come as rows of a sheet: numbered and counted once for a planting, and each row refused in its own words."""

import pytest

from plantings.imports.loading import sheet_load
from plantings.models import Tree
from plantings.selectors.census.recount import tally_differences
from plantings.services import trees as service
from registry.imports.sheets.plan import SheetRefused
from tests import factories

pytestmark = pytest.mark.django_db

HEAD = "Planting,Tag,Lot,Replaces tag,Planted on (if not the planting date)\n"


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def planting(lead):
    found = factories.planting(code="P")
    factories.trees(found, factories.stock_lot(code="L"), 6, actor=lead)
    return found


def load(lead, *rows):
    return sheet_load(actor=lead, kind="tree", content=(HEAD + "\n".join(rows)).encode(), filename="trees.csv")


def row(number, replaces, on="2020-05-01"):
    return f"P,N{number},L,{replaces},{on}"


def test_a_planting_is_numbered_and_counted_once_for_all_replacements(lead, planting, monkeypatch):
    called = []
    for name in ("planting_renumber", "tallies_rebuild"):
        does = getattr(service, name)
        monkeypatch.setattr(service, name, lambda found, name=name, does=does: (called.append(name), does(found)))
    load(lead, *(row(number, f"T01{number:03d}") for number in range(1, 6)))
    assert called == ["planting_renumber", "tallies_rebuild"]
    assert Tree.objects.filter(replaces__isnull=False).count() == 5 and not tally_differences(planting)[2]


def test_rows_give_the_same_trees_as_one_replacement_after_the_other(lead, planting):
    load(lead, row(1, "T01004"), row(2, "N1"), row(3, "T01001"))
    other = factories.planting(code="Q")
    trees = factories.trees(other, factories.stock_lot(), 6, actor=lead)
    for number, tree in ((1, trees[3]), (2, None), (3, trees[0])):
        tree = tree or Tree.objects.get(planting=other, tag="N1")
        service.tree_replace(actor=lead, tree=tree, tag=f"N{number}", planted_on=factories.day(2020, 5))

    def said(found):
        names = ("tag", "walk_number", "occupant", "row", "position", "entry__role", "replaces__tag", "planted_on")
        return list(Tree.objects.filter(planting=found).order_by("walk_number", "pk").values_list(*names))

    assert said(planting) == said(other) and len(said(planting)) == 9


def test_each_wrong_row_is_named_and_none_is_stored(lead, planting):
    with pytest.raises(SheetRefused) as refused:
        load(lead, row(1, "T01001"), row(2, "T99"), row(3, "T01002", on=""))
    named = [(problem.row, problem.column) for problem in refused.value.plan.problems]
    assert named == [(3, "Replaces tag"), (4, "Planted on (if not the planting date)")]
    assert Tree.objects.count() == 6
