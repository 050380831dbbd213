"""The main job, end to end through the services: lot → shipment → receipt → planting → census → tallies."""

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction

from plantings.models import Observation, SurvivalTally
from plantings.services.supply import leftover_enter
from registry.models import LedgerEntry
from tests import factories

pytestmark = pytest.mark.django_db


def planted(count=10, shipped=12):
    actor = factories.person()
    lot = factories.stock_lot(actor=actor, plants=20)
    partner = factories.partner()
    factories.shipment(
        actor=actor, receiver=partner, lots=[(lot, "bareroot", shipped)],
        dispatched_on=factories.day(2019, 4, 1), received_on=factories.day(2019, 4, 3),
    )  # fmt: skip
    planting = factories.planting(site=factories.site(partner=partner), supply="shipment")
    return actor, lot, planting, factories.trees(planting, lot, count, actor=actor)


def test_the_spine_from_lot_to_survival():
    actor, lot, planting, trees = planted()
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    factories.observe(first, dict(zip(trees, ["A"] * 7 + ["D", "NF", "NF"], strict=True)), actor=actor)
    factories.observe(second, dict(zip(trees, ["A"] * 6 + ["D", "D", "NF", "AR"], strict=True)), actor=actor)
    tallies = {tally.round_id: tally for tally in SurvivalTally.objects.all()}
    assert (tallies[first.pk].alive, tallies[first.pk].dead, tallies[first.pk].presumed_dead) == (8, 1, 1)
    assert (tallies[second.pk].alive, tallies[second.pk].resprout, tallies[second.pk].dead) == (7, 1, 2)
    lot.refresh_from_db()
    assert lot.balance == 8


def test_no_more_can_be_planted_than_was_received():
    with pytest.raises(ValidationError, match="has received only 8"):
        planted(count=10, shipped=8)


def test_no_lot_goes_below_zero_at_any_date():
    actor = factories.person()
    lot = factories.stock_lot(actor=actor, plants=20, on=factories.day(2019, 3))
    with pytest.raises(ValidationError, match="holds 0 plants on 1 Feb 2019"):
        factories.ledger_enter(actor=actor, lot=lot, kind="discarded", quantity=5, on=factories.day(2019, 2))


def test_leftovers_cannot_exceed_what_was_received_and_not_planted():
    actor, lot, _planting, _trees = planted()
    line = lot.shipment_lines.get()
    with pytest.raises(ValidationError, match="only 2 were received"):
        leftover_enter(actor=actor, line=line, outcome="returned", count=3, on=factories.day(2019, 5))
    leftover_enter(actor=actor, line=line, outcome="returned", count=2, on=factories.day(2019, 5))
    lot.refresh_from_db()
    assert lot.balance == 10


@pytest.mark.parametrize("statement", ["update", "delete"])
@pytest.mark.parametrize("model", [Observation, LedgerEntry])
def test_the_database_itself_refuses_to_change_append_only_records(model, statement):
    actor, _lot, planting, trees = planted()
    factories.observe(factories.census_round(planting), {trees[0]: "A"}, actor=actor)
    rows = model.objects.all()
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        rows.update(reason="changed") if statement == "update" else rows._raw_delete(rows.db)
    assert model.objects.exists()
