"""A day that has not come, or of another century, is in no record that can never be changed."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.models import LedgerEntry, Receipt
from registry.services.lots.ledger import ledger_enter, ledger_reverse, lot_bulk, lot_close, lot_split
from registry.services.lots.seed_tests import seed_test_enter, treatment_enter
from registry.services.lots.storage import storage_enter
from registry.services.movements.shipments import receipt_enter, shipment_dispatch
from registry.services.orchard.decisions import decision_enter
from registry.services.orchard.ratings import RatingDay, Reading, ratings_enter
from registry.services.orchard.tree_status import tree_status_set
from registry.services.shared.past_day import FIRST_DAY, day_fault
from tests import factories

pytestmark = pytest.mark.django_db

WRONG_DAYS = [(datetime.date(1, 1, 1), "Check the year"), (datetime.date(2162, 1, 1), "has not come yet")]


def test_the_last_day_is_today_where_the_programme_works():
    today = timezone.localdate()
    assert day_fault(today) == "" == day_fault(FIRST_DAY)
    assert day_fault(today + datetime.timedelta(days=1)) and day_fault(FIRST_DAY - datetime.timedelta(days=1))


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago"])  # 14 hours ahead of UTC, 11 behind it
def test_today_is_taken_in_the_zone_of_the_person(zone):
    with timezone.override(zone):
        today = timezone.localdate()
        assert day_fault(today) == "" != day_fault(today + datetime.timedelta(days=1))


@pytest.mark.parametrize(("on", "words"), WRONG_DAYS)
def test_the_ledger_takes_no_entry_of_a_day_that_cannot_be(on, words):
    actor, lot = factories.person(), factories.seed_lot(seeds=100)
    bulk = factories.stock_lot(kind="seed", origin="bulk", outside_origin="")
    part = factories.stock_lot(kind="seed")
    calls = [
        lambda: ledger_enter(actor=actor, lot=lot, kind="discarded", quantity=10, on=on),
        lambda: lot_bulk(actor=actor, bulk=bulk, component=lot, count=10, on=on),
        lambda: lot_split(actor=actor, lot=lot, part=type(part)(code="NEW-PART"), count=10, on=on),
        lambda: ledger_reverse(actor=actor, entry=lot.ledger.get(), reason="wrong lot", on=on),
    ]
    for call in calls:
        with pytest.raises(ValidationError) as refused:
            call()
        assert words in refused.value.message_dict["on"][0]
    lot.refresh_from_db()
    assert lot.balance == 100 and LedgerEntry.objects.filter(lot=lot).count() == 1


def test_an_entry_with_a_wrong_day_is_reversed_on_that_day():
    actor, lot = factories.person(), factories.seed_lot()
    [entry] = factories.put_in(
        LedgerEntry(lot=lot, kind="harvested", quantity=40, on=datetime.date(2162, 1, 1), entered_by=actor, entered_at=timezone.now())
    )
    ledger_reverse(actor=actor, entry=entry, reason="the year was mistyped")
    lot.refresh_from_db()
    assert lot.balance == 0 and lot.ledger.get(reverses=entry).on == entry.on


def test_a_lot_is_not_closed_on_a_day_to_come():
    actor, lot = factories.person(), factories.seed_lot(seeds=10)
    ledger_enter(actor=actor, lot=lot, kind="discarded", quantity=10, on=factories.day(2019))
    with pytest.raises(ValidationError) as refused:
        lot_close(actor=actor, lot=lot, on=datetime.date(2162, 1, 1))
    assert "has not come yet" in refused.value.message_dict["on"][0]
    lot.refresh_from_db()
    assert lot.closed_on is None


@pytest.mark.parametrize(("on", "words"), WRONG_DAYS)
def test_nothing_leaves_or_arrives_on_a_day_that_cannot_be(on, words):
    actor, lot = factories.person(), factories.stock_lot(plants=50)
    sent = factories.shipment(actor=actor, lots=[(lot, "bareroot", 20)], dispatched_on=factories.day(2019, 4))
    with pytest.raises(ValidationError) as refused:
        receipt_enter(
            actor=actor, shipment=sent, received_on=on, received_by="A. Receiver", box_condition="good",
            counts={line: (line.quantity, 0, 0) for line in sent.lines.all()},
        )  # fmt: skip
    assert words in refused.value.message_dict["received_on"][0]
    assert not Receipt.objects.exists()
    draft = factories.shipment(actor=actor, lots=[(lot, "bareroot", 5)])
    with pytest.raises(ValidationError) as refused:
        shipment_dispatch(actor=actor, shipment=draft, on=on, recorded=True)
    assert words in refused.value.message_dict["on"][0]
    lot.refresh_from_db()
    assert lot.balance == 30


@pytest.mark.parametrize(("on", "words"), WRONG_DAYS)
def test_orchard_and_seed_records_refuse_impossible_days(on, words):
    actor, lot, tree, scale = factories.person(), factories.seed_lot(seeds=100), factories.pedigree_tree(), factories.rating_scale()
    day = RatingDay(scale=scale, rated_on=on, method="seen", rater="R. Ater")
    calls = {
        "rated_on": lambda: ratings_enter(actor=actor, day=day, readings=[Reading(tree=tree, score=scale.lowest)]),
        "status_on": lambda: tree_status_set(actor=actor, tree=tree, status="dead", on=on, reason="canker"),
        "decided_on": lambda: decision_enter(
            actor=actor, tree=tree, decision="kept", decided_on=on, evidence="seen", first_name="A", second_name="B"
        ),
        "tested_on": lambda: seed_test_enter(actor=actor, lot=lot, kind="cut", tested_on=on, tested_by="x"),
        "started_on": lambda: treatment_enter(actor=actor, lot=lot, kind="float", started_on=on),
        "on": lambda: storage_enter(actor=actor, lot=lot, on=on, place="cold room 1"),
    }
    for field, call in calls.items():
        with pytest.raises(ValidationError) as refused:
            call()
        assert words in refused.value.message_dict[field][0], field
    tree.refresh_from_db()
    assert tree.status == "standing" and not lot.tests.exists() and not lot.storage_log.exists()


def test_a_day_to_come_names_today_by_the_clock_of_the_site():
    today = timezone.localdate()
    assert f"today is {day_words(today)}" in day_fault(today + datetime.timedelta(days=3))
