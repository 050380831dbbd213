"""Sheets that move trees or give them new tags: positions are checked for where all are in the end, and thousands cost few queries."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from plantings.imports.loading import sheet_load
from plantings.models import Tree
from plantings.services.trees import TreeAsPlanted, trees_plant
from registry.imports.sheets.plan import SheetRefused
from registry.models import AuditEntry
from registry.selectors.audit.verify import verify_book
from tests import factories

pytestmark = pytest.mark.django_db

HEAD = "Planting,Tag,Lot,Block,Row,Position\n"
TAGS = "Planting,Old tag,New tag,Day of the new tag\n"
COUNT = 60


@pytest.fixture
def lead():
    lead = factories.person("lead")
    planting, lot = factories.planting(code="P"), factories.stock_lot(actor=lead, plants=500, code="L")
    trees = [TreeAsPlanted(f"{number:03d}", lot, "test", "1", 1, number) for number in range(1, COUNT + 1)]
    trees_plant(actor=lead, planting=planting, trees=trees)
    return lead


def load(lead, *rows, kind="tree", head=HEAD, **given):
    with CaptureQueriesContext(connection) as captured:
        plan = sheet_load(actor=lead, kind=kind, content=(head + "\n".join(rows)).encode(), filename="t.csv", reason="seen", **given)
    return plan, len(captured)


def at(tag, position):
    return f"P,{tag},L,1,1,{position}"


def positions():
    return dict(Tree.objects.values_list("tag", "position"))


def test_trees_swap_places_and_a_new_one_has_a_place_that_is_left(lead):
    load(lead, at("001", 2), at("002", 1), "P,003,L,2,1,3", at("061", 3))
    assert positions() | {"001": 2, "002": 1, "061": 3} == positions()
    walked = list(Tree.objects.in_walk_order().values_list("tag", flat=True))
    assert walked[:3] == ["002", "001", "061"] and walked[-1] == "003"
    said = AuditEntry.objects.filter(verb="tree.changed").order_by("pk").values_list("record_label", "changes", "reason")
    assert [label for label, _changes, _reason in said] == ["P/001", "P/002", "P/003"] and {reason for *_rest, reason in said} == {"seen"}
    assert said[0][1]["position"] == [1, 2] and said[2][1]["block"] == ["P/1", "P/2"]
    assert not [fault for check in verify_book() for fault in check.faults]


def test_thousands_of_moves_and_new_tags_ask_the_database_hardly_more(lead):
    few = load(lead, at("001", 2), at("002", 1))[1]
    many = load(lead, *(at(f"{number:03d}", 200 + number) for number in range(1, COUNT + 1)))[1]
    few_tags = load(lead, "P,001,A,2022-05-03", kind="retag", head=TAGS)[1]
    many_tags = load(lead, *(f"P,{number:03d},B{number},2022-05-03" for number in range(2, COUNT + 1)), kind="retag", head=TAGS)[1]
    assert many <= few + 10 and many_tags <= few_tags + 10
    assert positions() == {"A": 201} | {f"B{number}": 200 + number for number in range(2, COUNT + 1)}


def test_a_place_that_another_tree_has_is_refused(lead):
    with pytest.raises(SheetRefused) as refused:
        load(lead, at("001", 9), at("002", 1), at("004", 4))
    assert [str(problem) for problem in refused.value.plan.problems] == [
        "row 2: Planting P: block 1, row 1, position 9 is taken by tree 009."
    ]
    # 002 was to have the place of 001, and goes out with it
    plan, _queries = load(lead, at("001", 9), at("002", 1), at("003", 80), set_aside=True)
    assert list(plan.aside) == [2, 3] and positions()["003"] == 80 and positions()["001"] == 1


def test_only_the_row_with_a_taken_place_goes_out(lead):
    rows = (at("101", 101), at("102", 5), at("103", 101), at("104", 104))
    plan, _queries = load(lead, *rows, set_aside=True)
    assert list(plan.aside) == [3, 4] and {"101", "104"} <= positions().keys() and not {"102", "103"} & positions().keys()
    assert "Planting P: block 1, row 1, position 5 is taken by tree 005." in str(plan.aside[3][0])
    assert "where row 2 has tree 101; correct one of them" in str(plan.aside[4][0])


def test_half_a_position_goes_out_with_its_row(lead):
    plan, _queries = load(lead, at("101", 101), "P,102,L,1,1,", "P,103,L,1,,3", set_aside=True)
    assert [str(problem) for row in (3, 4) for problem in plan.aside[row]] == [
        f"row {row}: Give row and position together, or neither." for row in (3, 4)
    ]
    assert "101" in positions() and not {"102", "103"} & positions().keys()
