"""The ledger around a lot's life: split, sow, raise, cull, close. Numbers are sums done by hand: common practice, no source."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from plantings.services.supply import leftover_enter
from registry.models import AuditEntry, LedgerEntry, Lot
from registry.selectors.lots.lot_steps import account_lines, family_culls, leftovers_held, lot_code_free, lot_leftovers
from registry.selectors.pedigree.lineage import lot_lineages
from registry.services.lots.ledger import ledger_enter, ledger_reverse, lot_close, lot_put_back, lot_reopen, lot_split
from registry.services.lots.sowing import lot_cull, lot_raise, lot_sow
from tests import factories
from tests.properties import examples

pytestmark = pytest.mark.django_db
DAY = factories.day(2019)


def fresh(lot):
    return Lot.objects.get(pk=lot.pk)


def part_of(lot, **fields):
    return Lot(code=f"{lot.code}-A", year=lot.year, **fields)


# -- split -----------------------------------------------------------------------------------


def test_a_split_moves_seeds_and_has_the_lineage_of_its_lot():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=500, code="S", use_by=factories.day(2020, 6))
    part = lot_split(
        actor=lead, lot=lot, part=part_of(lot, backcrosses=3, intercrosses=2), count=120, on=DAY, reason="sent for cold storage"
    )
    assert (fresh(lot).balance, fresh(part).balance) == (380, 120)
    assert (part.origin, part.parent, part.kind, part.taxon, part.use_by) == ("split", lot, "seed", lot.taxon, lot.use_by)
    families = {lineage.family for lineage in lot_lineages([lot, part]).values()}
    assert len(families) == 1 and lot.mother.code in families.pop()
    assert [(e.kind, e.quantity, e.counterpart.code) for e in LedgerEntry.objects.filter(kind__startswith="split")] == [
        ("split_out", -120, "S-A"), ("split_in", 120, "S"),
    ]  # fmt: skip
    assert AuditEntry.objects.filter(verb="lot.split", record_id=lot.pk, reason="sent for cold storage").exists()


def test_a_part_takes_more_of_its_own_lot_only():
    lead = factories.person()
    lot, other = factories.seed_lot(actor=lead, seeds=50), factories.seed_lot(actor=lead, seeds=50)
    part = lot_split(actor=lead, lot=lot, part=part_of(lot), count=10, on=DAY)
    lot_split(actor=lead, lot=lot, part=fresh(part), count=5, on=DAY)
    assert fresh(part).balance == 15
    with pytest.raises(ValidationError, match="is not a part of"):
        lot_split(actor=lead, lot=other, part=fresh(part), count=5, on=DAY)
    with pytest.raises(ValidationError, match="is not a part of"):
        lot_split(actor=lead, lot=lot, part=other, count=5, on=DAY)


def test_splitting_more_than_the_balance_makes_no_lot():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=50)
    with pytest.raises(ValidationError, match="holds 50 seeds"):
        lot_split(actor=lead, lot=lot, part=part_of(lot), count=51, on=DAY)
    assert not Lot.objects.filter(origin="split").exists()
    assert fresh(lot).balance == 50


def test_what_was_split_can_be_put_back_with_a_reason():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=50)
    part = lot_split(actor=lead, lot=lot, part=part_of(lot), count=20, on=DAY)
    with pytest.raises(ValidationError, match="Give the reason for putting it back"):
        lot_put_back(actor=lead, part=part, count=5, on=DAY, reason=" ")
    lot_put_back(actor=lead, part=part, count=5, on=DAY, reason="counted into the wrong bag")
    assert (fresh(lot).balance, fresh(part).balance) == (35, 15)
    with pytest.raises(ValidationError, match="nothing to put it back into"):
        lot_put_back(actor=lead, part=lot, count=5, on=DAY, reason="x")


def test_the_entries_of_a_split_are_not_reversed_one_by_one():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=50)
    lot_split(actor=lead, lot=lot, part=part_of(lot), count=20, on=DAY)
    with pytest.raises(ValidationError, match="belongs to a split. Put it back on the page of the part"):
        ledger_reverse(actor=lead, entry=LedgerEntry.objects.get(kind="split_out"), reason="wrong")


class SplitsKeepEverySeed(TestCase):
    @settings(max_examples=examples(25), deadline=None)
    @given(st.lists(st.tuples(st.booleans(), st.integers(1, 60)), max_size=8))
    def test_moves_between_a_lot_and_its_part_lose_no_seed(self, moves):
        lead = factories.person()
        lot = factories.seed_lot(actor=lead, seeds=100)
        part = lot_split(actor=lead, lot=lot, part=part_of(lot), count=1, on=DAY)
        for back, count in moves:
            try:
                if back:
                    lot_put_back(actor=lead, part=fresh(part), count=count, on=DAY, reason="again")
                else:
                    lot_split(actor=lead, lot=fresh(lot), part=fresh(part), count=count, on=DAY)
            except ValidationError:
                continue
        assert fresh(lot).balance + fresh(part).balance == 100
        for record in (fresh(lot), fresh(part)):
            assert account_lines(record.ledger.all()).on_hand == record.balance >= 0


# -- sow, raise, cull ------------------------------------------------------------------------


def test_sowing_makes_a_stock_lot_and_the_seed_ledger_names_it():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=300)
    entry = lot_sow(actor=lead, lot=lot, stock=Lot(code="P1", year=2019), count=200, on=DAY, reason="bed 4")
    stock = Lot.objects.get(code="P1")
    assert (stock.kind, stock.origin, stock.parent, stock.balance) == ("stock", "sown", lot, 0)
    assert (entry.quantity, entry.counterpart, fresh(lot).balance) == (-200, stock, 100)


def test_a_stock_lot_takes_seed_of_its_own_lot_while_it_is_open():
    lead = factories.person()
    lot, other = factories.seed_lot(actor=lead, seeds=30), factories.seed_lot(actor=lead, seeds=30)
    lot_sow(actor=lead, lot=lot, stock=Lot(code="P1", year=2019), count=10, on=DAY)
    stock = Lot.objects.get(code="P1")
    with pytest.raises(ValidationError, match="the mothers can no longer be told apart"):
        lot_sow(actor=lead, lot=other, stock=stock, count=10, on=DAY)
    with pytest.raises(ValidationError, match="Only a seed lot can be sown"):
        lot_sow(actor=lead, lot=stock, stock=Lot(code="P2"), count=10, on=DAY)
    lot_raise(actor=lead, lot=stock, count=5, on=DAY)
    lot_cull(actor=lead, lot=stock, count=5, on=DAY, why="small")
    closed = lot_close(actor=lead, lot=stock, on=DAY)
    with pytest.raises(ValidationError, match="Sow into a new stock lot"):
        lot_sow(actor=lead, lot=lot, stock=closed, count=5, on=DAY)


def test_no_more_plants_come_up_than_seeds_were_sown():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=30)
    lot_sow(actor=lead, lot=lot, stock=Lot(code="P1", year=2019), count=20, on=DAY)
    stock = Lot.objects.get(code="P1")
    lot_raise(actor=lead, lot=stock, count=12, on=DAY)
    with pytest.raises(ValidationError, match="more plants than seeds"):
        lot_raise(actor=lead, lot=stock, count=9, on=DAY)
    lot_raise(actor=lead, lot=stock, count=8, on=DAY)
    assert fresh(stock).balance == 20
    with pytest.raises(ValidationError, match="not a stock lot raised"):
        lot_raise(actor=lead, lot=lot, count=1, on=DAY)


def test_a_reversed_sowing_no_longer_counts_as_seeds_for_plants():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=30)
    wrong = lot_sow(actor=lead, lot=lot, stock=Lot(code="P1", year=2019), count=20, on=DAY)
    lot_sow(actor=lead, lot=lot, stock=Lot.objects.get(code="P1"), count=2, on=DAY)
    ledger_reverse(actor=lead, entry=wrong, reason="other bed")
    with pytest.raises(ValidationError, match="2 seeds were sown"):
        lot_raise(actor=lead, lot=Lot.objects.get(code="P1"), count=3, on=DAY)


def test_culls_are_compared_between_families_with_their_reasons():
    lead = factories.person()
    for code, raised, culls in (("A", 40, [("small", 6), ("diseased", 2), ("small", 1)]), ("B", 50, [("off_type", 5)])):
        lot = factories.seed_lot(actor=lead, seeds=100, mother=factories.pedigree_tree(code=f"M{code}"), cross_type="open")
        lot_sow(actor=lead, lot=lot, stock=Lot(code=code, year=2019), count=60, on=DAY)
        stock = Lot.objects.get(code=code)
        lot_raise(actor=lead, lot=stock, count=raised, on=DAY)
        for why, count in culls:
            entry = lot_cull(actor=lead, lot=stock, count=count, on=DAY, why=why, note="at lifting")
    ledger_reverse(actor=lead, entry=entry, reason="they were of family A")
    rows = family_culls(Lot.objects.all())
    assert [(r.lot.code, r.family, r.sown, r.raised, r.culled, dict(r.reasons)) for r in rows] == [
        ("A", "MA × OP, 2018", 60, 40, 9, {"too small": 7, "diseased": 2}),
        ("B", "MB × OP, 2018", 60, 50, 0, {}),
    ]
    # Wilson 1927 for 9 of 40: statsmodels proportion_confint(9, 40, method="wilson")
    assert (round(rows[0].share.low, 4), round(rows[0].share.high, 4)) == (0.1232, 0.3750)


def test_only_plants_are_culled():
    lot = factories.seed_lot(seeds=10)
    with pytest.raises(ValidationError, match="Culling is of plants"):
        lot_cull(actor=factories.person(), lot=lot, count=1, on=DAY, why="small")


# -- close and reopen ------------------------------------------------------------------------


def test_a_lot_with_a_balance_cannot_be_closed():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=50)
    with pytest.raises(ValidationError, match="50 seeds still on hand"):
        lot_close(actor=lead, lot=lot, on=DAY)


def test_a_lot_without_entries_cannot_be_closed():
    with pytest.raises(ValidationError, match="no entry in its ledger"):
        lot_close(actor=factories.person(), lot=factories.seed_lot(), on=DAY)


def test_a_closed_lot_takes_no_entry_until_it_is_opened_again():
    lead = factories.person()
    lot = factories.seed_lot(actor=lead, seeds=50)
    entry = ledger_enter(actor=lead, lot=lot, kind="sown", quantity=50, on=DAY)
    with pytest.raises(ValidationError, match="Close the lot on that day or later"):
        lot_close(actor=lead, lot=lot, on=DAY - datetime.timedelta(days=1))
    lot_close(actor=lead, lot=lot, on=DAY)
    with pytest.raises(ValidationError, match="already closed"):
        lot_close(actor=lead, lot=lot, on=DAY)
    for refused in (
        lambda: ledger_enter(actor=lead, lot=lot, kind="harvested", quantity=1, on=DAY),
        lambda: ledger_reverse(actor=lead, entry=entry, reason="wrong"),
        lambda: lot_split(actor=lead, lot=lot, part=part_of(lot), count=1, on=DAY),
    ):
        with pytest.raises(ValidationError, match="was closed on 1 Oct 2019"):
            refused()
    with pytest.raises(ValidationError, match="Say why"):
        lot_reopen(actor=lead, lot=lot, reason="")
    lot_reopen(actor=lead, lot=lot, reason="ten nuts found behind the shelf")
    ledger_enter(actor=lead, lot=lot, kind="counted", quantity=10, on=DAY, reason="found")
    assert fresh(lot).balance == 10
    with pytest.raises(ValidationError, match="is open"):
        lot_reopen(actor=lead, lot=lot, reason="again")
    assert AuditEntry.objects.get(verb="lot.reopened").reason == "ten nuts found behind the shelf"


# -- small reads -----------------------------------------------------------------------------


def test_a_code_that_is_taken_gets_the_next_free_number():
    assert lot_code_free("S26-T") == "S26-T"
    factories.seed_lot(code="s26-t")
    factories.seed_lot(code="S26-T-2")
    assert lot_code_free("S26-T") == "S26-T-3"


def test_held_leftovers_are_settled_once_destroyed_or_returned():
    lead, stock = factories.person(), factories.stock_lot(plants=40)
    lines = [sent_line(lead, stock, 20) for _ in range(2)]
    leftover_enter(actor=lead, line=lines[0], outcome="held", count=10, on=factories.day(2019, 5))
    assert leftovers_held(lot_leftovers(stock)) == 10
    leftover_enter(actor=lead, line=lines[0], outcome="destroyed", count=4, on=factories.day(2019, 6))
    assert leftovers_held(lot_leftovers(stock)) == 6
    leftover_enter(actor=lead, line=lines[1], outcome="held", count=3, on=factories.day(2019, 6))
    leftover_enter(actor=lead, line=lines[0], outcome="returned", count=6, on=factories.day(2019, 6, 2))
    assert leftovers_held(lot_leftovers(stock)) == 3


def sent_line(actor, lot, count, receiver=None):
    sent = factories.shipment(
        actor=actor, receiver=receiver, lots=[(lot, "bareroot", count)], dispatched_on=factories.day(2019, 4),
        received_on=factories.day(2019, 4, 2),
    )  # fmt: skip
    return sent.lines.get()


def test_a_lot_with_held_leftovers_cannot_be_closed():
    lead, stock, owner = factories.person(), factories.stock_lot(plants=20), factories.partner()
    line = sent_line(lead, stock, 20, receiver=owner)
    planting = factories.planting(site=factories.site(partner=owner), supply="shipment")
    factories.trees(planting, stock, 10, actor=lead)
    leftover_enter(actor=lead, line=line, outcome="held", count=5, on=factories.day(2019, 5))
    with pytest.raises(ValidationError, match="5 plants are reported as leftovers still held.*returned, destroyed, or planted"):
        lot_close(actor=lead, lot=stock, on=DAY)
    leftover_enter(actor=lead, line=line, outcome="destroyed", count=7, on=factories.day(2019, 6))
    lot_close(actor=lead, lot=stock, on=DAY)


def test_leftovers_planted_later_are_no_longer_held():
    lead, stock, owner = factories.person(), factories.stock_lot(plants=20), factories.partner()
    line = sent_line(lead, stock, 20, receiver=owner)
    leftover_enter(actor=lead, line=line, outcome="held", count=5, on=factories.day(2019, 5))
    planting = factories.planting(site=factories.site(partner=owner), supply="shipment")
    factories.trees(planting, stock, 18, actor=lead)
    assert leftovers_held(lot_leftovers(stock)) == 2
    factories.trees(planting, stock, 2, actor=lead, row=2, tag="U")
    assert leftovers_held(lot_leftovers(stock)) == 0
    lot_close(actor=lead, lot=stock, on=DAY)
