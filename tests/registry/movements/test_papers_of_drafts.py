"""A draft says at once which of the papers chosen for it are not in force on its day, before anybody asks the gate."""

import datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.services.permits.authorizations import authorization_state_set
from tests import factories

pytestmark = pytest.mark.django_db

TODAY = timezone.localdate
DAY = datetime.timedelta(days=1)


@pytest.fixture
def coordinator(client):
    person = factories.person("coordinator")
    client.force_login(person)
    return person


def paper(coordinator, code, *, starts=None, ends=None, state="in_force"):
    record = factories.authorization(actor=coordinator, code=code, starts_on=starts, ends_on=ends)
    authorization_state_set(actor=coordinator, paper=record, state=state, on=TODAY())
    return record


def said(client, route, record):
    """The lines of a page about papers."""
    return [duty.text for duty in client.get(reverse(route, args=[record.pk])).context["due"] if duty.text.startswith("Paper ")]


def sentence(code, on, why):
    return f"Paper {code} is chosen here but not in force on {day_words(on)}: {why}. Have it renewed, or choose another."


def test_a_draft_names_its_papers_that_are_not_in_force(client, coordinator):
    planned = TODAY() + 30 * DAY
    shipment = factories.shipment(actor=coordinator, planned_on=planned)
    papers = [
        paper(coordinator, "A-ENDED", ends=TODAY() - DAY),
        paper(coordinator, "B-ENDS-BEFORE", ends=planned - DAY),
        paper(coordinator, "C-LAST-DAY", ends=planned),
        paper(coordinator, "D-STARTS-AFTER", starts=planned + DAY),
        paper(coordinator, "E-APPLIED", state="applied"),
        paper(coordinator, "F-IN-FORCE"),
    ]
    shipment.authorizations.set(papers)
    assert said(client, "shipment_detail", shipment) == [
        sentence("A-ENDED", planned, f"its last day is {day_words(TODAY() - DAY)}"),
        sentence("B-ENDS-BEFORE", planned, f"its last day is {day_words(planned - DAY)}"),
        sentence("D-STARTS-AFTER", planned, f"its first day is {day_words(planned + DAY)}"),
        sentence("E-APPLIED", planned, "applied"),
    ]


def test_a_shipment_that_has_left_names_no_paper_that_ended_later(client, coordinator):
    lot = factories.stock_lot(actor=coordinator, plants=10, on=factories.day(2019, 3))
    shipment = factories.shipment(actor=coordinator, lots=[(lot, "bareroot", 10)], dispatched_on=factories.day(2019, 4))
    shipment.authorizations.set([paper(coordinator, "A-ENDED", ends=factories.day(2020))])
    assert said(client, "shipment_detail", shipment) == []


def test_a_planned_planting_names_its_paper_that_has_ended(client, coordinator):
    ended = paper(coordinator, "A-ENDED", ends=TODAY() - DAY)
    planned = factories.planting(state="planned", planted_on=None)
    planned.authorizations.set([ended])
    assert said(client, "planting_detail", planned) == [sentence("A-ENDED", TODAY(), f"its last day is {day_words(TODAY() - DAY)}")]
    established = factories.planting()
    established.authorizations.set([ended])
    assert said(client, "planting_detail", established) == []
