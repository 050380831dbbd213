"""Marks of an open question follow every service that writes trees, lots, components or pools."""

import ast
import datetime

import pytest

from registry.models import IdentityQuestion, Lot, PedigreeTree, PollenPool
from registry.selectors.identity.questions import question_stored, spread_differences
from registry.services.identity.questions import question_raise, question_settle
from registry.services.lots.harvests import harvest_enter, harvest_facts_enter
from registry.services.lots.ledger import (
    ledger_enter,
    ledger_reverse,
    ledger_reverse_loaded,
    lot_bulk,
    lot_close,
    lot_put_back,
    lot_reopen,
    lot_split,
    lot_unbulk,
)
from registry.services.lots.sowing import lot_cull, lot_raise, lot_sow
from registry.services.lots.storage import storage_enter
from registry.services.orchard.pools import pool_gather, pool_members_set, pool_save
from registry.services.orchard.tree_status import tree_status_follow, tree_status_repeat, tree_status_set
from registry.services.pedigree.parents import lot_save, tree_save
from registry.services.shared.records import record_save
from tests import factories
from tests.places import PROJECT

pytestmark = pytest.mark.django_db
DAY = datetime.date(2019, 11, 4)


class Records:
    """A tree in question with a lot of its seed, and beside them a tree and a lot that are not."""

    def __init__(self):
        self.lead = factories.person("lead")
        self.mother = factories.pedigree_tree(code="M")
        self.other = factories.pedigree_tree(code="OTHER", taxon=self.mother.taxon)
        self.lot = factories.seed_lot(actor=self.lead, code="LOT", mother=self.mother, seeds=100)
        self.clean = factories.seed_lot(actor=self.lead, code="CLEAN", mother=self.other, seeds=100)
        self.bulk = factories.stock_lot(code="BULK", kind="seed", origin="bulk", taxon=self.mother.taxon, outside_origin="")
        self.pool = PollenPool.objects.create(code="POOL", orchard="O", flowering_year=2018)

    def unsaved(self, code, **fields):
        return Lot(code=code, kind="seed", taxon=self.mother.taxon, **{"origin": "harvest", "year": 2018, "mother": self.mother} | fields)


def split_off(records, lot):
    return lot_split(actor=records.lead, lot=lot, part=Lot(code=f"{lot.code}-2"), count=5, on=DAY)


def sown(records):
    stock = Lot(code="STOCK")
    lot_sow(actor=records.lead, lot=records.lot, stock=stock, count=50, on=DAY)
    return stock


def bulked(records):
    return lot_bulk(actor=records.lead, bulk=records.bulk, component=records.lot, count=5, on=DAY)


def emptied(records):
    return ledger_enter(actor=records.lead, lot=records.lot, kind="discarded", quantity=100, on=DAY)


# -- one case a service: what is there before the question is raised, the call, and by how many marks it changes ----------------------

CASES = {
    harvest_enter: (None, lambda r, _: harvest_enter(actor=r.lead, lot=r.unsaved("NEW"), on=factories.day(2018), count=9, picker="P"), 1),
    harvest_facts_enter: (None, lambda r, _: harvest_facts_enter(actor=r.lead, entry=r.lot.ledger.get(), picker="P"), 0),
    lot_sow: (None, lambda r, _: sown(r), 1),
    lot_raise: (sown, lambda r, stock: lot_raise(actor=r.lead, lot=stock, count=9, on=DAY), 0),
    lot_cull: (
        lambda r: factories.stock_lot(actor=r.lead, plants=9, on=DAY),
        lambda r, lot: lot_cull(actor=r.lead, lot=lot, count=1, on=DAY, why="small"),
        0,
    ),
    ledger_enter: (None, lambda r, _: ledger_enter(actor=r.lead, lot=r.lot, kind="sampled", quantity=1, on=DAY), 0),
    ledger_reverse_loaded: (None, lambda r, _: ledger_reverse_loaded(actor=r.lead, entry=r.lot.ledger.get(), reason="load withdrawn"), 0),
    ledger_reverse: (None, lambda r, _: ledger_reverse(actor=r.lead, entry=r.lot.ledger.get(), reason="slip"), 0),
    lot_bulk: (None, lambda r, _: bulked(r), 1),
    lot_unbulk: (bulked, lambda r, part: lot_unbulk(actor=r.lead, part=part, reason="the wrong lot"), -1),
    lot_split: (None, lambda r, _: split_off(r, r.lot), 1),
    lot_put_back: (
        lambda r: split_off(r, r.clean),
        lambda r, part: (
            question_raise(actor=r.lead, about=part, raised_on=DAY, reason="label lost"),
            lot_put_back(actor=r.lead, part=part, count=1, on=DAY, reason="not sown"),
        ),
        2,  # the part, and the lot it went back into
    ),
    lot_close: (emptied, lambda r, _: lot_close(actor=r.lead, lot=r.lot, on=DAY), 0),
    lot_reopen: (
        lambda r: emptied(r) and lot_close(actor=r.lead, lot=r.lot, on=DAY),
        lambda r, _: lot_reopen(actor=r.lead, lot=r.lot, reason="a seed was found"),
        0,
    ),
    storage_enter: (None, lambda r, _: storage_enter(actor=r.lead, lot=r.lot, on=DAY, place="shelf 1", by="A"), 0),
    tree_save: (
        None,
        lambda r, _: tree_save(actor=r.lead, tree=PedigreeTree(code="C", taxon=r.mother.taxon, generation_other="native", father=r.mother)),
        1,
    ),
    lot_save: (None, lambda r, _: lot_save(actor=r.lead, lot=r.unsaved("NEW")), 1),
    record_save: (None, lambda r, _: record_save(actor=r.lead, obj=r.unsaved("NEW")), 1),
    tree_status_set: (
        None,
        lambda r, _: tree_status_set(actor=r.lead, tree=r.mother, status="dead", on=DAY, reason="storm", stump_treated=None),
        0,
    ),
    tree_status_follow: (
        lambda r: PedigreeTree.objects.filter(pk=r.mother.pk).update(status="dead", status_on=DAY, status_reason="storm"),
        lambda r, _: tree_status_follow(actor=r.lead, tree=PedigreeTree.objects.get(code="M")),
        0,
    ),
    tree_status_repeat: (
        lambda r: PedigreeTree.objects.filter(pk=r.mother.pk).update(status="dead", status_on=DAY, status_reason="storm"),
        lambda r, _: tree_status_repeat(actor=r.lead, tree=PedigreeTree.objects.get(code="M"), reason="the step was withdrawn"),
        0,
    ),
    pool_gather: (
        lambda r: PedigreeTree.objects.filter(pk=r.mother.pk).update(orchard="O"),
        lambda r, _: pool_gather(actor=r.lead, pool=r.pool, shown=[r.mother.pk]),
        0,
    ),
    pool_save: (None, lambda r, _: pool_save(actor=r.lead, pool=PollenPool(code="P2", orchard="O", flowering_year=2019)), 0),
    pool_members_set: (None, lambda r, _: pool_members_set(actor=r.lead, pool=r.pool, weights={}, added=(r.mother, None)), 0),
    question_raise: (None, lambda r, _: question_raise(actor=r.lead, about=r.clean, raised_on=DAY, reason="two labels"), 1),
    question_settle: (
        lambda r: question_raise(actor=r.lead, about=r.clean, raised_on=DAY, reason="two labels"),
        lambda r, asked: question_settle(actor=r.lead, question=asked, outcome="confirmed", text="genotype agrees", on=DAY),
        -1,
    ),
}
WRITE_NO_LINEAGE = {
    "decision_confirm", "decision_confirm_by_link", "decision_enter", "decision_link_make", "evidence_enter", "handbook_save",
    "handbook_verify", "ledger_reverse_moved", "rating_correct", "rating_scale_save", "ratings_enter",
    "seed_test_correct", "seed_test_enter", "share_enter", "treatment_enter",
}  # fmt: skip
FOLDERS = ("lots", "pedigree", "orchard", "identity", "shared")


def marks():
    open_questions = IdentityQuestion.objects.filter(settled_on=None)
    return sum(len(found.trees) + len(found.lots) for found in map(question_stored, open_questions))


@pytest.mark.parametrize("service", CASES, ids=lambda service: service.__name__)
def test_marks_equal_the_rule_after_the_service(service):
    before, call, change = CASES[service]
    records = Records()
    made = before(records) if before else None
    question_raise(actor=records.lead, about=records.mother, raised_on=DAY, reason="leaf does not fit")
    assert spread_differences()[1] == []
    number = marks()
    call(records, made)
    assert spread_differences()[1] == []
    assert marks() - number == change


def test_every_service_of_lineage_has_a_case():
    marked = set()
    for folder in FOLDERS:
        for path in sorted((PROJECT / "registry" / "services" / folder).glob("*.py")):
            for node in ast.parse(path.read_text(encoding="utf-8")).body:
                if isinstance(node, ast.FunctionDef) and any(getattr(mark, "id", "") == "write" for mark in node.decorator_list):
                    marked.add(node.name)
    assert marked == {service.__name__ for service in CASES} | WRITE_NO_LINEAGE
