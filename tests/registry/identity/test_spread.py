"""What a question of identity marks: equal to a naive transitive closure, over random pedigrees and lots, whatever is written when."""

import datetime
from unittest.mock import patch

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from registry.models import IdentityQuestion, LedgerEntry, Lot, LotComponent, PedigreeTree, PollenPool, PollenPoolMember
from registry.selectors.identity import descent
from registry.selectors.identity.questions import lots_in_question, question_stored, spread_differences
from registry.services.audit.write import writing
from registry.services.identity.questions import question_raise, question_settle
from registry.services.identity.spread import identity_spread_after
from registry.services.lots.ledger import ledger_enter, lot_bulk, lot_put_back, lot_split
from registry.services.shared.records import record_save
from tests import factories
from tests.properties import examples

QUICK = settings(max_examples=examples(10), deadline=None, suppress_health_check=list(HealthCheck))
DAY = datetime.date(2024, 6, 3)
# a parent is a number taken among the records made before, or none
PARENT = st.one_of(st.none(), st.integers(0, 30))
FATHER = st.tuples(st.sampled_from(["tree", "pool", "none"]), st.integers(0, 30))
TREES = st.lists(st.tuples(PARENT, FATHER), min_size=3, max_size=12)
LOTS = st.lists(
    st.tuples(st.sampled_from(["harvest", "sown", "split", "bulk", "outside"]), st.integers(0, 30), FATHER), min_size=2, max_size=10
)
ABOUT = st.tuples(st.sampled_from(["tree", "lot", "pool"]), st.integers(0, 30))


def naive(question):
    """The rule by repetition over all records until nothing more is added."""
    trees = {question.tree_id} - {None}
    lots = {question.lot_id} - {None}
    pools = {question.pool_id} - {None}
    while True:
        before = len(trees) + len(lots)
        for tree in PedigreeTree.objects.all():
            if tree.mother_id in trees or tree.father_id in trees or tree.pollen_pool_id in pools:
                trees.add(tree.pk)
        for lot in Lot.objects.all():
            if lot.mother_id in trees or lot.father_id in trees or lot.pollen_pool_id in pools or lot.parent_id in lots:
                lots.add(lot.pk)
        for part in LotComponent.objects.all():
            if part.component_id in lots:
                lots.add(part.bulk_id)
        for entry in LedgerEntry.objects.filter(kind="split_in", counterpart__in=lots):
            lots.add(entry.lot_id)
        if len(trees) + len(lots) == before:
            return trees, lots


def marked():
    trees = PedigreeTree.objects.filter(questions__isnull=False, questions__settled_on__isnull=True)
    return set(trees.values_list("pk", flat=True)), lots_in_question()


def stored(question):
    kept = question_stored(question)
    return set(kept.trees), set(kept.lots)


class Book:
    """A random book, every record of it stored through a service."""

    def __init__(self, actor):
        self.actor, self.taxon = actor, factories.taxon()
        self.trees, self.lots = [], []
        self.pools = [PollenPool.objects.create(code=f"Q{factories.number()}", orchard="O", flowering_year=2019) for _ in range(2)]

    def pick(self, records, number):
        return records[number % len(records)] if records and number is not None else None

    def parents(self, mother, father):
        kind, number = father
        fields = {"mother": self.pick(self.trees, mother)}
        if kind == "tree":
            fields["father"] = self.pick(self.trees, number)
        if kind == "pool":
            fields["pollen_pool"] = self.pick(self.pools, number)
        return fields

    def add_tree(self, mother, father):
        tree = PedigreeTree(code=f"R{factories.number()}", taxon=self.taxon, generation_other="native", **self.parents(mother, father))
        self.trees.append(record_save(actor=self.actor, obj=tree))

    def add_lot(self, origin, number, father):
        parent = self.pick(self.lots, number)
        fields = {"code": f"R{factories.number()}", "kind": "seed", "origin": origin, "taxon": self.taxon}
        if origin == "harvest":
            fields |= {"year": 2019} | self.parents(number, father)
        if origin in ("sown", "split") and parent:
            fields["parent"] = parent
        if origin == "outside" or (origin in ("sown", "split") and not parent):
            fields |= {"origin": "outside", "outside_origin": "made for a test"}
        lot = record_save(actor=self.actor, obj=Lot(**fields))
        if origin == "bulk" and parent:
            ledger_enter(actor=self.actor, lot=parent, kind="counted", quantity=5, on=DAY, reason="found")
            lot_bulk(actor=self.actor, bulk=lot, component=parent, count=2, on=DAY)
        if origin == "split" and parent:
            ledger_enter(actor=self.actor, lot=parent, kind="counted", quantity=5, on=DAY, reason="found")
            lot_split(actor=self.actor, lot=parent, part=lot, count=2, on=DAY)
            if number % 2:
                lot_put_back(actor=self.actor, part=lot, count=1, on=DAY, reason="not sown")
        self.lots.append(lot)

    def ask(self, about):
        kind, number = about
        record = self.pick({"tree": self.trees, "lot": self.lots, "pool": self.pools}[kind], number)
        return question_raise(actor=self.actor, about=record, raised_on=DAY, reason=f"doubt {factories.number()}")


class SpreadProperties(TestCase):
    @QUICK
    @given(TREES, LOTS, ABOUT, TREES, LOTS, st.lists(st.tuples(st.integers(0, 30), PARENT), max_size=4), st.sampled_from([0, 4, 3_000]))
    def test_marks_equal_the_closure_after_every_write(self, trees, lots, about, more_trees, more_lots, moved, limit):
        with patch.object(descent, "_NAMED_MAX", limit), patch.object(descent, "CHUNK", 3):
            book = Book(factories.person())
            for tree in trees:
                book.add_tree(*tree)
            for lot in lots:
                book.add_lot(*lot)
            question = book.ask(about)
            assert stored(question) == naive(question)
            for tree in more_trees:
                book.add_tree(*tree)
            for lot in more_lots:
                book.add_lot(*lot)
            assert stored(question) == naive(question)
            for child, mother in moved:
                tree = book.trees[child % len(book.trees)]
                earlier = book.trees[: book.trees.index(tree)]
                tree.mother = book.pick(earlier, mother)
                record_save(actor=book.actor, obj=tree)
                assert stored(question) == naive(question)
            assert spread_differences() == (1, [])

    @QUICK
    @given(TREES, LOTS, ABOUT, ABOUT, st.booleans())
    def test_of_two_questions_a_mark_stays_until_both_are_settled(self, trees, lots, first, second, second_first):
        book = Book(factories.person())
        for tree in trees:
            book.add_tree(*tree)
        for lot in lots:
            book.add_lot(*lot)
        questions = [book.ask(first), book.ask(second)]
        reach = [naive(question) for question in questions]
        assert marked() == tuple(one | two for one, two in zip(*reach, strict=True))
        if second_first:
            questions, reach = questions[::-1], reach[::-1]
        question_settle(actor=book.actor, question=questions[0], outcome="confirmed", text="genotype agrees", on=DAY)
        assert marked() == reach[1]
        question_settle(actor=book.actor, question=questions[1], outcome="confirmed", text="the tag was found", on=DAY)
        assert marked() == (set(), set())
        assert IdentityQuestion.objects.filter(settled_on__isnull=True).count() == 0


@pytest.mark.django_db
def test_a_loop_in_old_records_ends_where_it_began():
    one, two = factories.pedigree_tree(), factories.pedigree_tree()
    PedigreeTree.objects.filter(pk=one.pk).update(mother=two)
    PedigreeTree.objects.filter(pk=two.pk).update(mother=one)
    assert descent.offspring({one.pk}) == {two.pk}
    assert descent.ancestors({one.pk}) == ({two.pk}, set())
    question = question_raise(actor=factories.person(), about=one, raised_on=DAY, reason="tag lost")
    assert stored(question) == ({one.pk, two.pk}, set())


@pytest.mark.django_db
def test_a_pool_is_not_marked_by_a_marked_member():
    tree = factories.pedigree_tree()
    pool = PollenPool.objects.create(code="POOL", orchard="O", flowering_year=2019)
    PollenPoolMember.objects.create(pool=pool, tree=tree)
    PollenPoolMember.objects.create(pool=pool, tree=factories.pedigree_tree())
    own = factories.seed_lot(mother=tree)
    of_pool = factories.seed_lot(pollen_pool=pool)
    question = question_raise(actor=factories.person(), about=tree, raised_on=DAY, reason="leaf does not fit")
    assert stored(question) == ({tree.pk}, {own.pk})
    about_pool = question_raise(actor=factories.person(), about=pool, raised_on=DAY, reason="wrong block")
    assert stored(about_pool) == (set(), {of_pool.pk})


@pytest.mark.django_db
def test_the_next_write_sets_a_mark_that_was_missed():
    actor, tree = factories.person(), factories.pedigree_tree(code="MOTHER")
    question = question_raise(actor=actor, about=tree, raised_on=DAY, reason="tag lost")
    lot = factories.seed_lot(code="LATE", mother=tree)
    checked, [(what, kept, fresh)] = spread_differences()
    assert (checked, what) == (1, f"question {question.pk} about MOTHER, lots")
    assert (kept, fresh) == ("0: ", "1: LATE")
    lot.note = "looked at again"
    record_save(actor=actor, obj=lot)
    assert spread_differences() == (1, [])
    assert set(question.lots.all()) == {lot}


@pytest.mark.django_db
def test_without_an_open_question_the_spread_costs_one_query(django_assert_num_queries):
    with django_assert_num_queries(1):
        identity_spread_after({PedigreeTree})
    with django_assert_num_queries(0):
        identity_spread_after({PollenPool})


@pytest.mark.django_db
def test_many_services_in_one_write_spread_once():
    actor, lots = factories.person(), [factories.seed_lot() for _ in range(5)]
    with CaptureQueriesContext(connection) as asked, writing():
        for lot in lots:
            lot.note = "looked at again"
            record_save(actor=actor, obj=lot)
    assert len([query for query in asked.captured_queries if "registry_identityquestion" in query["sql"]]) == 1


@pytest.mark.django_db
@pytest.mark.parametrize("size", [3, 40])
def test_more_offspring_cost_no_more_queries(size, django_assert_num_queries):
    mother = factories.pedigree_tree()
    for _ in range(size):
        factories.seed_lot(mother=factories.pedigree_tree(mother=mother))
    # pools of the trees take none; two generations of trees, then lots, components, parts put back
    with django_assert_num_queries(5):
        trees = descent.offspring({mother.pk})
        descent.lots_made_of(trees)
