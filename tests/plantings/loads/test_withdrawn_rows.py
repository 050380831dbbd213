"""A load that brought ratings, tests, storage checks or other records of lots and orchard trees is withdrawn as one."""

import csv
import io
from collections import Counter

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from plantings.imports.kinds import KINDS
from registry.imports.sheets.formats import export_bytes
from registry.imports.sheets.plan import SheetRefused
from registry.models import (
    Harvest,
    Lot,
    PedigreeTree,
    Rating,
    SeedTest,
    StorageRecord,
    TreeStatusRecord,
    WithdrawnRow,
)
from registry.selectors.lots.harvests import containers_picked
from tests import factories
from tests.plantings.loads.row_loads import REASON, float_test, is_clean, load, orchard_of, rating, storage, withdraw
from tests.properties import examples

pytestmark = pytest.mark.django_db

ROWS = ("rating", "decision", "tree_status", "harvest", "seed_test", "treatment", "storage", "measured_share", "identity_evidence")


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


@pytest.fixture
def orchard(lead):
    return orchard_of(lead)


def figures(client, lead):
    """What sheets, lists and pages say: rows in no order, since some go by the age of a record."""
    found = {"balances": sorted(Lot.objects.values_list("code", "balance", "storage_place"))}
    for kind in (*ROWS, "pedigree_tree", "rating_scale", "lot"):
        records = KINDS[kind].model.objects.for_user(lead)
        counting = {"superseded_by": None} if hasattr(KINDS[kind].model, "superseded_by") else {}
        rows = export_bytes(KINDS[kind], records.filter(**counting), "csv", lead).decode("utf-8-sig")
        found[kind] = Counter(map(tuple, csv.reader(io.StringIO(rows))))
    for name in ("rating_list", "decision_list", "lot_list", "pedigreetree_list"):
        found[name] = Counter(client.get(reverse(name), {"download": "csv"}).content.splitlines())
    return found


A_TREE, A_DAY = st.sampled_from(("M-1", "M-2")), st.sampled_from(("2019-05-20", "2020-05-21"))
A_SHEET = st.one_of(
    st.tuples(st.just("rating"), st.builds(rating, st.sampled_from(("1", "2.25", "4")), A_TREE, A_DAY)),
    st.tuples(st.just("seed_test"), st.builds(float_test, st.sampled_from((7, 18)), st.sampled_from((0, 10)), A_DAY)),
    st.tuples(st.just("storage"), st.builds(storage, st.sampled_from(("cold room", "shed")), st.sampled_from((0, 5)), A_DAY)),
    st.tuples(
        st.just("treatment"),
        st.fixed_dictionaries(
            {
                "lot": st.just("L-1"), "treatment_kind": st.just("warm"), "started_on": A_DAY, "operator": st.just("A. Manager"),
                "note": st.sampled_from(("moist sand", "in the cold room"))
            }
        ),
    ),
    st.tuples(
        st.just("tree_status"),
        st.fixed_dictionaries(
            {"tree": A_TREE, "status": st.sampled_from(("dead", "standing")), "status_on": A_DAY, "status_reason": st.just("seen")}
        ),
    ),
    st.tuples(
        st.just("measured_share"),
        st.fixed_dictionaries({"tree": A_TREE, "sampled_on": A_DAY, "donor_share": st.just("0.25"), "method": st.just("markers")}),
    ),
)  # fmt: skip
SOME_SHEETS = st.lists(A_SHEET, min_size=1, max_size=5)


def each_kind(sheets):
    """{kind: its rows}, each record named once."""
    found = {}
    for kind, row in sheets:
        key = tuple(row.get(name) for name in ("tree", "lot", "rated_on", "tested_on", "on", "started_on", "status_on", "sampled_on"))
        found.setdefault(kind, {})[key] = row
    return {kind: list(rows.values()) for kind, rows in found.items()}


@settings(max_examples=examples(10), deadline=None, phases=(Phase.explicit, Phase.generate), suppress_health_check=list(HealthCheck))
@given(first=SOME_SHEETS, second=SOME_SHEETS)
def test_after_a_withdrawal_every_figure_is_as_before(client, lead, orchard, first, second):
    """The second sheets may correct records of the first, complete a treatment, move a lot, or bring records of their own."""
    with transaction.atomic():
        for kind, rows in each_kind(first).items():
            load(lead, kind, *rows)
        for kind, rows in each_kind(second).items():
            before = figures(client, lead)
            try:
                found = load(lead, kind, *rows)
            except SheetRefused:  # a storage check that differs is refused, as is a share
                continue
            if found is None:
                continue
            with_it = figures(client, lead)
            withdraw(lead, found)
            assert figures(client, lead) == before and is_clean()
            load(lead, kind, *rows)
            assert figures(client, lead) == with_it and is_clean()
        transaction.set_rollback(True)


def test_a_new_rating_is_withdrawn_and_says_by_whom_and_why(client, lead, orchard):
    found = load(lead, "rating", rating("4"))
    withdraw(lead, found)
    assert not Rating.objects.exists() and Rating._base_manager.count() == 1
    row = WithdrawnRow.objects.get()
    assert (row.record, row.load, row.entered_by) == (Rating._base_manager.get(), found, lead)
    assert row.reason == f"load {found.pk} withdrawn: {REASON}"
    tree = PedigreeTree.objects.get(code="M-1")
    assert "4.00" not in client.get(reverse("pedigreetree_detail", args=[tree.pk])).content.decode()
    page = client.get(reverse("load_detail", args=[found.pk])).content.decode()
    assert "M-1 rated on 2019-05-20" in page


def test_a_corrected_rating_gets_its_earlier_score_again(lead, orchard):
    load(lead, "rating", rating("2.25"))
    found = load(lead, "rating", rating("4"))
    withdraw(lead, found)
    last = Rating.objects.get(superseded_by=None)
    assert str(last.score) == "2.25" and last.reason == f"load {found.pk} withdrawn: {REASON}" and Rating.objects.count() == 3
    assert not WithdrawnRow.objects.exists()


def test_the_seeds_of_a_test_go_back_into_the_lot(lead, orchard):
    load(lead, "seed_test", float_test(18, drawn=10))
    found = load(lead, "seed_test", float_test(7, drawn=30))
    orchard.refresh_from_db()
    assert orchard.balance == 370  # 400 less 30
    withdraw(lead, found)
    orchard.refresh_from_db()
    last = SeedTest.objects.get(superseded_by=None)
    assert (orchard.balance, last.sound, -last.entry.quantity) == (390, 18, 10)  # 400 less 10
    again = load(lead, "seed_test", float_test(7, drawn=30))
    orchard.refresh_from_db()
    assert again is not None and orchard.balance == 370 and is_clean()


def test_a_storage_check_leaves_the_lot_where_it_was(lead, orchard):
    found = load(lead, "storage", storage("cold room", discarded=5))
    orchard.refresh_from_db()
    assert (orchard.storage_place, orchard.balance) == ("cold room", 395)  # 400 less 5
    withdraw(lead, found)
    orchard.refresh_from_db()
    assert (orchard.storage_place, orchard.balance) == ("shed", 400) and not StorageRecord.objects.exists()


def test_a_place_that_was_changed_later_stays(lead, orchard):
    found = load(lead, "storage", storage("cold room"))
    Lot.objects.filter(pk=orchard.pk).update(storage_place="new store")
    withdraw(lead, found)
    orchard.refresh_from_db()
    assert orchard.storage_place == "new store"


def test_trees_loaded_as_dead_leave_with_their_history(lead):
    factories.taxon(name="Juglans cinerea")
    row = {"code": "M-9", "taxon": "Juglans cinerea", "generation": "native", "orchard": "North", "block": "A", "row": 1, "position": 9}
    dead = {"status": "dead", "status_on": "2019-05-01", "status_reason": "windthrow"}
    found = load(lead, "pedigree_tree", row | dead)
    withdraw(lead, found)
    tree = PedigreeTree.objects.get()  # a step of its history is never deleted, so the tree stays, in no orchard
    assert (tree.orchard, tree.block, tree.row, tree.status) == ("", "", None, "standing")
    assert not TreeStatusRecord.objects.exists() and is_clean()
    again = load(lead, "pedigree_tree", row | dead)
    tree.refresh_from_db()
    assert again is not None and (tree.orchard, tree.row, tree.status) == ("North", 1, "dead") and is_clean()


def test_a_decision_that_rests_on_a_rating_keeps_the_load(lead, orchard):
    found = load(lead, "rating", rating("4"))
    factories.decision(PedigreeTree.objects.get(code="M-1"), actor=lead, ratings=list(Rating.objects.all()))
    with pytest.raises(ValidationError, match="a record of the kind “selection decision” rests on it"):
        withdraw(lead, found)
    assert Rating.objects.count() == 1 and not WithdrawnRow.objects.exists()


def test_a_test_corrected_after_the_load_keeps_it(lead, orchard):
    found = load(lead, "seed_test", float_test(18))
    load(lead, "seed_test", float_test(7))
    with pytest.raises(ValidationError, match="a record of the kind “seed test” rests on it"):
        withdraw(lead, found)


def test_facts_of_a_picking_are_withdrawn_and_come_again(lead, orchard):
    load(lead, "ledger", {"lot": "L-1", "reference": "2019-14", "entry": "harvested", "quantity": 12, "on": "2018-10-09"})
    facts = {"lot": "L-1", "on": "2018-10-09", "reference": "2019-14", "picker": "A. Picker", "containers": 3}
    found = load(lead, "harvest", facts)
    assert containers_picked(orchard) == 3
    withdraw(lead, found)
    assert not Harvest.objects.exists() and containers_picked(orchard) == 0
    load(lead, "harvest", facts | {"containers": 2})
    assert containers_picked(orchard) == 2
    whole = load(lead, "harvest", {"lot": "L-1", "on": "2018-10-10", "quantity": 8, "picker": "A. Picker"})
    withdraw(lead, whole)
    assert Harvest.objects.count() == 1 and Lot.objects.get().balance == 412 and is_clean()  # 400 and 12
