"""What counts against the cap of a paper, by the day of the question. Common practice, no source."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from registry.models import AuditEntry, Determination
from registry.services.gate.determinations import GateStopped
from registry.services.gate.draws import cap_on, draw_opening, draw_return
from registry.services.movements.shipments import shipment_dispatch
from registry.services.permits.authorizations import authorization_save
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


def capped(lead, cap=500, **fields):
    return permit(lead, limits={"cap_activities": ["dispatch"]}, code="CAP", cap_quantity=cap, cap_unit="seeds", **fields)


def amend(lead, paper, from_on, **said):
    for name, value in said.items():
        setattr(paper, name, value)
    return authorization_save(actor=lead, paper=paper, from_on=from_on, reason="amended by the office")


def test_a_later_amendment_does_not_touch_todays_dispatch(lead):
    rule()
    paper = capped(lead)
    amend(lead, paper, DAY + timedelta(days=30), cap_quantity=None, cap_unit="")
    assert cap_on(paper, DAY) == (500, "seeds") and cap_on(paper, DAY + timedelta(days=30)) == (None, "")
    shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead), 300), on=DAY)
    paper.refresh_from_db()
    assert paper.drawn == 300


def test_a_lower_cap_later_does_not_stop_todays_dispatch(lead):
    rule()
    paper = capped(lead)
    amend(lead, paper, DAY + timedelta(days=30), cap_quantity=100)
    lot = hybrid_lot(lead)
    shipment_dispatch(actor=lead, shipment=draft(lead, lot, 300), on=DAY)
    with pytest.raises(ValidationError, match="CAP"):
        shipment_dispatch(actor=lead, shipment=draft(lead, lot, 10), on=DAY + timedelta(days=31))


def test_an_overridden_dispatch_counts_on_its_paper(lead):
    rule()
    paper = capped(lead, with_document=False)
    lot = hybrid_lot(lead)
    shipment_dispatch(
        actor=lead, shipment=draft(lead, lot, 400), on=DAY, override_reason="the office has confirmed by telephone, paper follows"
    )
    paper.refresh_from_db()
    assert paper.drawn == 400 and paper.draws.get().reason == "released against a stop of the gate"
    from registry.services.permits.authorizations import document_add

    document_add(actor=lead, paper=paper, content=b"%PDF-1.7 x", filename="permit.pdf", title="Permit")
    with pytest.raises(ValidationError, match="100 seeds left"):
        shipment_dispatch(actor=lead, shipment=draft(lead, lot, 500), on=DAY)


def test_an_override_does_not_draw_on_a_paper_for_another_place(lead):
    rule()
    paper = permit(lead, limits={"destinations": ["US-NH"]}, cap_quantity=500, cap_unit="seeds")
    shipment_dispatch(
        actor=lead, shipment=draft(lead, hybrid_lot(lead), 400), on=DAY, override_reason="the office has confirmed by telephone"
    )
    paper.refresh_from_db()
    assert paper.drawn == 0


def test_an_override_may_overdraw_and_the_page_says_so(client, lead):
    rule()
    paper = capped(lead, cap=100)
    reason = "the office has confirmed by telephone, amendment follows"
    shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead), 250), on=DAY, override_reason=reason)
    paper.refresh_from_db()
    assert paper.drawn == 250
    client.force_login(lead)
    text = " ".join(client.get(reverse("authorization_file", args=[paper.pk])).content.decode().split())
    assert "Over the cap" in text and "150" in text.split("Over the cap")[1][:400]
    assert authorization_save(actor=lead, paper=paper, reason="note added").drawn == 250  # other changes are not refused for it


def test_a_dispatch_recorded_late_counts_on_its_papers(lead):
    paper = capped(lead)
    other = permit(lead, limits={"forms": ["bareroot"]}, code="OTHER", cap_quantity=9, cap_unit="seeds")
    shipment = draft(lead, hybrid_lot(lead), 300)
    shipment.authorizations.set([paper, other])
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY, recorded=True)
    paper.refresh_from_db()
    other.refresh_from_db()
    assert (paper.drawn, other.drawn, Determination.objects.count()) == (300, 0, 0)


def test_a_refusal_of_the_gate_is_stored_though_nothing_went(lead):
    rule()
    shipment = draft(lead, lot := hybrid_lot(lead))
    with pytest.raises(GateStopped):
        shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    kept = Determination.objects.get()
    assert (kept.verdict, kept.carried_out, kept.subject, kept.shipment) == ("stop", False, shipment.code, shipment)
    assert AuditEntry.objects.filter(verb="determination.stored").count() == 1
    lot.refresh_from_db()
    shipment.refresh_from_db()
    assert (lot.balance, shipment.state) == (2000, "draft")


def test_what_was_used_before_these_records_counts(client, lead):
    paper = capped(lead)
    client.force_login(lead)
    url = reverse("authorization_opening", args=[paper.pk])
    assert url in client.get(reverse("authorization_detail", args=[paper.pk])).content.decode()
    assert client.post(url, {"quantity": "120", "on": "2026-02-01", "reason": "report of 2025"}).status_code == 302
    paper.refresh_from_db()
    entry = paper.draws.get()
    assert (paper.drawn, entry.kind, entry.lot, entry.quantity) == (120, "opening", None, 120)
    with pytest.raises(ValidationError, match="where the figure comes from"):
        draw_opening(actor=lead, paper=paper, quantity=1, on=DAY, reason=" ")
    with pytest.raises(ValidationError, match="had no cap"):
        draw_opening(actor=lead, paper=permit(lead), quantity=1, on=DAY, reason="report")


def test_only_what_was_drawn_is_given_back_and_not_earlier(lead):
    rule()
    paper = capped(lead)
    lot, other = hybrid_lot(lead), factories.seed_lot(actor=lead)
    shipment = draft(lead, lot, 300)
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    given = {"actor": lead, "paper": paper, "lot": lot, "quantity": 20, "on": DAY, "subject": shipment.code, "reason": "the box came back"}
    for change, words in (
        ({"lot": other}, "has never drawn on"), ({"subject": "NOTHING"}, f"It was drawn for {shipment.code}"), ({"quantity": 301}, "300 of lot"),
        ({"on": DAY - timedelta(days=1)}, "cannot be given back before"), ({"reason": " "}, "Say why"),
    ):  # fmt: skip
        with pytest.raises(ValidationError, match=words):
            draw_return(**given | change)
    draw_return(**given)
    with pytest.raises(ValidationError, match="280 of lot"):
        draw_return(**given | {"quantity": 281})
    paper.refresh_from_db()
    assert paper.drawn == 280


def test_the_unit_of_a_cap_stays_once_something_is_drawn(lead):
    paper = capped(lead)
    draw_opening(actor=lead, paper=paper, quantity=5, on=date(2026, 2, 1), reason="report")
    paper.refresh_from_db()
    with pytest.raises(ValidationError, match="The unit stays seeds"):
        amend(lead, paper, timezone.localdate(), cap_unit="plants")
