"""Loads of several kinds, and of what has an entry in each of two lots, withdrawn with what they brought about orchard trees and lots."""

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from plantings.exports.book import book_export
from plantings.imports.combined.loading import combined_load
from plantings.selectors.census.recount import recount_differences
from registry.models import Lot, PedigreeTree, Rating, RatingScale, WithdrawnRow
from registry.services.audit.book_load import book_load
from registry.services.lots.ledger import ledger_enter, ledger_reverse
from tests import factories
from tests.plantings.loads.row_loads import float_test, is_clean, load, orchard_of, rating, withdraw
from tests.registry.audit.test_book import content as folder_content

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def orchard(lead):
    return orchard_of(lead)


PARTS = {
    "taxon": {"columns": {"name": {"constant": "Juglans cinerea"}, "role": {"constant": "native"}}},
    "pedigree_tree": {
        "columns": {"code": "Tree", "taxon": {"constant": "Juglans cinerea"}, "generation": {"constant": "native"}, "orchard": "Orchard"}
    },
    "rating_scale": {
        "columns": {
            "name": {"constant": "Canker"}, "version": {"constant": "1"}, "disease": {"constant": "canker"}, "lowest": {"constant": "1"},
            "highest": {"constant": "5"}, "step": {"constant": "1"}, "low_means": {"constant": "none"}, "high_means": {"constant": "dead"},
        }
    },
    "rating": {
        "columns": {
            "tree": "Tree", "scale_name": {"constant": "Canker"}, "scale_version": {"constant": "1"}, "rated_on": "Day", "score": "Score",
            "method": {"constant": "large_stem"}, "rater": {"constant": "R. Rater"},
        },
        "rows": [{"column": "Score", "blank": False}],
    },
}  # fmt: skip


def test_trees_with_ratings_of_one_sheet_are_withdrawn_as_one(lead):
    sheet = b"Tree,Orchard,Day,Score\nM-1,North,2019-05-20,3\nM-2,North,,\n"
    found = combined_load(actor=lead, content=sheet, filename="orchard.csv", spec={"parts": PARTS}).load
    withdraw(lead, found)
    tree = PedigreeTree.objects.get()  # M-2 has no rating, so it leaves
    assert (tree.code, tree.orchard) == ("M-1", "") and RatingScale.objects.exists() and not Rating.objects.exists()
    assert is_clean()
    with pytest.raises(ValidationError, match="already withdrawn"):
        withdraw(lead, found)


def test_a_tree_is_withdrawn_after_the_load_of_its_ratings(lead):
    factories.taxon(name="Juglans cinerea")
    factories.rating_scale(name="Canker", version="1")
    trees = load(lead, "pedigree_tree", {"code": "M-1", "taxon": "Juglans cinerea", "generation": "native", "orchard": "North"})
    ratings = load(lead, "rating", rating("4"))
    with pytest.raises(ValidationError, match="a record of the kind “rating” rests on it"):
        withdraw(lead, trees)
    withdraw(lead, ratings)
    withdraw(lead, trees)
    assert PedigreeTree.objects.get().orchard == "" and is_clean()


def test_a_lot_with_a_test_and_no_ledger_stays(lead):
    mother = factories.pedigree_tree(code="M-1")
    row = {"code": "L-2", "lot_kind": "seed", "taxon": mother.taxon.name, "origin": "outside", "outside_origin": "a gift"}
    lots = load(lead, "lot", row)
    tests = load(lead, "seed_test", float_test(18, drawn=0) | {"lot": "L-2"})
    with pytest.raises(ValidationError, match="a record of the kind “seed test” rests on it"):
        withdraw(lead, lots)
    withdraw(lead, tests)
    withdraw(lead, lots)
    assert Lot.objects.get().balance == 0 and is_clean()


def test_withdrawn_records_come_out_and_in_again(tmp_path, settings):
    settings.MEDIA_ROOT = str(tmp_path / "files")
    (tmp_path / "files").mkdir()
    with transaction.atomic():
        lead = factories.person("lead")
        sheet = b"Tree,Orchard,Day,Score\nM-1,North,2019-05-20,3\n"
        withdraw(lead, combined_load(actor=lead, content=sheet, filename="orchard.csv", spec={"parts": PARTS}).load)
        said = [(str(one), one.reason) for one in WithdrawnRow.objects.all()]
        book_export(tmp_path / "first")
        transaction.set_rollback(True)
    assert not Rating._base_manager.exists() and len(said) == 1
    with transaction.atomic():
        book_load(tmp_path / "first")
        book_export(tmp_path / "second")
        assert folder_content(tmp_path / "second") == folder_content(tmp_path / "first")
        assert [(str(one), one.reason) for one in WithdrawnRow.objects.all()] == said and is_clean() and not Rating.objects.exists()
        transaction.set_rollback(True)


def stock(code, parent):
    return {"code": code, "kind": "stock", "origin": "sown", "outside_origin": "", "parent": parent, "taxon": parent.taxon}


def test_a_sowing_and_what_was_raised_from_it_are_withdrawn(lead, orchard):
    raised = factories.stock_lot(**stock("P-1", orchard))
    sown = {"lot": "L-1", "reference": "1", "entry": "sown", "quantity": 300, "on": "2019-11-01", "counterpart": "P-1"}
    found = load(lead, "ledger", sown, {"lot": "P-1", "reference": "2", "entry": "raised", "quantity": 200, "on": "2020-05-01"})
    orchard.refresh_from_db()
    assert orchard.balance == 100  # 400 less 300
    withdraw(lead, found)
    orchard.refresh_from_db()
    raised.refresh_from_db()
    assert (orchard.balance, raised.balance) == (400, 0) and is_clean()


def test_a_split_is_withdrawn_with_both_its_entries(lead, orchard):
    part = factories.stock_lot(code="L-1-2", kind="seed", origin="split", outside_origin="", parent=orchard, taxon=orchard.taxon)
    found = load(lead, "lot_split", {"part": "L-1-2", "on": "2019-11-04", "quantity": 150, "reason": "second room"})
    withdraw(lead, found)
    for lot, balance in ((orchard, 400), (part, 0)):
        lot.refresh_from_db()
        assert lot.balance == balance
    assert load(lead, "lot_split", {"part": "L-1-2", "on": "2019-11-04", "quantity": 150, "reason": "second room"}) and is_clean()


def test_a_mixing_is_withdrawn_until_something_left_the_bulk(lead, orchard):
    bulk = factories.stock_lot(code="B-1", kind="seed", origin="bulk", outside_origin="", taxon=orchard.taxon)
    Lot.objects.filter(pk=orchard.pk).update(use_by="2030-06-01")
    row = {"bulk": "B-1", "component": "L-1", "count": 120, "bulked_on": "2019-11-04"}
    found = load(lead, "lot_component", row)
    bulk.refresh_from_db()
    assert (bulk.balance, str(bulk.use_by)) == (120, "2030-06-01")
    entry = ledger_enter(actor=lead, lot=bulk, kind="discarded", quantity=5, on=factories.day(2020))
    with pytest.raises(ValidationError, match="what left had the mixture"):
        withdraw(lead, found)
    ledger_reverse(actor=lead, entry=entry, reason="never discarded")
    withdraw(lead, found)
    bulk.refresh_from_db()
    orchard.refresh_from_db()
    assert (bulk.balance, bulk.use_by, orchard.balance) == (0, None, 400) and not bulk.components.exists()
    assert load(lead, "lot_component", row) and recount_differences()[1] == []
