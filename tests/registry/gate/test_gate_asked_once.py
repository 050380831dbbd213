"""One dispatch or planting asks the gate once; the answer that was given is shown, and stored."""

from unittest.mock import patch

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from registry.compliance.gate.codec import from_json
from registry.compliance.gate.decide import decide
from registry.models import AuditEntry, Determination
from registry.selectors.gate import determinations as selector
from registry.selectors.gate import facts as reader
from tests import factories
from tests.registry.gate.gate_records import draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db
REASON = "the permit was read out by phone"


@pytest.fixture
def lead():
    return factories.person("lead")


def sent(client, address, data):
    """(answer of the server, answers the gate gave, times its facts were read, queries)."""
    given = []

    def deciding(*asked):
        given.append(decide(*asked))
        return given[-1]

    rules = reader.rules_on_file
    with (
        patch.object(selector, "decide", deciding),
        patch.object(reader, "rules_on_file", wraps=rules) as read,
        CaptureQueriesContext(connection) as asked,
    ):
        page = client.post(address, data)
    return page, given, read.call_count, len(asked)


def dispatched(client, shipment, **data):
    return sent(client, reverse("shipment_dispatch", args=[shipment.pk]), {"on": timezone.localdate()} | data)


def test_a_refused_dispatch_asks_once_and_stores_that_answer(client, lead):
    rule()
    shipment = draft(lead, hybrid_lot(lead))
    client.force_login(factories.person("coordinator"))
    page, [given], read, queries = dispatched(client, shipment)
    stored = Determination.objects.get()
    assert (read, from_json(stored.answer), stored.carried_out) == (1, given, False)
    assert page.status_code == 200 and "Hybrids into Vermont" in page.content.decode()
    assert queries <= REFUSED_QUERIES_MAX
    assert AuditEntry.objects.filter(verb="determination.stored", record_id=stored.pk).count() == 1


REFUSED_QUERIES_MAX = 200


def test_a_dispatch_that_goes_asks_once(client, lead):
    rule()
    permit(lead, starts_on=None, ends_on=None)
    shipment = draft(lead, hybrid_lot(lead))
    client.force_login(lead)
    page, [given], read, _queries = dispatched(client, shipment)
    shipment.refresh_from_db()
    assert (page.status_code, shipment.state, read) == (302, "dispatched", 1)
    assert from_json(Determination.objects.get().answer) == given


def test_the_lead_overrides_on_the_page_that_refused(client, lead):
    rule()
    shipment = draft(lead, hybrid_lot(lead))
    client.force_login(lead)
    page, given, _read, _queries = dispatched(client, shipment)
    assert 'name="override_reason"' in page.content.decode() and len(given) == 1
    page, given, read, _queries = dispatched(client, shipment, override_reason=REASON)
    assert (page.status_code, len(given), read) == (302, 1, 1)
    assert Determination.objects.get(carried_out=True).override_reason == REASON


def test_no_box_to_override_where_nothing_stops(client, lead):
    shipment = draft(lead, hybrid_lot(lead))
    client.force_login(lead)
    page, given, read, _queries = dispatched(client, shipment, on="not a day")
    assert 'name="override_reason"' not in page.content.decode()
    assert (page.status_code, len(given), read) == (200, 1, 1)


def test_an_answer_about_an_activity_is_stored_as_it_was_shown(client, lead):
    rule(code="EX-INOC", activities=["inoculate"], classes=[], title="Live pathogen")
    client.force_login(lead)
    data = {"activity": "inoculate", "on": "2026-06-02", "region": "us-vt"}
    page, [shown], _read, _queries = sent(client, reverse("determination_ask"), data)
    page, given, read, _queries = sent(client, reverse("determination_ask"), data | {"store": "yes", "shown": page.context["shown"]})
    assert (page.status_code, given, read) == (302, [shown], 1)
    assert from_json(Determination.objects.get().answer) == shown
