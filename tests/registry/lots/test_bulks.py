"""Bulks: what may be mixed in, taken out again, and until when it is good. Numbers are sums done by hand: common practice, no source."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from plantings.imports.loading import sheet_load
from registry.imports.sheets.plan import SheetRefused
from registry.models import AuditEntry, LedgerEntry, Lot, LotComponent
from registry.selectors.lots.lot_steps import account_lines
from registry.selectors.pedigree.lineage import lot_lineages
from registry.services.identity.questions import question_raise
from registry.services.lots.ledger import ledger_enter, ledger_reverse, lot_bulk, lot_put_back, lot_split, lot_unbulk
from registry.services.lots.sowing import lot_sow
from registry.services.shared.records import record_save
from tests import factories
from tests.properties import examples

pytestmark = pytest.mark.django_db
DAY = factories.day(2019)


def fresh(lot):
    return Lot.objects.get(pk=lot.pk)


def bulk_lot(**fields):
    return factories.stock_lot(**{"kind": "seed", "origin": "bulk", "outside_origin": "", "year": None} | fields)


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def kiku(lead):
    return factories.seed_lot(actor=lead, seeds=100, code="A", mother=factories.pedigree_tree(source_of_resistance="Kiku"))


@pytest.fixture
def shiro(lead):
    return factories.seed_lot(actor=lead, seeds=100, code="B", mother=factories.pedigree_tree(source_of_resistance="Shiro"))


# -- what left keeps what it was ---------------------------------------------------------------


def test_a_later_component_in_question_does_not_mark_what_left(lead, kiku, shiro):
    bulk = bulk_lot(code="BULK")
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=100, on=DAY)
    part = lot_split(actor=lead, lot=fresh(bulk), part=Lot(code="PART"), count=30, on=DAY)
    lot_sow(actor=lead, lot=part, stock=Lot(code="STOCK", year=2019), count=20, on=DAY)
    with pytest.raises(ValidationError, match="30 seeds split out of BULK already.*Start a new bulk lot: mix what is left of BULK into it"):
        lot_bulk(actor=lead, bulk=fresh(bulk), component=shiro, count=100, on=DAY + datetime.timedelta(4))
    question = question_raise(actor=lead, about=shiro, raised_on=DAY, reason="label lost")
    below = [part, Lot.objects.get(code="STOCK")]
    assert {lineage.source for lineage in lot_lineages(below).values()} == {"Kiku"}
    assert not question.lots.filter(pk__in=[lot.pk for lot in below]).exists()


def test_a_new_bulk_takes_the_rest_of_the_old_one_and_a_new_lot(lead, kiku, shiro):
    first, second = bulk_lot(), bulk_lot(code="NEXT")
    lot_bulk(actor=lead, bulk=first, component=kiku, count=100, on=DAY)
    ledger_enter(actor=lead, lot=first, kind="discarded", quantity=50, on=DAY)
    lot_bulk(actor=lead, bulk=second, component=fresh(first), count=50, on=DAY)
    lot_bulk(actor=lead, bulk=second, component=shiro, count=50, on=DAY)
    assert lot_lineages([second])[second.pk].source == "mixed (Kiku 1/2, Shiro 1/2)"


@pytest.mark.parametrize("kind", ["discarded", "sampled", "destroyed", "sown", "shipped", "planted"])
def test_nothing_is_mixed_in_once_anything_has_left(lead, kiku, shiro, kind):
    bulk = bulk_lot()
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=100, on=DAY)
    ledger_enter(actor=lead, lot=bulk, kind=kind, quantity=1, on=DAY)
    with pytest.raises(ValidationError, match="1 seed .* already"):
        lot_bulk(actor=lead, bulk=bulk, component=shiro, count=1, on=DAY)
    with pytest.raises(ValidationError, match="1 seed .* already"):
        lot_unbulk(actor=lead, part=LotComponent.objects.get(), reason="wrong bag")


def test_what_was_reversed_or_put_back_has_not_left(lead, kiku, shiro):
    bulk = bulk_lot()
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=100, on=DAY)
    ledger_reverse(actor=lead, entry=ledger_enter(actor=lead, lot=bulk, kind="sampled", quantity=5, on=DAY), reason="other lot")
    pieces = [lot_split(actor=lead, lot=fresh(bulk), part=Lot(code=code), count=10, on=DAY) for code in ("P1", "P2")]
    lot_put_back(actor=lead, part=fresh(pieces[0]), count=10, on=DAY, reason="kept together")
    with pytest.raises(ValidationError, match="10 seeds split out"):
        lot_bulk(actor=lead, bulk=bulk, component=shiro, count=1, on=DAY)
    lot_put_back(actor=lead, part=fresh(pieces[1]), count=10, on=DAY, reason="kept together")
    lot_bulk(actor=lead, bulk=bulk, component=shiro, count=100, on=DAY)
    assert fresh(bulk).balance == 200


def test_seed_put_back_from_one_part_does_not_hide_another_part(lead, kiku, shiro):
    bulk = bulk_lot()
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=100, on=DAY)
    first, second = (lot_split(actor=lead, lot=fresh(bulk), part=Lot(code=code), count=10, on=DAY) for code in ("P1", "P2"))
    ledger_enter(actor=lead, lot=first, kind="counted", quantity=10, on=DAY, reason="counted again")
    lot_put_back(actor=lead, part=fresh(first), count=20, on=DAY, reason="kept together")
    with pytest.raises(ValidationError, match="10 seeds split out"):
        lot_bulk(actor=lead, bulk=bulk, component=shiro, count=1, on=DAY)
    assert fresh(second).balance == 10


# -- more of the same, and taking it out ---------------------------------------------------------


def test_a_second_bag_of_the_same_component_is_added_to_it(lead, kiku):
    bulk = bulk_lot()
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=60, on=DAY, reason="for Pippinmoor")
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=20, on=factories.day(2019, 11))
    part = LotComponent.objects.get()
    # the last day, since all of it was there only then
    assert (part.count, part.bulked_on, part.reason) == (80, factories.day(2019, 11), "for Pippinmoor")
    assert (fresh(bulk).balance, fresh(kiku).balance) == (80, 20)
    with pytest.raises(ValidationError, match="Enter 1 or more"):
        lot_bulk(actor=lead, bulk=bulk, component=kiku, count=-5, on=DAY)


def test_taking_out_a_component_reverses_its_lines_in_both_ledgers(lead, kiku, shiro):
    bulk = bulk_lot(code="BULK")
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=60, on=DAY)
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=10, on=DAY)
    lot_bulk(actor=lead, bulk=bulk, component=shiro, count=30, on=DAY)
    with pytest.raises(ValidationError, match="Say why"):
        lot_unbulk(actor=lead, part=bulk.components.get(component=kiku), reason=" ")
    lot_unbulk(actor=lead, part=bulk.components.get(component=kiku), reason="bag of another mother")
    assert [part.component for part in bulk.components.all()] == [shiro]
    assert (fresh(bulk).balance, fresh(kiku).balance) == (30, 100)
    assert [e.quantity for e in fresh(bulk).ledger.filter(counterpart=kiku)] == [60, 10, -60, -10]
    assert set(LedgerEntry.objects.exclude(reverses=None).values_list("reason", flat=True)) == {"bag of another mother"}
    entry = AuditEntry.objects.get(verb="lot.unbulked")
    assert (entry.record_label, entry.reason) == ("BULK", "bag of another mother")
    assert (entry.changes["component"], entry.changes["count"]) == (["A", None], [70, None])
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=70, on=DAY)
    lot_unbulk(actor=lead, part=bulk.components.get(component=kiku), reason="still the wrong one")
    assert (fresh(bulk).balance, fresh(kiku).balance) == (30, 100)


def test_a_component_is_not_taken_out_twice(lead, kiku):
    bulk = bulk_lot(code="BULK")
    part, again = lot_bulk(actor=lead, bulk=bulk, component=kiku, count=60, on=DAY), LotComponent.objects.get()
    lot_unbulk(actor=lead, part=part, reason="wrong bag")
    with pytest.raises(ValidationError, match="A was taken out of BULK a moment ago"):
        lot_unbulk(actor=lead, part=again, reason="wrong bag")
    assert AuditEntry.objects.filter(verb="lot.unbulked").count() == 1


def test_taking_a_lot_out_of_a_bulk_takes_its_mark_off(lead, kiku, shiro):
    bulk = bulk_lot()
    for component in (kiku, shiro):
        lot_bulk(actor=lead, bulk=bulk, component=component, count=10, on=DAY)
    question = question_raise(actor=lead, about=kiku, raised_on=DAY, reason="label lost")
    assert question.lots.filter(pk=bulk.pk).exists()
    lot_unbulk(actor=lead, part=bulk.components.get(component=kiku), reason="never went in")
    assert not question.lots.filter(pk=bulk.pk).exists()


class MixingKeepsEverySeed(TestCase):
    @settings(max_examples=examples(25), deadline=None)
    @given(st.lists(st.tuples(st.sampled_from(["mix", "out"]), st.integers(0, 1), st.integers(1, 60)), max_size=8))
    def test_components_agree_with_the_ledgers(self, steps):
        lead, bulk = factories.person(), bulk_lot()
        lots = [factories.seed_lot(actor=lead, seeds=100) for _ in range(2)]
        for step, number, count in steps:
            part = LotComponent.objects.filter(bulk=bulk, component=lots[number]).first()
            try:
                if step == "mix":
                    lot_bulk(actor=lead, bulk=bulk, component=lots[number], count=count, on=DAY)
                elif part:
                    lot_unbulk(actor=lead, part=part, reason="wrong")
            except ValidationError:
                continue
        assert sum(fresh(lot).balance for lot in [bulk, *lots]) == 200
        for lot in lots:
            entered = sum(entry.quantity for entry in bulk.ledger.filter(counterpart=lot))
            assert entered == sum(part.count for part in bulk.components.filter(component=lot)) == 100 - fresh(lot).balance
        assert account_lines(bulk.ledger.all()).on_hand == fresh(bulk).balance


@pytest.mark.parametrize(("kind", "words"), [("bulked_in", "a mixing. Take the component out"), ("bulked_out", "a mixing. Take the")])
def test_a_ledger_line_of_a_mixing_says_where_to_correct_it(lead, kiku, kind, words):
    lot_bulk(actor=lead, bulk=bulk_lot(), component=kiku, count=10, on=DAY)
    with pytest.raises(ValidationError, match=words):
        ledger_reverse(actor=lead, entry=LedgerEntry.objects.get(kind=kind), reason="wrong")


def test_a_changed_component_row_says_where_to_correct_it(lead, kiku):
    lot_bulk(actor=lead, bulk=bulk_lot(code="BULK"), component=kiku, count=10, on=DAY)
    content = b"Bulk lot,Component lot,Count (seeds or plants),Bulked on\nBULK,A,12,2019-10-01\n"
    with pytest.raises(SheetRefused, match="On the page of the bulk lot you can take it out"):
        sheet_load(kind="lot_component", content=content, filename="parts.csv", actor=lead)


# -- use-by and taxon ----------------------------------------------------------------------------


def test_a_bulk_has_the_earliest_use_by_day_of_its_components(lead, kiku, shiro):
    june, july, bulk = factories.day(2020, 6, 30), factories.day(2020, 7, 15), bulk_lot()
    for lot, day in ((kiku, july), (shiro, june)):
        Lot.objects.filter(pk=lot.pk).update(use_by=day)
        lot_bulk(actor=lead, bulk=bulk, component=lot, count=10, on=DAY)
        assert fresh(bulk).use_by == day
    assert AuditEntry.objects.filter(record_id=bulk.pk, reason="use-by day: the earliest of its components, B").exists()
    lot_unbulk(actor=lead, part=bulk.components.get(component=shiro), reason="never went in")
    assert fresh(bulk).use_by == july
    lot_unbulk(actor=lead, part=bulk.components.get(component=kiku), reason="never went in")
    assert fresh(bulk).use_by is None


def test_a_use_by_day_set_by_hand_stays_when_a_component_goes(lead, kiku):
    bulk = bulk_lot(use_by=factories.day(2020, 5))
    Lot.objects.filter(pk=kiku.pk).update(use_by=factories.day(2020, 6, 30))
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=10, on=DAY)
    lot_unbulk(actor=lead, part=bulk.components.get(), reason="never went in")
    assert fresh(bulk).use_by == factories.day(2020, 5)


def test_a_part_takes_the_use_by_day_of_its_lot_unless_it_has_one(lead, kiku):
    Lot.objects.filter(pk=kiku.pk).update(use_by=factories.day(2020, 6, 30))
    fields = {"origin": "split", "parent": kiku, "outside_origin": "", "kind": "seed", "taxon": kiku.taxon}
    plain, own = factories.stock_lot(**fields), factories.stock_lot(**fields, use_by=factories.day(2021, 6, 30))
    for part in (plain, own):
        lot_split(actor=lead, lot=fresh(kiku), part=part, count=10, on=DAY)
    assert [fresh(part).use_by for part in (plain, own)] == [factories.day(2020, 6, 30), factories.day(2021, 6, 30)]


def test_a_bulk_refuses_a_lot_of_another_taxon(lead):
    native, hybrid = factories.taxon(name="Juglans cinerea"), factories.taxon(name="Juglans ×bixbyi", role="hybrid")
    lot = factories.seed_lot(actor=lead, seeds=50, code="HYB", mother=factories.pedigree_tree(taxon=hybrid))
    bulk = bulk_lot(code="BULK", taxon=native)
    with pytest.raises(ValidationError, match="HYB is Juglans ×bixbyi, BULK is Juglans cinerea"):
        lot_bulk(actor=lead, bulk=bulk, component=lot, count=10, on=DAY)
    bulk.taxon = hybrid
    record_save(actor=lead, obj=bulk)
    lot_bulk(actor=lead, bulk=bulk, component=lot, count=10, on=DAY)
    bulk = fresh(bulk)
    bulk.taxon = native
    with pytest.raises(ValidationError, match="Its component HYB is Juglans ×bixbyi"):
        record_save(actor=lead, obj=bulk)
    bulk.taxon = factories.taxon(name="Juglans", role="other")
    record_save(actor=lead, obj=bulk)


# -- on screen -----------------------------------------------------------------------------------


def components(page):
    return next(part for part in page.context["parts"] if part["id"] == "components")


def test_a_component_is_taken_out_while_nothing_has_left_the_bulk(client, lead, kiku):
    client.force_login(lead)
    bulk = bulk_lot(code="BULK")
    part = lot_bulk(actor=lead, bulk=bulk, component=kiku, count=60, on=DAY)
    url = reverse("lot_unbulk", args=[part.pk])
    assert url in client.get(reverse("lot_detail", args=[bulk.pk])).content.decode()
    assert "60 seeds of A, mixed in up to 1 Oct 2019" in client.get(url).content.decode()
    page = client.post(url, {"reason": ""})
    assert set(page.context["form"].errors) == {"reason"}
    page = client.post(url, {"reason": "wrong bag"}, follow=True)
    assert page.context["object"] == bulk and "components" in [words for words, _url in page.context["missing"]]
    lot_bulk(actor=lead, bulk=bulk, component=kiku, count=60, on=DAY)
    ledger_enter(actor=lead, lot=bulk, kind="sown", quantity=5, on=DAY)
    page = client.get(reverse("lot_detail", args=[bulk.pk]))
    assert "5 seeds sown already, so the components are fixed" in components(page)["note"]
    assert "Add a component" not in [label for label, _url in page.context["actions"]]
    assert "Take out" not in page.content.decode()
