"""The list of trees with a new tag: old tag, new tag, day."""

import datetime

import pytest

from plantings.imports.loading import sheet_load
from plantings.imports.retags import RetagSheet
from plantings.models import Tree, TreeTag
from registry.imports.sheets.formats import export_bytes
from registry.imports.sheets.plan import SheetRefused
from tests import factories

pytestmark = pytest.mark.django_db

HEAD = "Planting,Old tag,New tag,Day of the new tag,Reason (blank: loaded from a sheet)"


@pytest.fixture
def planting():
    planting = factories.planting(code="PL")
    actor = factories.person()
    for tag, tree in zip(("1", "2", "3"), factories.trees(planting, factories.stock_lot(actor=actor), 3, actor=actor), strict=True):
        Tree.objects.filter(pk=tree.pk).update(tag=tag)
    return planting


def load(*rows):
    return sheet_load(actor=factories.person(), kind="retag", content="\n".join([HEAD, *rows]).encode(), filename="tags.csv")


def tags(planting):
    return sorted(planting.trees.values_list("tag", flat=True))


def test_a_list_of_new_tags_is_stored_once_and_comes_out_again(planting):
    """The second row gives a tag to the tree that the third row tags first: rows go by day."""
    rows = ("PL,2,2A,2022-05-03,", "PL,3A,3B,2023-05-03,lost again", "PL,3,3A,2022-05-03,lost")
    assert load(*rows).counts["new"] == 3
    assert tags(planting) == ["1", "2A", "3B"]
    old = TreeTag.objects.order_by("until_on", "tag").values_list("tag", "until_on", "reason")
    day, later = datetime.date(2022, 5, 3), datetime.date(2023, 5, 3)
    assert list(old) == [("2", day, "loaded from a sheet"), ("3", day, "lost"), ("3A", later, "lost again")]
    assert load(*rows).counts == {"new": 0, "changed": 0, "unchanged": 3, "repeated": 0, "wrong": 0}
    written = export_bytes(RetagSheet, TreeTag.objects.all(), "csv").decode("utf-8-sig").splitlines()[1:]
    assert sorted(written) == ["PL,2,2A,2022-05-03,loaded from a sheet", "PL,3,3A,2022-05-03,lost", "PL,3A,3B,2023-05-03,lost again"]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("PL,9,9A,2022-05-03,", "'Old tag': '9' is not on a tree of planting PL"),
        ("PL,1,2,2022-05-03,", "'New tag': '2' is on another tree of planting PL. A tag is never reused."),
        ("PL,1,3,2022-05-03,", "'New tag': '3' .*was used in PL before"),
        ("PL,3,3C,2022-05-03,", "'New tag': '3C' differs from the record"),
        ("PL,1,1A,2999-05-03,", "'Day of the new tag': '2999-05-03' "),
    ],
)
def test_a_tag_that_cannot_be_given_is_refused_in_words(planting, row, says):
    load("PL,3,3A,2022-05-03,")
    with pytest.raises(SheetRefused, match=says):
        load(row)
    assert tags(planting) == ["1", "2", "3A"]
