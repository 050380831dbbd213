"""Drafts that together need more than is left under a paper, and drafts under a paper for one consignment: invented cases."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from registry.models import Determination, Lot
from registry.selectors.gate.determinations import shipment_answer
from registry.selectors.gate.facts import facts_of, gate_facts
from registry.selectors.gate.questions import shipment_question, shipment_questions
from registry.services.gate.draws import draw_opening
from registry.services.movements.shipments import shipment_cancel, shipment_dispatch, shipment_line_set
from registry.services.permits.authorizations import authorization_save
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db
# 60 + 60 − 100 = 20
BOTH = "Drafts SH-1 (60) and SH-2 (60) go under P-1, which has 100 seeds left: together they need 20 more than it has."
ONE = "Drafts SH-1 and SH-2 go under C-1, which holds for one consignment: the first to leave uses it up."


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def lot(lead):
    return hybrid_lot(lead)


@pytest.fixture
def today(monkeypatch):
    """Pages are drawn as of the day of the invented rules and papers."""
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *args: DAY)
    return DAY


def capped(lead, code="P-1", cap=100, **fields):
    return permit(lead, code=code, cap_quantity=cap, cap_unit="seeds", **fields)


def due(client, record):
    name = "shipment_detail" if record._meta.model_name == "shipment" else "authorization_detail"
    return [duty.text for duty in client.get(reverse(name, args=[record.pk])).context["due"]]


def test_two_drafts_beyond_the_cap_say_so_on_shipments_and_paper(client, lead, lot, today):
    rule()
    paper = capped(lead)
    first, second = draft(lead, lot, 60, code="SH-1"), draft(lead, lot, 60, code="SH-2")
    client.force_login(lead)
    assert {shipment_answer(one, DAY).verdict for one in (first, second)} == {"covered"}
    for record in (first, second, paper):
        assert BOTH in due(client, record), record
    assert BOTH in client.get(reverse("shipment_dispatch", args=[first.pk])).content.decode()
    assert not Determination.objects.exists()
    shipment_cancel(actor=lead, shipment=second, reason="not wanted")
    assert not any("together they need" in text for record in (first, paper) for text in due(client, record))


def test_what_was_drawn_before_is_no_longer_left(client, lead, lot, today):
    rule()
    paper = capped(lead, cap=150)
    draft(lead, lot, 60, code="SH-1"), draft(lead, lot, 60, code="SH-2")
    client.force_login(lead)
    assert not any("together they need" in text for text in due(client, paper))
    draw_opening(actor=lead, paper=paper, quantity=50, on=DAY, reason="the office's own list")
    assert BOTH in due(client, paper)


def test_drafts_within_the_cap_or_under_two_papers_say_nothing(client, lead, lot, today):
    rule()
    first_paper, second_paper = capped(lead), capped(lead, "P-2")
    first, second = draft(lead, lot, 60, code="SH-1"), draft(lead, lot, 60, code="SH-2")
    client.force_login(lead)
    # once the first has left, the gate lets the second draw on P-2
    for record in (first, second, first_paper, second_paper):
        assert not any("together they need" in text for text in due(client, record)), record
    for shipment in (first, second):
        shipment_line_set(actor=lead, shipment=shipment, lot=lot, form="seed", quantity=60, draw_on=["P-1"])
    assert BOTH in due(client, first) and BOTH in due(client, first_paper)
    assert not any("together they need" in text for text in due(client, second_paper))
    shipment_line_set(actor=lead, shipment=second, lot=lot, form="seed", quantity=60, draw_on=["P-2"])
    shipment_line_set(actor=lead, shipment=first, lot=lot, form="seed", quantity=40, draw_on=["P-1"])
    for record in (first, second, first_paper, second_paper):
        assert not any("together they need" in text for text in due(client, record)), record


def test_a_draft_that_cannot_go_under_the_paper_is_not_counted(client, lead, lot, today):
    rule()
    paper = capped(lead)
    first = draft(lead, lot, 60, code="SH-1")
    elsewhere = factories.partner(kind="nursery", region="US-NH")  # the permit is for Vermont
    draft(lead, lot, 60, code="SH-2", receiver=elsewhere)
    draft(lead, factories.seed_lot(actor=lead, seeds=90), 60, code="SH-3")  # no hybrid: no rule asks for a paper
    client.force_login(lead)
    assert not any("together they need" in text for record in (first, paper) for text in due(client, record))


def test_a_cap_raised_before_the_last_draft_leaves_is_enough(client, lead, lot, today):
    rule()
    paper = capped(lead)
    later = DAY + timedelta(days=20)
    first = draft(lead, lot, 60, code="SH-1", planned_on=DAY)
    draft(lead, lot, 60, code="SH-2", planned_on=later)
    client.force_login(lead)
    assert BOTH in due(client, first)
    paper.cap_quantity = 200
    authorization_save(actor=lead, paper=paper, from_on=later, reason="amended by the office")
    assert not any("together they need" in text for record in (first, paper) for text in due(client, record))


def test_two_drafts_under_a_paper_for_one_consignment_say_so(client, lead, lot, today):
    rule(any_of=[["certificate"]])
    paper = permit(lead, code="C-1", type="certificate", one_consignment=True)
    first, second = draft(lead, lot, code="SH-1"), draft(lead, lot, code="SH-2")
    client.force_login(lead)
    for record in (first, second, paper):
        assert ONE in due(client, record), record
    shipment_dispatch(actor=lead, shipment=first, on=DAY)
    assert shipment_answer(second, DAY).verdict == "stop"
    assert not any("one consignment" in text for record in (second, paper) for text in due(client, record))


def test_two_certificates_for_two_drafts_say_nothing(client, lead, lot, today):
    rule(any_of=[["certificate"]])
    papers = [permit(lead, code=code, type="certificate", one_consignment=True) for code in ("C-1", "C-2")]
    first = draft(lead, lot, code="SH-1")
    draft(lead, lot, code="SH-2")
    client.force_login(lead)
    for record in (first, *papers):
        assert not any("one consignment" in text for text in due(client, record)), record


def test_a_certificate_chosen_for_two_drafts_is_said_without_a_rule(client, lead, lot, today):
    paper = permit(lead, code="C-1", type="certificate", one_consignment=True)
    first, second = draft(lead, lot, code="SH-1"), draft(lead, lot, code="SH-2")
    for shipment in (first, second):
        shipment.authorizations.add(paper)
    client.force_login(lead)
    for record in (first, second, paper):
        assert ONE in due(client, record), record


def test_a_certificate_that_has_left_is_not_to_be_used_up(client, lead, lot, today):
    paper = permit(lead, code="C-1", type="certificate", one_consignment=True)
    gone, first, second = (draft(lead, lot, code=code) for code in ("SH-0", "SH-1", "SH-2"))
    for shipment in (gone, first, second):
        shipment.authorizations.add(paper)
    shipment_dispatch(actor=lead, shipment=gone, on=DAY)
    client.force_login(lead)
    for record in (first, second, paper):
        assert not any("one consignment" in text for text in due(client, record)), record


def test_a_reader_without_papers_learns_of_no_other_draft(client, lead, lot, today):
    rule()
    capped(lead)
    receiver = factories.partner(kind="landowner", region="US-VT")
    first = draft(lead, lot, 60, code="SH-1", receiver=receiver)
    draft(lead, lot, 60, code="SH-2")
    client.force_login(factories.person("landowner", partner=receiver))
    page = client.get(reverse("shipment_detail", args=[first.pk]))
    assert page.status_code == 200 and "together they need" not in page.content.decode()


def test_another_draft_costs_one_query_until_papers_fall_short(client, lead, lot, today):
    rule()
    paper = capped(lead, cap=1000)
    first = draft(lead, lot, 60, code="SH-1")
    client.force_login(lead)

    def queries(record):
        due(client, record)
        with CaptureQueriesContext(connection) as asked:
            due(client, record)
        return len(asked)

    pages = (first, paper)
    alone = [queries(record) for record in pages]
    draft(lead, lot, 60, code="SH-2")
    some = [queries(record) for record in pages]
    assert all(0 <= more - few <= 1 for more, few in zip(some, alone, strict=True)), (alone, some)
    for number in range(3, 7):
        draft(lead, lot, 60, code=f"SH-{number}")
    assert [queries(record) for record in pages] == some
    for number in range(7, 11):
        draft(lead, lot, 200, code=f"SH-{number}")
    short = [queries(record) for record in pages]
    assert "together they need 160 more than it has" in due(client, first)[0]  # 6 × 60 + 4 × 200 − 1000
    for number in range(11, 14):
        draft(lead, lot, 60, code=f"SH-{number}")
    assert [queries(record) for record in pages] == short


def test_several_questions_are_the_same_as_one_at_a_time(lead, lot):
    rule()
    capped(lead)
    permit(lead, code="C-1", type="certificate", one_consignment=True)
    other = factories.stock_lot(actor=lead, plants=50)
    first = draft(lead, lot, 60, origin_region="US-NY")
    second = factories.shipment(actor=lead, lots=[(other, "bareroot", 5), (lot, "seed", 7)])
    pairs = [(first, DAY), (second, date(2026, 5, 1)), (factories.shipment(actor=lead), DAY)]
    questions = shipment_questions(pairs)
    assert questions == [shipment_question(*pair) for pair in pairs]
    assert [set(facts.requirements) for facts in facts_of(questions)] == [set(gate_facts(question).requirements) for question in questions]


def test_an_arrival_after_the_use_by_date_is_said(client, lead, lot, today):
    Lot.objects.filter(pk=lot.pk).update(use_by=DAY + timedelta(days=2))  # 8 Apr 2026
    shipment = draft(lead, lot, code="SH-1", planned_on=DAY, arrives_on=DAY + timedelta(days=3))
    client.force_login(lead)
    words = f"Lot {lot.code} is to be used by 8 Apr 2026, and it arrives on 9 Apr 2026."
    assert words in due(client, shipment)
    assert words in client.get(reverse("shipment_dispatch", args=[shipment.pk])).content.decode()
    (found,) = (finding for finding in shipment_answer(shipment, DAY).findings if finding.kind == "use_by")
    assert found.title == "The use-by date passes before it arrives" and found.lots == (lot.code,)
    shipment.arrives_on = DAY + timedelta(days=2)
    shipment.save()
    assert not any("is to be used by" in text for text in due(client, shipment))
