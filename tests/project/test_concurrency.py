"""Twenty people write at once, on the database the site uses: nothing fails, nothing is lost, nothing is counted twice."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.exceptions import ValidationError
from django.db import connections

from plantings.models import Observation, SurvivalTally
from plantings.selectors.census.tallies import planting_state, tally_counts
from plantings.services.census.observations import CensusRow, observations_record
from registry.calc.audit.chain import first_break
from registry.models import AuditEntry, AuthorizationDraw
from registry.services.lots.ledger import ledger_enter
from registry.services.movements.shipments import shipment_dispatch
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db(transaction=True)
WRITERS = 20


def at_once(write, work):
    """Run `write(item)` for every item at the same moment, each on a connection of its own. Errors come out."""
    gate = threading.Barrier(len(work))

    def one(item):
        try:
            gate.wait(timeout=60)
            return write(item)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(work)) as pool:
        return list(pool.map(one, work))


def rows_for(census_round, trees, status="A"):
    on = census_round.opens_on
    return [CensusRow(round_id=census_round.pk, tree_id=tree.pk, status=status, observed_on=on, height_cm=40) for tree in trees]


def assert_tallies_are_a_recount(plantings):
    for planting in plantings:
        state = planting_state(planting)
        stored = {(tally.round_id, tally.entry_id): tally_counts(tally) for tally in SurvivalTally.objects.filter(round__planting=planting)}
        assert state.counts == stored != {}
        assert dict(planting.trees.values_list("pk", "fate")) == state.fates


def test_twenty_writers_on_shared_and_other_plantings_lose_nothing():
    actor = factories.person()
    plantings = [factories.planting() for _ in range(4)]
    trees = {planting: factories.trees(planting, factories.stock_lot(actor=actor), 50, actor=actor) for planting in plantings}
    rounds = {planting: factories.census_round(planting) for planting in plantings}

    def share(writer):
        """Ten trees, a part of one planting that four other writers also write to, in two sendings."""
        planting = plantings[writer % 4]
        mine = trees[planting][10 * (writer // 4) :][:10]
        return [rows_for(rounds[planting], mine[:5]), rows_for(rounds[planting], mine[5:], "D")]

    def write(sendings):
        return [observations_record(actor=actor, rows=rows) for rows in sendings]

    work = [share(writer) for writer in range(WRITERS)]
    assert at_once(write, work) == [[5, 5]] * WRITERS
    sent = {row.uuid for sendings in work for rows in sendings for row in rows}
    assert set(Observation.objects.values_list("uuid", flat=True)) == sent
    assert len(sent) == 200
    assert sorted(SurvivalTally.objects.values_list("planted", "alive", "dead")) == [(50, 25, 25)] * 4
    assert_tallies_are_a_recount(plantings)


def test_the_same_rows_sent_twenty_times_at_once_are_stored_once():
    actor, planting = factories.person(), factories.planting()
    rows = rows_for(factories.census_round(planting), factories.trees(planting, count=10, actor=actor))
    stored = at_once(lambda rows: observations_record(actor=actor, rows=rows), [rows] * WRITERS)
    assert sorted(stored) == [0] * (WRITERS - 1) + [10]
    assert Observation.objects.count() == 10
    assert_tallies_are_a_recount([planting])


def test_twenty_people_cannot_take_more_from_a_lot_than_it_holds():
    actor = factories.person()
    lot = factories.stock_lot(actor=actor, plants=7)

    def take(_writer):
        try:
            return ledger_enter(actor=actor, lot=lot, kind="discarded", quantity=1, on=factories.day(2020), reason="counted out").quantity
        except ValidationError:
            return 0

    assert sum(at_once(take, range(WRITERS))) == -7
    lot.refresh_from_db()
    assert (lot.balance, lot.ledger.count()) == (0, 8)


def test_two_dispatches_at_once_never_draw_more_than_the_cap():
    lead = factories.person("lead")
    rule()
    paper = permit(lead, cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead, seeds=5000)
    shipments = [draft(lead, lot, 120) for _ in range(8)]

    def dispatch(shipment):
        try:
            return shipment_dispatch(actor=lead, shipment=shipment, on=DAY).state
        except ValidationError:
            return "stopped"

    gone = at_once(dispatch, shipments)
    paper.refresh_from_db()
    assert sorted(gone) == ["dispatched"] * 4 + ["stopped"] * 4
    assert paper.drawn == sum(AuthorizationDraw.objects.values_list("quantity", flat=True)) == 480
    chain = ((entry.previous_sha256, entry.sha256, entry.content) for entry in AuditEntry.objects.order_by("pk"))
    assert first_break(chain) is None
