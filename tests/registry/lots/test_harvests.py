"""Harvests: lot, ledger entry and facts in one step."""

import datetime

import pytest
from django.core.exceptions import ValidationError

from registry.models import AuditEntry, Harvest, LedgerEntry, Lot, PollenPool, PollenPoolMember
from registry.services.lots.harvests import harvest_enter
from tests import factories
from tests.registry.lots.seed_records import DAY, fresh, new_lot

pytestmark = pytest.mark.django_db


def crossed(mother, code="S19-X", **fields):
    return Lot(code=code, kind="seed", origin="harvest", mother=mother, taxon=mother.taxon, year=2019, **fields)


def test_a_harvest_makes_lot_ledger_entry_and_facts_in_one_step():
    lead = factories.person()
    harvest = harvest_enter(actor=lead, lot=new_lot(), on=DAY, count=412, mass_g=5150.0, picker="Ida Marsh", fruits=500, containers=2)
    entry = harvest.entry
    assert (entry.lot.code, entry.kind, entry.quantity, entry.mass_g) == ("S19-M1", "harvested", 412, 5150.0)
    assert fresh(entry.lot).balance == 412
    assert set(AuditEntry.objects.values_list("verb", flat=True)) == {"person.added", "lot.added", "harvest.added"}


def test_a_harvest_from_a_mother_in_her_pool_gets_its_generation():
    trees = [factories.pedigree_tree(backcrosses=3, intercrosses=1) for _ in range(3)]
    pool = PollenPool.objects.create(code="POOL", orchard="Home", flowering_year=2019)
    PollenPoolMember.objects.bulk_create(PollenPoolMember(pool=pool, tree=tree) for tree in trees)
    harvest = harvest_enter(actor=factories.person(), lot=crossed(trees[0], pollen_pool=pool), on=DAY, count=9, picker="P")
    # B3F2 with pollen of B3F2 gives B3F3: common practice, no source
    assert fresh(harvest.entry.lot).generation_code == "B3F3"


@pytest.mark.parametrize(("fields", "code"), [({"cross_type": "self"}, "B3F3"), ({}, ""), ({"generation_other": "outcross"}, "outcross")])
def test_a_harvest_gets_a_generation_only_where_its_parents_give_one(fields, code):
    mother = factories.pedigree_tree(backcrosses=3, intercrosses=1)
    harvest = harvest_enter(actor=factories.person(), lot=crossed(mother, **fields), on=DAY, count=9, picker="P")
    assert fresh(harvest.entry.lot).generation_code == code


def test_a_pool_with_one_other_tree_gives_the_controlled_cross():
    b3, native = factories.pedigree_tree(backcrosses=3, intercrosses=0), factories.pedigree_tree()
    pool = PollenPool.objects.create(code="POOL", orchard="Home", flowering_year=2019)
    lots = [crossed(native, father=b3), crossed(b3, code="S19-B", pollen_pool=pool)]
    PollenPoolMember.objects.bulk_create(PollenPoolMember(pool=pool, tree=tree) for tree in (b3, native))
    entered = [harvest_enter(actor=factories.person(), lot=lot, on=DAY, count=9, picker="P").entry.lot for lot in lots]
    assert [fresh(lot).generation_code for lot in entered] == ["B4", "B4"]


def test_a_harvest_that_is_refused_leaves_nothing_behind():
    lot = new_lot()
    with pytest.raises(ValidationError, match="Years are never mixed"):
        harvest_enter(actor=factories.person(), lot=lot, on=factories.day(2021), count=5, picker="x")
    with pytest.raises(ValidationError):
        harvest_enter(actor=factories.person(), lot=lot, on=DAY, count=0, picker="x")
    assert (Lot.objects.count(), LedgerEntry.objects.count(), Harvest.objects.count()) == (0, 0, 0)


def test_a_second_picking_enters_the_same_lot():
    lead = factories.person()
    lot = harvest_enter(actor=lead, lot=new_lot(), on=DAY, count=100, picker="x").entry.lot
    harvest_enter(actor=lead, lot=lot, on=factories.day(2020, 1), count=20, picker="y")
    assert fresh(lot).balance == 120
    with pytest.raises(ValidationError, match="not a seed lot from a harvest"):
        harvest_enter(actor=lead, lot=factories.stock_lot(), on=DAY, count=1, picker="x")


@pytest.mark.parametrize(
    # 30 June after harvest: common practice, no source.
    ("row", "given", "use_by"),
    [
        ({"storage_class": "recalcitrant"}, None, datetime.date(2020, 6, 30)),
        ({"storage_class": "orthodox"}, None, None),
        ({"storage_class": "recalcitrant", "use_by_month": 4, "use_by_day": 15}, None, datetime.date(2020, 4, 15)),
        ({"storage_class": "recalcitrant"}, datetime.date(2020, 5, 1), datetime.date(2020, 5, 1)),
        # where nobody knows whether it keeps dry, the shorter life: common practice, no source
        ({"storage_class": "unknown"}, None, datetime.date(2020, 6, 30)),
        ({"storage_class": "intermediate"}, None, datetime.date(2020, 6, 30)),
        (None, None, datetime.date(2020, 6, 30)),
    ],
)
def test_the_use_by_day_comes_from_the_handbook_unless_given(row, given, use_by):
    lot = new_lot(use_by=given)
    if row:
        factories.handbook_row(binomial=lot.taxon.name, **row)
    assert harvest_enter(actor=factories.person(), lot=lot, on=DAY, count=5, picker="x").entry.lot.use_by == use_by
