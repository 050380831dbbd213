"""Evidence, questions and their settlement on screen."""

import datetime

import pytest
from django.urls import reverse

from registry.models import IdentityEvidence, IdentityQuestion, Lot, PollenPool, PollenPoolMember
from registry.selectors.identity.questions import RULE, affected_pools, pollen_in_question
from registry.services.identity.questions import question_raise, question_settle
from registry.views.identity.parts import IDENTITY_ACTIONS, IDENTITY_FACT, IDENTITY_SECTIONS
from registry.views.lots.lots import LotDetailView
from registry.views.orchard.pools import PollenPoolDetailView
from registry.views.pedigree.trees import PedigreeTreeDetailView
from registry.views.shared.sections import drawn
from tests import factories
from tests.pages import drawn_sections, record_page
from tests.registry.identity.question_help import DAY, evidence

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client):
    person = factories.person("coordinator")
    client.force_login(person)
    return client, person


def test_marking_in_question_leads_to_its_impact(office):
    client, person = office
    tree = factories.pedigree_tree(code="MOTHER")
    address = reverse("identityquestion_add", args=["pedigreetree", tree.pk])
    assert "their father is the pool" in client.get(address).content.decode()
    refused = client.post(address, {"raised_on": "2024-06-03", "reason": ""})
    assert refused.status_code == 200 and not IdentityQuestion.objects.exists()
    response = client.post(address, {"raised_on": "2024-06-03", "reason": "leaf hair does not fit"}, follow=True)
    assert response.redirect_chain == [(f"/impact/pedigreetree/{tree.pk}/", 302)]
    page = response.content.decode()
    assert "MOTHER is now in question" in page and "leaf hair does not fit" in page
    assert IdentityQuestion.objects.get().entered_by == person


def test_settling_takes_two_steps_and_the_first_changes_nothing(office):
    client, person = office
    tree = factories.pedigree_tree()
    for _ in range(2):
        factories.seed_lot(mother=tree)
    question = question_raise(actor=person, about=tree, raised_on=DAY, reason="tag lost")
    question_raise(actor=person, about=Lot.objects.first(), raised_on=DAY, reason="label lost")
    address = reverse("identityquestion_settle", args=[question.pk])
    answers = {"outcome": "confirmed", "text": "Genotype agrees.", "on": "2024-07-01"}
    second = client.post(address, answers)
    page = second.content.decode()
    assert "1 tree and 1 lot will lose the mark. 1 lot keeps it, because another question marks it too." in page
    assert 'type="hidden" name="text" value="Genotype agrees."' in page
    question.refresh_from_db()
    assert question.settled_on is None
    response = client.post(address, answers | {"confirmed": "on"}, follow=True)
    assert "Question settled." in response.content.decode()
    question.refresh_from_db()
    assert (question.settled_on, question.settlement, question.settled_by) == (datetime.date(2024, 7, 1), "confirmed", person)


def test_a_refused_question_comes_back_with_everything_typed(office):
    client, person = office
    question = question_raise(actor=person, about=factories.pedigree_tree(), raised_on=DAY, reason="tag lost")
    answers = {"outcome": "corrected", "text": "it is T9", "on": "2024-06-02", "confirmed": "on"}
    page = client.post(reverse("identityquestion_settle", args=[question.pk]), answers).content.decode()
    assert "cannot be settled before that day" in page and "it is T9" in page and "<textarea" in page
    question.refresh_from_db()
    assert question.settled_on is None


def test_contradicting_evidence_asks_for_a_question(office):
    client, person = office
    tree = factories.pedigree_tree()
    address = reverse("identityevidence_add", args=["pedigreetree", tree.pk])
    values = {"kind": "phenotype", "outcome": "contradicts", "on": "2024-06-03", "by": "A. Reader", "text": "no hair on the twig"}
    page = client.post(address, values, follow=True).content.decode()
    assert "It contradicts the identity" in page
    assert IdentityEvidence.objects.get().tree == tree

    def due():
        return due_texts(PedigreeTreeDetailView, person, tree)

    assert due() == ["Evidence contradicts its identity, and no question is open. Mark it in question, or enter what settles it."]
    question = question_raise(actor=person, about=tree, raised_on=DAY, reason="twig")
    assert due() == ["Identity in question: twig"]
    question_settle(actor=person, question=question, outcome="confirmed", text="young leaf", on=DAY)
    assert due() == []
    # it came in after the settlement, of an earlier day than all that was known by then
    evidence(person, tree, on=DAY - datetime.timedelta(days=400))
    assert due() == ["Evidence contradicts its identity, and no question is open. Mark it in question, or enter what settles it."]


def due_texts(view, person, record):
    return [duty.text for duty in record_page(view, person, record).identity_due()]


def test_a_page_says_why_a_record_is_in_question():
    manager, tree = factories.person("manager"), factories.pedigree_tree(code="MOTHER")
    child = factories.pedigree_tree(mother=tree)
    question_raise(actor=manager, about=tree, raised_on=DAY, reason="tag lost")
    page = record_page(PedigreeTreeDetailView, manager, child)
    assert [duty.text for duty in page.identity_due()] == ["Identity in question through pedigree tree MOTHER: tag lost"]
    assert IDENTITY_FACT.draw(page)[:2] == ("Identity", "in question")
    assert [label for label, _url in drawn(page, IDENTITY_ACTIONS)] == [
        "What does it affect?", "Enter evidence of identity", "Mark in question",
    ]  # fmt: skip
    auditor = record_page(PedigreeTreeDetailView, factories.person("auditor"), child)
    assert [label for label, _url in drawn(auditor, IDENTITY_ACTIONS)] == ["What does it affect?"]
    volunteer = record_page(PedigreeTreeDetailView, factories.person("volunteer"), child)
    assert (volunteer.identity_due(), IDENTITY_FACT.draw(volunteer), drawn(volunteer, IDENTITY_ACTIONS)) == ([], None, [])
    assert drawn_sections(volunteer, IDENTITY_SECTIONS) == ({}, [], [])


def test_a_lot_with_a_doubtful_pool_member_is_listed():
    actor, member = factories.person(), factories.pedigree_tree()
    pool = PollenPool.objects.create(code="POOL", orchard="O", flowering_year=2019)
    for tree in (member, factories.pedigree_tree(), factories.pedigree_tree()):
        PollenPoolMember.objects.create(pool=pool, tree=tree)
    lot = factories.seed_lot(pollen_pool=pool)
    assert due_texts(LotDetailView, actor, lot) == []
    question_raise(actor=actor, about=member, raised_on=DAY, reason="tag lost")
    assert pollen_in_question(pool) == (1, 3)
    [affected] = affected_pools({member.pk})
    assert affected.words == "affected as one of 3 pollen parents it names; 1 lot of this pool, not marked"
    assert due_texts(LotDetailView, actor, lot) == ["Affected, not marked: 1 of 3 in pollen pool POOL is in question."]
    assert IDENTITY_FACT.draw(record_page(LotDetailView, actor, lot))[1] == "as recorded; no evidence entered"
    assert [duty.severity for duty in record_page(PollenPoolDetailView, actor, pool).identity_due()] == ["info"]


@pytest.mark.parametrize("size", [1, 30])
def test_more_marked_records_cost_no_more_queries(office, size, django_assert_num_queries):
    client, person = office
    tree = factories.pedigree_tree(code="MOTHER")
    for _ in range(size):
        factories.seed_lot(mother=factories.pedigree_tree(mother=tree))
    question = question_raise(actor=person, about=tree, raised_on=DAY, reason="tag lost")
    with django_assert_num_queries(9):
        page = client.get(reverse("identityquestion_detail", args=[question.pk])).content.decode()
    assert RULE.split(";")[0] in page and f"{size + 1} trees" in page


@pytest.mark.parametrize("record", ["partner", "shipment"])
def test_identity_is_of_trees_lots_and_pools_only(office, record):
    client, _person = office
    assert client.get(f"/identity/{record}/1/question/").status_code == 404


def test_the_list_tells_open_from_settled(office):
    client, person = office
    one, two = factories.pedigree_tree(code="ONE"), factories.pedigree_tree(code="TWO")
    question_settle(
        actor=person, question=question_raise(actor=person, about=one, raised_on=DAY, reason="a"), outcome="confirmed", text="b", on=DAY
    )
    question_raise(actor=person, about=two, raised_on=DAY, reason="c")
    addresses = {"": ("ONE", "TWO"), "?state=open": ("TWO",), "?state=settled": ("ONE",)}
    for query, codes in addresses.items():
        page = client.get(reverse("identityquestion_list") + query).content.decode()
        assert tuple(code for code in ("ONE", "TWO") if code in page) == codes
