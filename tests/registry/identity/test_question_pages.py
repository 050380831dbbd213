"""Evidence, questions and their settlement: the services and their pages."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from registry.imports.lots.lots import LotSheet
from registry.imports.sheets.formats import write_rows
from registry.imports.sheets.table import read_table
from registry.models import AuditEntry, IdentityEvidence, IdentityQuestion, Lot, PollenPool, PollenPoolMember
from registry.selectors.identity.questions import RULE, affected_pools, pollen_in_question, question_duties
from registry.services.identity.questions import evidence_enter, question_raise, question_settle
from registry.services.pedigree.parents import tree_save
from registry.views.identity.parts import IDENTITY_ACTIONS, IDENTITY_FACT, IDENTITY_SECTIONS
from registry.views.lots.lots import LotDetailView
from registry.views.orchard.pools import PollenPoolDetailView
from registry.views.pedigree.trees import PedigreeTreeDetailView
from registry.views.shared.sections import drawn
from tests import factories
from tests.pages import drawn_sections, record_page

pytestmark = pytest.mark.django_db
DAY = datetime.date(2024, 6, 3)


def tomorrow():
    return timezone.localdate() + datetime.timedelta(1)


def evidence(actor, about, outcome="contradicts", on=DAY):
    return evidence_enter(actor=actor, about=about, kind="genotype", outcome=outcome, on=on, by="A. Reader", text="two loci do not fit")


# -- services ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("about", ["tree", "lot", "pool"])
def test_evidence_stays_in_the_history_of_its_record(about):
    actor = factories.person("manager")
    record = {
        "tree": factories.pedigree_tree, "lot": factories.seed_lot,
        "pool": lambda: PollenPool.objects.create(code="POOL", orchard="O", flowering_year=2019),
    }[about]()  # fmt: skip
    made = evidence(actor, record)
    assert (getattr(made, about), made.entered_by, made.outcome) == (record, actor, "contradicts")
    entry = AuditEntry.objects.get(verb=f"{record._meta.model_name}.evidence_entered", record_id=record.pk)
    assert (entry.reason, entry.changes["outcome"]) == ("two loci do not fit", [None, "contradicts the identity"])
    assert not IdentityQuestion.objects.exists()


@pytest.mark.parametrize(
    ("fields", "field", "words"),
    [
        ({"raised_on": tomorrow}, "raised_on", "has not come yet"),
        ({"reason": "  "}, "reason", "Say what makes the identity doubtful"),
        ({"reason": " TAG lost"}, "reason", "already open, with the same reason"),
    ],
)
def test_a_question_needs_a_past_day_and_a_new_reason(fields, field, words):
    actor, tree = factories.person(), factories.pedigree_tree()
    question_raise(actor=actor, about=tree, raised_on=DAY, reason="tag lost")
    values = {name: value() if callable(value) else value for name, value in fields.items()}
    with pytest.raises(ValidationError) as refused:
        question_raise(**({"actor": actor, "about": tree, "raised_on": DAY, "reason": "another"} | values))
    assert words in refused.value.message_dict[field][0]
    assert IdentityQuestion.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"on": DAY - datetime.timedelta(1)}, "cannot be settled before that day"),
        ({"on": None}, "has not come yet"),
        ({"text": " "}, "Say how it was settled"),
        ({"outcome": "guessed"}, "not a valid choice"),
    ],
)
def test_a_settlement_needs_its_day_its_outcome_and_how(fields, words):
    actor = factories.person()
    question = question_raise(actor=actor, about=factories.pedigree_tree(), raised_on=DAY, reason="tag lost")
    values = {"outcome": "confirmed", "text": "found", "on": DAY} | {name: value or tomorrow() for name, value in fields.items()}
    with pytest.raises(ValidationError, match=words):
        question_settle(actor=actor, question=question, **values)
    question.refresh_from_db()
    assert question.settled_on is None


def _change(actor, tree, **fields):
    for name, value in fields.items():
        setattr(tree, name, value)
    tree_save(actor=actor, tree=tree, reason="as found")


@pytest.mark.parametrize(("fields", "corrected"), [({}, False), ({"note": "looked at"}, False), ({"recurrent_line": "L2"}, True)])
def test_settled_as_corrected_needs_a_correction(fields, corrected):
    actor, tree = factories.person(), factories.pedigree_tree(code="SL-K-02")
    _change(actor, tree, source_of_resistance="Heron")
    today = tomorrow() - datetime.timedelta(1)
    question = question_raise(actor=actor, about=tree, raised_on=today, reason="tag lost")
    _change(actor, tree, **fields)
    if corrected:
        assert question_settle(actor=actor, question=question, outcome="corrected", text="another line", on=today).settled_on == today
        return
    with pytest.raises(ValidationError, match="Nobody has changed the identity or the parents of pedigree tree SL-K-02") as refused:
        question_settle(actor=actor, question=question, outcome="corrected", text="it is T9", on=today)
    assert list(refused.value.message_dict) == ["outcome"]
    assert question_settle(actor=actor, question=question, outcome="confirmed", text="it holds", on=today).settled_on == today


def test_a_correction_made_before_the_question_was_entered_counts():
    actor, tree = factories.person(), factories.pedigree_tree()
    _change(actor, tree, code="T9")
    question = question_raise(actor=actor, about=tree, raised_on=DAY, reason="tag lost")
    assert question_settle(actor=actor, question=question, outcome="corrected", text="it is T9", on=DAY).settled_on == DAY


def test_a_settled_question_still_lists_what_it_marked():
    actor, tree = factories.person(), factories.pedigree_tree()
    lot = factories.seed_lot(mother=tree)
    question = question_raise(actor=actor, about=tree, raised_on=DAY, reason="tag lost")
    tree.code = "T9"
    tree_save(actor=actor, tree=tree, reason="the old tag was found")
    settled = question_settle(actor=actor, question=question, outcome="corrected", text="it is T9", on=DAY)
    assert (settled.settled_by, set(settled.lots.all())) == (actor, {lot})
    with pytest.raises(ValidationError, match="was settled on 3 Jun 2024"):
        question_settle(actor=actor, question=question, outcome="confirmed", text="again", on=DAY)
    assert AuditEntry.objects.filter(verb="pedigreetree.question_settled", record_id=tree.pk).get().reason == "it is T9"
    assert AuditEntry.objects.filter(verb="identityquestion.settled", record_id=question.pk).exists()


def test_lots_loaded_by_a_sheet_are_marked_and_a_preview_is_not():
    actor, tree = factories.person(), factories.pedigree_tree(code="MOTHER")
    question = question_raise(actor=actor, about=tree, raised_on=DAY, reason="tag lost")
    headers, example = LotSheet.template_rows()
    rows = []
    for number in range(3):
        row = dict(zip(headers, example, strict=True)) | {
            "Lot": f"NEW{number}",
            "Mother": "MOTHER",
            "Pollen pool": "",
            "Binomial": tree.taxon.name,
        }
        rows.append([row[header] for header in headers])
    table = read_table(write_rows(headers, rows, "csv"), "lots.csv")
    dataset = table.dataset()
    sheet = LotSheet()
    sheet.store(sheet.plan(dataset), actor, trial=True)
    assert question.lots.count() == 0
    sheet.store(sheet.plan(dataset), actor)
    assert set(question.lots.values_list("code", flat=True)) == {"NEW0", "NEW1", "NEW2"}


def test_a_shipment_names_its_lots_in_question():
    actor, tree = factories.person(), factories.pedigree_tree(code="MOTHER")
    lots = [factories.seed_lot(code=f"L{number}", mother=tree) for number in range(5)]
    question = question_raise(actor=actor, about=tree, raised_on=DAY, reason="tag lost")
    [duty] = question_duties({lot.pk for lot in lots})
    assert duty.text == "Identity of lots L0, L1, L2 and 2 more in question, through pedigree tree MOTHER: tag lost"
    assert (duty.due, duty.url) == (DAY, reverse("identityquestion_detail", args=[question.pk]))
    other = factories.seed_lot(code="OTHER")
    assert question_duties({other.pk}) == []
    question_raise(actor=actor, about=other, raised_on=DAY, reason="label lost")
    assert [duty.text for duty in question_duties({other.pk})] == ["Identity of lot OTHER in question: label lost"]
    assert question_duties(set()) == []


# -- pages --------------------------------------------------------------------------------------------


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
