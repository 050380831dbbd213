"""A leftover that was entered by mistake is taken back. Numbers are sums done by hand: common practice, no source."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from plantings.imports.leftovers import LeftoverSheet
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.overview.unsettled import unaccounted_lines
from plantings.selectors.permit_file.permit_file import permit_file
from plantings.selectors.permit_file.year import year_report
from plantings.services.supply import line_unplanted
from registry.models import AuditEntry, Authorization
from registry.selectors.audit.verify import verify_book
from registry.selectors.gate.determinations import determinations_of, shipment_answer
from registry.selectors.lots.lot_steps import leftovers_held, lot_leftovers
from registry.services.lots.ledger import ledger_enter, lot_close
from registry.services.movements.shipments import shipment_dispatch
from registry.services.movements.taking_back import dispatch_take_back, leftover_take_back, receipt_take_back
from registry.services.permits.authorizations import authorization_state_set
from tests import factories
from tests.registry.gate.gate_records import draft, hybrid_lot, permit, rule
from tests.registry.movements.taking_back_help import CAME, came, left, sent

pytestmark = pytest.mark.django_db


@pytest.fixture
def actor():
    return factories.person("coordinator")


def everything_said_of_leftovers(actor, shipment):
    """What each reader of leftovers says of a shipment."""
    line = shipment.lines.get()
    paper = shipment.authorizations.get()
    on = factories.day(2019, 6, 1)
    return {
        "unplanted": line_unplanted(line),
        "balance": line.lot.balance,
        "held": leftovers_held(lot_leftovers(line.lot)),
        "today": [duty.text for duty in unaccounted_lines(actor, on)],
        "permit file": [(part.returned, part.destroyed, part.held) for part in permit_file(paper, timezone.now()).items.lines],
        "year": year_report(paper, 2019, timezone.now()).destroyed,
        "sheet": LeftoverSheet().stored_records().count(),
        "recount": recount_differences()[1],
    }


@pytest.mark.parametrize("outcome", ["returned", "destroyed", "held"])
def test_no_reader_counts_a_leftover_that_was_taken_back(actor, outcome):
    shipment = sent(actor)
    shipment.authorizations.add(factories.authorization(actor=actor))
    came(actor, shipment, 20)
    before = everything_said_of_leftovers(actor, shipment)
    wrong = left(actor, shipment, outcome)
    assert everything_said_of_leftovers(actor, shipment) != before
    wrong = leftover_take_back(actor=actor, leftover=wrong, reason="of another box")
    assert everything_said_of_leftovers(actor, shipment) == before
    assert (wrong.taken_back_by, wrong.taken_back_reason) == (actor, "of another box")
    assert AuditEntry.objects.get(verb="leftover.taken_back").reason == "of another box"
    with pytest.raises(ValidationError, match="already taken back: of another box"):
        leftover_take_back(actor=actor, leftover=wrong, reason="twice")
    again = left(actor, shipment, outcome, count=3)  # of the same day
    assert again.pk != wrong.pk
    assert [check.faults for check in verify_book() if check.faults] == []


def test_a_returned_leftover_leaves_the_ledger_on_its_own_day(actor):
    shipment = sent(actor)
    came(actor, shipment, 20)
    first, second = left(actor, shipment, "returned", 4), left(actor, shipment, "returned", 5, on=factories.day(2019, 4, 9))
    leftover_take_back(actor=actor, leftover=first, reason="counted twice")
    lot = shipment.lines.get().lot
    assert lot.balance == 30 + 5
    assert list(lot.ledger.exclude(reverses=None).values_list("on", "quantity")) == [(CAME, -4)]
    assert second.taken_back_at is None


def test_a_returned_leftover_that_was_used_since_stays(actor):
    shipment = sent(actor, count=50)
    came(actor, shipment, 50)
    leftover = left(actor, shipment, "returned", 4)
    lot = shipment.lines.get().lot
    ledger_enter(actor=actor, lot=lot, kind="discarded", quantity=3, on=factories.day(2019, 5, 1))
    with pytest.raises(ValidationError, match="P19 holds 1 plant on 1 May 2019; this entry of 4 would leave -3"):
        leftover_take_back(actor=actor, leftover=leftover, reason="wrong")
    leftover.refresh_from_db()
    assert leftover.taken_back_at is None


def test_a_leftover_of_a_closed_lot_is_not_taken_back(actor):
    shipment = sent(actor, count=50)
    came(actor, shipment, 50)
    leftover = left(actor, shipment, "destroyed", 50)
    lot_close(actor=actor, lot=shipment.lines.get().lot, on=factories.day(2019, 5, 1))
    with pytest.raises(ValidationError, match="P19 was closed on 1 May 2019.*Open it again"):
        leftover_take_back(actor=actor, leftover=leftover, reason="wrong")


@pytest.mark.parametrize("reason", ["", " "])
def test_taking_a_leftover_back_needs_a_reason(actor, reason):
    shipment = sent(actor)
    came(actor, shipment, 20)
    with pytest.raises(ValidationError, match="Give the reason"):
        leftover_take_back(actor=actor, leftover=left(actor, shipment, "held"), reason=reason)


def test_a_shipment_offers_its_leftovers_and_takes_one_back(client, actor):
    client.force_login(actor)
    shipment = sent(actor)
    page = reverse("shipment_detail", args=[shipment.pk])
    enter = reverse("leftover_add", args=[shipment.lines.get().pk])
    assert enter not in client.get(page).content.decode()
    came(actor, shipment, 20)
    assert enter in client.get(page).content.decode()
    leftover = left(actor, shipment, "returned")
    address = reverse("leftover_take_back", args=[leftover.pk])
    assert address in client.get(page).content.decode()
    assert address in client.get(reverse("lot_detail", args=[leftover.line.lot_id])).content.decode()
    assert "They leave the ledger of the lot again." in client.get(address).content.decode()
    assert client.post(address, {"reason": "another box"}).url == page
    said = client.get(page).content.decode()
    assert f"Taken back by {actor}" in said and "another box" in said and address not in said
    client.force_login(factories.person("auditor"))
    assert enter not in client.get(page).content.decode()


def test_what_a_taken_back_dispatch_left_under_is_free_again(actor):
    """A paper for one consignment: its shipment did not leave, and leaves later under another paper."""
    today = timezone.localdate()
    rule(any_of=[["certificate", "permit"]])
    lot = hybrid_lot(actor)
    once = permit(actor, code="A-ONCE", type="certificate", one_consignment=True, starts_on=today, ends_on=None)
    shipment, other = draft(actor, lot, code="SH-1"), draft(actor, lot, code="SH-2")
    shipment_dispatch(actor=actor, shipment=shipment, on=today)
    assert (shipment_answer(other, today).verdict, lines_under(once)) == ("stop", ["SH-1"])
    shipment = dispatch_take_back(actor=actor, shipment=shipment, reason="never left")
    assert {one.code: shipment_answer(one, today).verdict for one in (shipment, other)} == {"SH-1": "covered", "SH-2": "covered"}
    assert lines_under(once) == [] and year_report(once, today.year, timezone.now()).answers == 0
    permit(actor, code="A-CAP", cap_quantity=500, cap_unit="seeds", starts_on=today, ends_on=None)
    authorization_state_set(actor=actor, paper=once, state="suspended", on=today, reason="asked to wait")
    shipment_dispatch(actor=actor, shipment=shipment, on=today)
    [released], _others = determinations_of("SH-1", "dispatch")
    assert [paper.code for paper in released.authorizations.all()] == ["A-CAP"]
    assert (lines_under(once), lines_under(Authorization.objects.get(code="A-CAP"))) == ([], ["SH-1"])
    dispatch_take_back(actor=actor, shipment=shipment, reason="nor this time")
    assert lines_under(Authorization.objects.get(code="A-CAP")) == []


def lines_under(paper):
    return [line.shipment for line in permit_file(paper, timezone.now()).items.lines]


@pytest.mark.parametrize(
    ("reports", "held", "unreported"),
    [
        ([("destroyed", 4), ("held", 10)], 10, 6),  # what was destroyed first was not among those held
        ([("held", 10), ("destroyed", 4)], 6, 10),
        ([("held", 10), ("destroyed", 10)], 0, 10),
        ([("held", 20), ("returned", 15)], 5, 0),
    ],
)
def test_what_is_still_held_is_counted_once_by_every_reader(actor, reports, held, unreported):
    """20 received, none planted: 20 less what was destroyed, returned and is still held."""
    shipment = sent(actor)
    paper = factories.authorization(actor=actor)
    shipment.authorizations.add(paper)
    receipt = came(actor, shipment, 20)
    for place, (outcome, count) in enumerate(reports):
        left(actor, shipment, outcome, count, on=factories.day(2019, 4, 10 + place))
    [line] = permit_file(paper, timezone.now()).items.lines
    said = [duty.text for duty in unaccounted_lines(actor, factories.day(2019, 6, 1))]
    assert (line.held, line.unreported, leftovers_held(lot_leftovers(line_lot(shipment)))) == (held, unreported, held)
    assert [f"{unreported} plants not accounted for" in text for text in said] == ([True] if unreported else [])
    with pytest.raises(ValidationError, match=f"{20 - unreported} plants of lot P19 from this shipment"):
        receipt_take_back(actor=actor, receipt=receipt, reason="wrong")


def line_lot(shipment):
    return shipment.lines.get().lot
