"""`verify` and the append-only tables: a changed, added or removed row is named, and so is a trigger that is gone."""

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from plantings.models import Observation
from registry.calc.audit.chain import chain_sha256
from registry.models import (
    AuditEntry,
    AuthorizationDraw,
    AuthorizationStateRecord,
    AuthorizationVersion,
    Determination,
    DutyDone,
    IdentityQuestion,
    LedgerEntry,
)
from registry.models.append_only import unprotect_statements
from registry.selectors.audit.record_hashes import HASHES, append_only_models
from registry.selectors.audit.verify import verify_book
from registry.services.duties.duties import duty_done_enter
from registry.services.permits.authorizations import document_add
from registry.services.prints.issued import print_record
from tests import factories
from tests.registry.audit.verify_help import faults, in_the_database, verify

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("model", append_only_models(), ids=lambda model: model._meta.model_name)
def test_a_table_whose_triggers_are_gone_is_named(model):
    table = model._meta.db_table
    with connection.cursor() as cursor:
        for statement in unprotect_statements(table, connection.vendor):
            cursor.execute(statement)
    verbs = ["UPDATE and DELETE", "TRUNCATE"] if connection.vendor == "postgresql" else ["UPDATE", "DELETE"]
    assert faults() == [f"table {table}: the database no longer refuses {verb}" for verb in verbs]
    assert verify()[0] == 1


def test_a_trigger_that_refuses_nothing_is_named():
    table = AuthorizationVersion._meta.db_table
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER {table}_append_only")
        else:
            cursor.execute(f"DROP TRIGGER {table}_no_update")
            cursor.execute(f"CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} BEGIN SELECT 1; END")
    [fault] = faults()
    assert fault.startswith(f"table {table}: the database no longer refuses UPDATE")


@pytest.mark.parametrize(
    ("model", "sql"),
    [
        (AuthorizationVersion, "UPDATE {table} SET ends_on = '2039-12-31' WHERE id = %s"),
        (AuthorizationVersion, "UPDATE {table} SET destinations = '[\"US\"]' WHERE id = %s"),
        (AuthorizationStateRecord, "UPDATE {table} SET {on} = '2020-01-01' WHERE id = %s"),
        (AuthorizationDraw, "UPDATE {table} SET subject = 'another' WHERE id = %s"),
        (DutyDone, "UPDATE {table} SET evidence = 'another' WHERE id = %s"),
        (LedgerEntry, "UPDATE {table} SET reason = 'another' WHERE id = %s"),
        (Determination, "UPDATE {table} SET override_reason = 'another' WHERE id = %s"),
    ],
)
def test_a_changed_append_only_row_is_named(records, model, sql):
    on = DAY_DONE
    duty = factories.duty(actor=records["lead"], first_due_on=on)
    duty_done_enter(actor=records["lead"], duty=duty, due_on=on, done_on=on, by="A", evidence="letter 12")
    assert faults() == []
    table, last = model._meta.db_table, model.objects.order_by("pk").last()
    in_the_database(table, sql.format(table=table, on=connection.ops.quote_name("on")), last.pk)
    assert f"{model._meta.model_name} {last.pk}: it was changed after it was written" in faults()


DAY_DONE = factories.day(2020, 3, 1)


def test_an_added_and_a_removed_row_are_named(records):
    duty = factories.duty(actor=records["lead"], first_due_on=DAY_DONE)
    done = duty_done_enter(actor=records["lead"], duty=duty, due_on=DAY_DONE, done_on=DAY_DONE, by="A", evidence="letter 12")
    values = {"due_on": DAY_DONE, "done_on": DAY_DONE, "evidence": "x", "entered_at": done.entered_at}
    [other] = factories.put_in(DutyDone(duty=duty, by="B", **values))
    [fault] = faults()
    assert fault.startswith(f"dutydone {other.pk}: the audit trail has no hash of it. It was added outside the program.")
    in_the_database("registry_dutydone", "DELETE FROM registry_dutydone")
    assert faults() == [f"dutydone {done.pk}: it was removed"]


def test_rows_rolled_back_leave_no_hash(records):
    for _time in range(2):
        with pytest.raises(ZeroDivisionError), transaction.atomic():
            factories.stock_lot(actor=records["lead"], plants=7)
            raise ZeroDivisionError
    assert faults() == []
    factories.authorization(actor=records["lead"])
    assert faults() == []


def test_a_print_is_hashed_under_its_earlier_name(records):
    """The model was IssuedPaper; what is in the chain is not renamed."""
    made = print_record(actor=records["lead"], kind="labels", title="Labels", filename="a.pdf", content=b"x")
    entry = AuditEntry.objects.get(record_id=made.pk, verb="issuedpaper.handed_out")
    said = {
        "id": made.pk, "entered_by_id": records["lead"].pk, "entered_at": made.entered_at.isoformat(timespec="microseconds"), "kind": "labels",
        "title": "Labels", "filename": "a.pdf", "sha256": made.sha256, "size_bytes": 1,
    }  # fmt: skip
    assert (entry.record_type, entry.changes[HASHES][1]) == ("issuedpaper", {f"issuedpaper {made.pk}": chain_sha256("", said)})
    assert faults() == []
    in_the_database("registry_issuedprint", "UPDATE registry_issuedprint SET title = 'Other'")
    assert f"issuedpaper {made.pk}: it was changed after it was written" in faults()


def test_changed_and_removed_census_records_show_by_planting():
    planting, other = factories.planting(code="PL-A"), factories.planting(code="PL-B")
    for each in (planting, other):
        trees, census_round = factories.trees(each, count=4), factories.census_round(each)
        factories.observe(census_round, dict.fromkeys(trees[:2], "A"), height_cm=120)
        factories.observe(census_round, dict.fromkeys(trees[2:], "A"))
    assert faults() == []
    first = Observation.objects.filter(round__planting=planting).first()
    table = Observation._meta.db_table
    in_the_database(table, f"UPDATE {table} SET height_cm = 121 WHERE id = %s", first.pk)
    assert faults() == ["planting PL-A: of its 4 census records at least one was changed after it was written"]
    in_the_database(table, f"DELETE FROM {table} WHERE id = %s", first.pk)
    assert faults() == ["planting PL-A: 4 census records were written, 3 are there"]


def test_a_ledger_line_without_an_audit_entry_gets_one():
    lead = factories.person("lead")
    lot = factories.seed_lot(actor=lead, seeds=10)
    entry = AuditEntry.objects.get(verb="ledgerentry.added")
    assert (entry.actor, list(entry.changes[HASHES][1])) == (lead, [f"ledgerentry {lot.ledger.get().pk}"])
    assert faults() == []


def test_a_removed_mark_of_identity_is_named(records):
    question = IdentityQuestion.objects.get()
    question.lots.through.objects.all().delete()
    [fault] = faults()
    assert fault == f"question {question.pk} about {records['lot'].code}, lots: stored 0: ; by the rule 1: {records['lot'].code}"


def test_more_records_cost_no_more_queries(records, django_assert_num_queries):
    """Rows are read as a stream, five hundred a fetch; only a question of identity costs queries of its own."""
    with CaptureQueriesContext(connection) as few:
        list(verify_book())
    for _more in range(3):
        paper = factories.authorization(actor=records["lead"])
        document_add(actor=records["lead"], paper=paper, content=f"%PDF-1.7 {paper.code}".encode(), filename="p.pdf", title="Permit")
    with django_assert_num_queries(len(few)):
        list(verify_book())
