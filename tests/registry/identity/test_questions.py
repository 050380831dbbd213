"""Evidence and questions of identity: what they need, what they mark, and when they are settled."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from registry.imports.lots.lots import LotSheet
from registry.imports.sheets.formats import write_rows
from registry.imports.sheets.table import read_table
from registry.models import AuditEntry, IdentityQuestion, PollenPool
from registry.selectors.identity.questions import question_duties
from registry.services.identity.questions import question_raise, question_settle
from registry.services.pedigree.parents import tree_save
from tests import factories
from tests.registry.identity.question_help import DAY, evidence

pytestmark = pytest.mark.django_db


def tomorrow():
    return timezone.localdate() + datetime.timedelta(1)


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
    sheet = LotSheet()
    sheet.store(sheet.plan(table), actor, trial=True)
    assert question.lots.count() == 0
    sheet.store(sheet.plan(table), actor)
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
