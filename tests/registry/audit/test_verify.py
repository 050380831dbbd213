"""`verify`: untouched records pass, and whatever was changed past the program is named."""

import json
import os
import time
from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError
from django.utils import timezone

from plantings.services.sites import boundary_layer_add
from registry.calc.audit.chain import chain_sha256
from registry.models import (
    AuditEntry,
    AuditHead,
    AuthorizationDraw,
    AuthorizationStateRecord,
    Determination,
    StoredFile,
)
from registry.selectors.permits.documents import stored_path
from registry.services.sheets.uploads import upload_keep
from tests.registry.audit.verify_help import faults, in_the_database, verify

pytestmark = pytest.mark.django_db


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
    with pytest.raises(CommandError, match=r"other.pdf: no record names a file with this content .* It was not used.$"):
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
