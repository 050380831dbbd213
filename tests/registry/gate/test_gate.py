"""The gate before a dispatch: what stops, what is drawn, what is stored. The rules of the answer itself are tested in tests/compliance."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction

from registry.models import (
    AuditEntry,
    Authorization,
    AuthorizationDraw,
    Determination,
    MaterialClass,
    PollenPool,
    PollenPoolMember,
)
from registry.selectors.gate.determinations import repeat_fault
from registry.selectors.gate.facts import gate_facts
from registry.selectors.gate.questions import shipment_question
from registry.services.gate.draws import draw_return
from registry.services.movements.shipments import shipment_dispatch
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db


def test_a_missing_paper_stops_the_dispatch_and_draws_nothing(lead):
    rule()
    lot = hybrid_lot(lead)
    shipment = draft(lead, lot)
    with pytest.raises(ValidationError) as refused:
        shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    message = " ".join(refused.value.message_dict["override_reason"])
    assert "Hybrids into Vermont" in message and "permit" in message
    shipment.refresh_from_db()
    lot.refresh_from_db()
    assert (shipment.state, lot.balance, Determination.objects.filter(carried_out=True).count()) == ("draft", 2000, 0)


def test_a_covering_paper_lets_it_go_and_the_facts_are_stored(lead):
    rule()
    paper = permit(lead, code="P-1")
    permit(lead, code="P-NH", limits={"destinations": ["US-NH"]})
    shipment = draft(lead, hybrid_lot(lead))
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    kept = Determination.objects.get()
    assert (kept.verdict, kept.subject, kept.carried_out, list(kept.authorizations.all())) == ("covered", shipment.code, True, [paper])
    assert [one["code"] for one in kept.facts["requirements"]] == ["EX-R1"]
    assert AuditEntry.objects.filter(verb="determination.stored").count() == 1


def test_a_stored_answer_repeats_after_the_records_changed(lead):
    kept_rule, paper = rule(), permit(lead)
    shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead)), on=DAY)
    kept_rule.delete()
    Authorization.objects.filter(pk=paper.pk).update(state="closed")
    kept = Determination.objects.get()
    assert repeat_fault(kept) == ""
    kept.facts["papers"][0]["versions"][0]["destinations"] = ["US-NH"]
    assert "the gate now says “stop”" in repeat_fault(kept)
    kept.facts = {"kind": "facts", "format": 99}
    assert "cannot be read" in repeat_fault(kept)


def test_a_stored_answer_cannot_be_changed(lead):
    shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead)), on=DAY)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        Determination.objects.update(verdict="covered")


def test_without_a_rule_nothing_stops_and_nothing_is_covered(lead):
    shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead)), on=DAY)
    assert Determination.objects.get().verdict == "check"


def test_a_shipment_needs_a_named_receiver(lead):
    with pytest.raises(ValidationError, match="No receiver is named"):
        shipment_dispatch(actor=lead, shipment=draft(lead, hybrid_lot(lead), receiving_person=""), on=DAY)


def test_a_landowner_receives_nothing_without_an_agreement(lead):
    owner = factories.partner(region="US-VT")
    shipment = draft(lead, hybrid_lot(lead), receiver=owner)
    with pytest.raises(ValidationError, match="Agreement with the landowner"):
        shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    permit(lead, type="landowner", partner=owner, limits={"destinations": []})
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    assert Determination.objects.get(carried_out=True).verdict == "check"


def test_only_the_lead_overrides_and_only_with_a_reason(lead):
    rule()
    coordinator = factories.person("coordinator")
    shipment = draft(lead, hybrid_lot(lead))
    with pytest.raises(ValidationError, match="Only the programme lead"):
        shipment_dispatch(actor=coordinator, shipment=shipment, on=DAY, override_reason="the permit was read out by phone")
    with pytest.raises(ValidationError, match="Give the reason in a sentence"):
        shipment_dispatch(actor=lead, shipment=shipment, on=DAY, override_reason="ok")
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY, override_reason="the permit was read out by phone, copy follows")
    kept = Determination.objects.get(carried_out=True)
    assert Determination.objects.filter(carried_out=False, override_by=None).count() == 2
    assert (kept.verdict, kept.override_by, kept.override_reason) == ("stop", lead, "the permit was read out by phone, copy follows")
    assert AuditEntry.objects.get(verb="determination.overridden").reason == kept.override_reason


def test_a_cap_is_drawn_down_and_cannot_be_exceeded(lead):
    rule()
    paper = permit(lead, cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead)
    shipment_dispatch(actor=lead, shipment=draft(lead, lot, 380), on=DAY)
    paper.refresh_from_db()
    assert (paper.drawn, AuthorizationDraw.objects.get().quantity) == (380, 380)
    with pytest.raises(ValidationError, match="Hybrids into Vermont"):
        shipment_dispatch(actor=lead, shipment=draft(lead, lot, 121), on=DAY)
    shipment_dispatch(actor=lead, shipment=draft(lead, lot, 120), on=DAY)
    paper.refresh_from_db()
    assert paper.drawn == 500


def test_giving_back_to_a_cap_needs_a_reason_and_a_draw(lead):
    rule()
    paper = permit(lead, cap_quantity=500, cap_unit="seeds")
    lot = hybrid_lot(lead)
    shipment = draft(lead, lot, 300)
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    values = {"actor": lead, "paper": paper, "lot": lot, "on": DAY, "subject": shipment.code}
    with pytest.raises(ValidationError, match="Say why"):
        draw_return(**values, quantity=100, reason=" ")
    with pytest.raises(ValidationError, match="300 of lot"):
        draw_return(**values, quantity=301, reason="box came back unopened")
    draw_return(**values, quantity=100, reason="box came back, condition 4 counts it as not used")
    paper.refresh_from_db()
    assert paper.drawn == 200


def test_the_material_class_follows_from_descent(lead):
    rule()
    native = factories.seed_lot(actor=lead, seeds=50, mother=factories.pedigree_tree())
    lines = {line.lot: line for line in shipment_question(draft(lead, native, 10), DAY).lines}
    assert lines[native.code].classes == ()
    grandchild = factories.pedigree_tree(mother=hybrid_lot(lead).mother)
    lot = factories.seed_lot(actor=lead, seeds=50, mother=grandchild)
    assert shipment_question(draft(lead, lot, 10), DAY).lines[0].classes == ("hybrid",)


def test_an_engineered_pool_member_makes_the_class_possible(lead):
    MaterialClass.objects.create(code="engineered", title="Regulated engineered", rule="engineered")
    pool = PollenPool.objects.create(code="PP1", orchard="O", flowering_year=2019, outside_share=0)
    for tree in (factories.pedigree_tree(regulated_engineered=True), factories.pedigree_tree()):
        PollenPoolMember.objects.create(pool=pool, tree=tree)
    lot = factories.seed_lot(actor=lead, seeds=50, mother=factories.pedigree_tree(), pollen_pool=pool)
    line = shipment_question(draft(lead, lot, 10), DAY).lines[0]
    assert (line.classes, line.may_classes) == ((), ("engineered",))


def test_a_lot_in_question_does_not_go(lead):
    from registry.services.identity.questions import question_raise

    lot = hybrid_lot(lead)
    question_raise(actor=lead, about=lot.mother, raised_on=date(2026, 3, 1), reason="pollen was mixed up")
    with pytest.raises(ValidationError, match="Settle the identity"):
        shipment_dispatch(actor=lead, shipment=draft(lead, lot), on=DAY)


def test_the_facts_of_an_answer_equal_the_records(lead):
    """Read as text in bulk for speed, so held here against the records themselves."""
    kept = rule(
        blocking=False, is_example=True, from_on=date(2026, 1, 2), any_of=[["permit", "consent"], ["licence"]], text="Says “so”, in part"
    )
    rule(code="EX-R2", activities=["hold"])
    paper = permit(
        lead,
        limits={"destinations": ["US-VT"], "forms": ["seed"], "cap_quantity": 400, "cap_unit": "seeds", "cap_activities": ["dispatch"]},
    )
    question = shipment_question(draft(lead, hybrid_lot(lead)), DAY)
    facts = gate_facts(question)
    (read,) = facts.requirements
    assert (read.code, read.blocking, read.is_example) == ("EX-R1", False, True) and type(read.blocking) is bool
    assert read.any_of == (("permit", "consent"), ("licence",))
    for name in ("edition", "title", "source", "text", "from_on", "until_on", "verified_on", "review_by", "verified_with", "verified_by"):
        assert getattr(read, name) == getattr(kept, name), name
    for name in ("activities", "classes", "forms", "taxa", "origins", "destinations", "transits"):
        assert getattr(read, name) == tuple(getattr(kept, name)), name
    (read,) = facts.papers
    (said,), version = read.versions, paper.versions.get()
    assert (read.code, read.documents_present, [(one.on, one.state) for one in read.states][-1][1]) == (paper.code, True, "in_force")
    for name in ("number", "from_on", "starts_on", "ends_on", "cap_quantity", "cap_unit"):
        assert getattr(said, name) == getattr(version, name), name
    for name in (
        "under",
        "classes",
        "taxa",
        "lots",
        "forms",
        "activities",
        "origins",
        "destinations",
        "transits",
        "sites",
        "people",
        "cap_activities",
    ):
        assert getattr(said, name) == tuple(getattr(version, name)), name


def test_more_papers_and_rules_cost_no_more_queries(lead, django_assert_num_queries):
    from registry.selectors.gate.determinations import shipment_answer

    shipment = draft(lead, hybrid_lot(lead))
    rule()
    permit(lead)
    with CaptureQueries() as few:
        shipment_answer(shipment, DAY)
    for number in range(20):
        rule(code=f"R{number}")
        permit(lead)
    with django_assert_num_queries(len(few)):
        shipment_answer(shipment, DAY)


def CaptureQueries():
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    return CaptureQueriesContext(connection)
