"""`verify`: untouched records pass, and whatever was changed past the program is named."""

import io
import json
import os
import time
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from plantings.models import Observation
from plantings.services.sites import boundary_layer_add
from registry.calc.audit.chain import chain_sha256
from registry.compliance.gate.words import DISPATCH
from registry.models import (
    AuditEntry,
    AuditHead,
    AuthorizationDraw,
    AuthorizationStateRecord,
    AuthorizationVersion,
    Determination,
    DutyDone,
    IdentityQuestion,
    LedgerEntry,
    Requirement,
    StoredFile,
)
from registry.models.append_only import protect_statements, unprotect_statements
from registry.selectors.audit.record_hashes import HASHES, append_only_models
from registry.selectors.audit.verify import verify_book
from registry.selectors.permits.documents import stored_path
from registry.services.duties.duties import duty_done_enter
from registry.services.gate.draws import draw
from registry.services.identity.questions import question_raise
from registry.services.movements.shipments import shipment_dispatch
from registry.services.permits.authorizations import authorization_save, authorization_state_set, document_add
from registry.services.prints.issued import print_record
from registry.services.sheets.uploads import upload_keep
from tests import factories

pytestmark = pytest.mark.django_db


def verify(*args):
    """(exit code, what was printed, what was complained)."""
    out, err = io.StringIO(), io.StringIO()
    code = 0
    try:
        call_command("verify", *args, stdout=out, stderr=err)
    except SystemExit as end:
        code = end.code
    return code, out.getvalue(), err.getvalue()


def faults():
    return [fault for check in verify_book() for fault in check.faults]


def in_the_database(table, sql, *values):
    """A change made in the database itself by somebody who takes the triggers away and puts them back."""
    with connection.cursor() as cursor:
        for statement in unprotect_statements(table, connection.vendor):
            cursor.execute(statement)
        cursor.execute(sql, values)
        for statement in protect_statements(table, connection.vendor):
            cursor.execute(statement)


@pytest.fixture
def records():
    """A paper with an amendment, two states, a document and a draw; a shipment released by the gate; a question of identity."""
    lead = factories.person("lead")
    paper = factories.authorization(actor=lead, cap_quantity=100, cap_unit="plants", state="applied", starts_on=factories.day(2025))
    paper.cap_quantity = 120
    authorization_save(actor=lead, paper=paper, from_on=factories.day(2026, 1), reason="cap raised")
    authorization_state_set(actor=lead, paper=paper, state="in_force", on=factories.day(2026, 2))
    document = document_add(actor=lead, paper=paper, content=b"%PDF-1.7 permit", filename="permit.pdf", title="Permit")
    Requirement.objects.create(
        code="R1", edition="2026", title="A permit to ship", source="invented", activities=[DISPATCH], any_of=[["permit"]]
    )
    lot = factories.stock_lot(actor=lead, plants=50)
    shipment = factories.shipment(actor=lead, lots=[(lot, "bareroot", 20)], receiver=factories.partner(kind="nursery"))
    shipment_dispatch(actor=lead, shipment=shipment, on=timezone.localdate(), override_reason="the receiver is named by telephone")
    draw(actor=lead, paper=paper, kind="planted", lot=lot, quantity=5, on=timezone.localdate(), subject="PL-1")
    question_raise(actor=lead, about=lot, raised_on=factories.day(2020), reason="label lost")
    return {"lead": lead, "paper": paper, "document": document, "lot": lot, "shipment": shipment}


def test_untouched_records_pass_and_the_head_is_printed(records):
    code, out, err = verify()
    head = AuditHead.objects.get()
    assert (code, err) == (0, "")
    assert [line[:5].strip() for line in out.splitlines()[:9]] == ["ok"] * 9
    assert f"Audit chain: {head.entries} entries" in out and "Stored files: 1 file" in out and "Answers of the gate: 1 answer" in out
    assert out.splitlines()[-1] == f"Head of the audit chain, {head.entries} entries: {head.sha256}"


def test_an_empty_database_passes():
    code, out, _err = verify()
    assert code == 0 and "0 entries: none yet" in out


def test_a_changed_audit_entry_is_named(records):
    entry = AuditEntry.objects.order_by("pk")[2]
    in_the_database("registry_auditentry", "UPDATE registry_auditentry SET reason = 'nothing' WHERE id = %s", entry.pk)
    code, out, err = verify()
    assert code == 1 and f"WRONG  Audit chain: 3 entries to the break\n       entry 3 of the chain (no. {entry.pk}, " in out
    assert "it was changed after it was written" in out and "1 wrong" in err


def test_a_removed_audit_entry_shows_at_the_next_one(records):
    entry = AuditEntry.objects.order_by("pk")[2]
    in_the_database("registry_auditentry", "DELETE FROM registry_auditentry WHERE id = %s", entry.pk)
    fault, *without_hash = faults()
    assert all("the audit trail has no hash of it" in each for each in without_hash)
    assert fault.startswith("entry 3 of the chain") and "an entry was removed, added or moved" in fault


def test_a_removed_last_audit_entry_shows_at_the_head(records):
    last = AuditEntry.objects.order_by("pk").last()
    in_the_database("registry_auditentry", "DELETE FROM registry_auditentry WHERE id = %s", last.pk)
    count = AuditHead.objects.get().entries
    assert faults() == [
        f"the stored head counts {count} entries, the trail has {count - 1}: entries were removed or added at its end",
        f"the stored head is {last.sha256}, the last entry has {last.previous_sha256}",
    ]


def test_a_chain_written_again_shows_by_a_head_noted_before(records):
    kept = AuditHead.objects.get().sha256
    before = ""
    for entry in AuditEntry.objects.order_by("pk"):
        entry.reason = "all was well"
        own = chain_sha256(before, entry.content)
        in_the_database(
            "registry_auditentry", "UPDATE registry_auditentry SET reason = %s, previous_sha256 = %s, sha256 = %s WHERE id = %s",
            entry.reason, before, own, entry.pk,
        )  # fmt: skip
        before = own
    AuditHead.objects.update(sha256=before)
    assert verify()[0] == 0  # the chain holds together, so inside the records nothing shows
    assert verify("--head", before)[0] == 0
    code, out, _err = verify("--head", kept)
    assert code == 1 and "no entry of the chain has this hash" in out


def test_a_changed_and_a_lost_file_are_named(records):
    stored = records["document"].file
    path = stored_path(stored.sha256)
    default_storage.delete(path)
    assert faults() == [f"permit.pdf (SHA-256 {stored.sha256}): the file is gone"]
    default_storage.save(path, ContentFile(b"%PDF-1.7 something else"))
    assert faults() == [f"permit.pdf (SHA-256 {stored.sha256}): its content was changed"]
    default_storage.delete(path)


def test_the_command_puts_a_file_back(records, tmp_path):
    stored = records["document"].file
    default_storage.delete(stored_path(stored.sha256))
    (tmp_path / "from backup.pdf").write_bytes(b"%PDF-1.7 permit")
    (tmp_path / "other.pdf").write_bytes(b"%PDF-1.7 another")
    assert verify()[0] == 1
    with pytest.raises(CommandError, match="other.pdf: no record names a file with this content"):
        verify("--repair", str(tmp_path / "other.pdf"))
    with pytest.raises(CommandError, match="absent.pdf cannot be read"):
        verify("--repair", str(tmp_path / "absent.pdf"))
    with pytest.raises(CommandError, match="no active account 'nobody'"):
        verify("--repair", str(tmp_path / "from backup.pdf"), "--as", "nobody")
    code, out, _err = verify("--repair", str(tmp_path / "from backup.pdf"))
    assert code == 0 and f"Put back: permit.pdf (SHA-256 {stored.sha256})." in out
    old, new = (
        Path(default_storage.path(stored_path(stored.sha256))).with_name(name) for name in (f".a.{16 * '1'}.part", f".b.{16 * '2'}.part")
    )
    for part, days in ((old, 2), (new, 0)):
        part.write_bytes(b"x")
        os.utime(part, (time.time() - days * 86_400,) * 2)
    assert "Deleted 1 file of uploads that were stopped." in verify("--repair")[1]
    assert (old.exists(), new.exists()) == (False, True)
    new.unlink()
    assert "from backup.pdf is on file and undamaged." in verify("--repair", str(tmp_path / "from backup.pdf"))[1]


def test_a_changed_sheet_and_a_changed_boundary_layer_are_named(records):
    upload = upload_keep(actor=records["lead"], kind="taxon", content=b"name\n", filename="species.csv")
    outline = {"type": "Polygon", "coordinates": [[[-76, 43], [-75, 43], [-75, 44], [-76, 44], [-76, 43]]]}
    feature = {"type": "Feature", "properties": {"code": "US-NY"}, "geometry": outline}
    content = json.dumps({"type": "FeatureCollection", "features": [feature]}).encode()
    layer, _sites = boundary_layer_add(
        actor=records["lead"], name="Parts", source="invented", code_column="code", content=content, filename="a.geojson"
    )
    assert faults() == []
    for record in (upload, layer):
        Path(record.file.path).write_bytes(b"x")
    names = [fault.split(" (SHA-256 ")[0] for fault in faults()]
    assert names == ["species.csv", "Parts"] and all(fault.endswith("its content was changed") for fault in faults())


def test_a_changed_hash_of_a_file_is_named(records):
    stored = records["document"].file
    in_the_database("registry_storedfile", "UPDATE registry_storedfile SET sha256 = %s WHERE id = %s", "0" * 64, stored.pk)
    assert StoredFile.objects.get().sha256 == "0" * 64
    assert faults() == [
        f"storedfile {stored.pk}: it was changed after it was written",
        f"permit.pdf (SHA-256 {'0' * 64}): the file is gone",
    ]


@pytest.mark.parametrize(
    ("sql", "words"),
    [
        ("UPDATE registry_determination SET verdict = 'covered'", "its verdict is stored as “covered”, but its answer says “stop”"),
        ("UPDATE registry_determination SET facts = '{}'", "it cannot be read"),
    ],
)
def test_a_changed_answer_of_the_gate_is_named(records, sql, words):
    record = Determination.objects.get()
    assert record.verdict == "stop"  # no receiving person is named, and the lead went on
    in_the_database("registry_determination", sql)
    by_hash, fault = faults()
    assert by_hash == f"determination {record.pk}: it was changed after it was written"
    assert fault.startswith(f"answer no. {record.pk} about {records['shipment'].code}, {timezone.localdate()}: ") and words in fault


def test_facts_changed_under_an_answer_are_named(records):
    record = Determination.objects.get()
    record.facts["papers"] = []
    in_the_database(
        "registry_determination", "UPDATE registry_determination SET facts = %s WHERE id = %s", json.dumps(record.facts), record.pk
    )
    _by_hash, fault = faults()
    assert "it says “stop” as stored, but for other reasons" in fault


def test_a_removed_draw_is_named(records):
    paper = records["paper"]
    paper.refresh_from_db()
    draws = AuthorizationDraw.objects.filter(subject="PL-1")
    rest, gone = paper.drawn - 5, draws.get().pk
    in_the_database("registry_authorizationdraw", "DELETE FROM registry_authorizationdraw WHERE id = %s", draws.get().pk)
    assert faults() == [
        f"authorizationdraw {gone}: it was removed",
        f"paper {paper.code}: {paper.drawn} are stored as drawn, its draws add up to {rest}",
    ]


def test_a_paper_that_differs_from_its_last_version_is_named(records):
    paper = records["paper"]
    type(paper).objects.filter(pk=paper.pk).update(cap_quantity=500, state="closed")
    assert faults() == [
        f"paper {paper.code}, cap quantity: the paper has 500, its last version 120",
        f"paper {paper.code}, state: the paper has closed, its last state in_force",
    ]


def test_a_paper_without_a_history_is_named(records):
    paper = records["paper"]
    gone = sorted(AuthorizationStateRecord.objects.values_list("pk", flat=True))
    in_the_database("registry_authorizationstaterecord", "DELETE FROM registry_authorizationstaterecord")
    *away, without = faults()
    assert sorted(away) == sorted(f"authorizationstaterecord {pk}: it was removed" for pk in gone)
    assert without == f"paper {paper.code}: it has no state in its history"


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
