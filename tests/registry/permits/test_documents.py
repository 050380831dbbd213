"""Files stored by their content. The first bytes of each type are those of its standard (ISO 32000, PNG of W3C, JPEG of ITU-T T.81)."""

import errno
import hashlib
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.db import DatabaseError, transaction

from registry.disk import whole_files
from registry.models import AuditEntry, StoredFile
from registry.selectors.audit.verify import check_files
from registry.selectors.permits.documents import file_content, file_fault, stored_path
from registry.services.audit.repair import files_repair
from registry.services.permits.authorizations import document_add
from registry.services.permits.documents import SIZE_MAX_BYTES, file_keep
from tests import factories

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n"


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)


@pytest.fixture
def lead():
    return factories.person("lead")


def test_a_file_is_stored_under_the_hash_of_its_content(lead):
    kept = file_keep(actor=lead, content=PDF, filename="Permit 12.pdf")
    assert kept.sha256 == hashlib.sha256(PDF).hexdigest() and kept.size_bytes == len(PDF)
    assert file_content(kept) == PDF and file_fault(kept) == ""


def test_the_same_content_is_stored_once_under_any_name(lead):
    assert file_keep(actor=lead, content=PDF, filename="a.pdf") == file_keep(actor=lead, content=PDF, filename="b.pdf")
    assert StoredFile.objects.count() == 1


@pytest.mark.parametrize(
    ("content", "filename", "words"),
    [
        (b"", "a.pdf", "is empty"),
        (b"MZ\x90\x00", "a.pdf", "its content is something else"),
        (PDF, "a.exe", "is not accepted"),
        (b"<svg/>", "a.svg", "is not accepted"),
        (PDF, "a", "is not accepted"),
        (b"\xff\xfe\x00a", "a.txt", "is not text in UTF-8"),
        (b"%PDF-" + b"0" * SIZE_MAX_BYTES, "a.pdf", "at most 20"),
    ],
)
def test_a_refused_file_is_named_and_nothing_is_stored(lead, content, filename, words):
    with pytest.raises(ValidationError) as refused:
        file_keep(actor=lead, content=content, filename=filename)
    message = refused.value.message_dict["file"][0]
    assert filename in message and words in message
    assert not StoredFile.objects.exists()


def test_a_file_name_cannot_lead_out_of_its_folder(lead):
    kept = file_keep(actor=lead, content=PDF, filename="../../etc/passwd.pdf")
    assert kept.filename == "passwd.pdf" and "/etc/" not in stored_path(kept.sha256)


def test_a_changed_or_missing_file_is_detected(lead):
    kept = file_keep(actor=lead, content=PDF, filename="a.pdf")
    path = Path(default_storage.path(stored_path(kept.sha256)))
    path.write_bytes(PDF + b"more")
    assert file_fault(kept) == "its content was changed"
    path.unlink()
    assert file_fault(kept) == "the file is gone"


def test_the_record_of_a_stored_file_cannot_be_changed(lead):
    file_keep(actor=lead, content=PDF, filename="a.pdf")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        StoredFile.objects.update(filename="b.pdf")


# -- full disks, damaged files -----------------------------------------------------------------------------------------------


def path_of(stored):
    return Path(default_storage.path(stored_path(stored.sha256)))


@pytest.fixture
def full_disk(monkeypatch):
    """A disk that takes the name of a file and what was buffered, and is full when the content is forced onto it."""

    def refuse(_handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(whole_files.os, "fsync", refuse)
        yield patched


def test_a_full_disk_refuses_a_document_in_words_and_leaves_nothing(lead, full_disk, tmp_path):
    paper = factories.authorization(actor=lead)
    with pytest.raises(ValidationError) as refused:
        document_add(actor=lead, paper=paper, content=PDF, filename="permit.pdf", title="Permit")
    assert refused.value.message_dict["file"] == [
        "permit.pdf was not saved: the disk of the server is full. Tell the person who runs Mastbook, then send the file again."
    ]
    assert not StoredFile.objects.exists() and [path for path in tmp_path.rglob("*") if path.is_file()] == []
    full_disk.undo()
    document = document_add(actor=lead, paper=paper, content=PDF, filename="permit.pdf", title="Permit")
    assert file_content(document.file) == PDF and check_files().faults == []


def test_a_stump_under_the_hash_of_a_new_file_is_replaced(lead):
    path = Path(default_storage.path(stored_path(hashlib.sha256(PDF).hexdigest())))
    path.parent.mkdir(parents=True)
    path.write_bytes(PDF[:7])
    assert file_content(file_keep(actor=lead, content=PDF, filename="a.pdf")) == PDF
    assert [entry.name for entry in path.parent.iterdir()] == [path.name]


@pytest.mark.parametrize("damage", [lambda path: path.write_bytes(b"%PDF"), lambda path: path.write_bytes(b""), Path.unlink])
def test_the_right_file_sent_again_replaces_a_damaged_one(lead, damage):
    paper = factories.authorization(actor=lead)
    document = document_add(actor=lead, paper=paper, content=PDF, filename="permit.pdf", title="Permit")
    damage(path_of(document.file))
    fault = file_fault(document.file)
    assert check_files().faults == [f"permit.pdf (SHA-256 {document.file.sha256}): {fault}"]
    again = document_add(actor=lead, paper=paper, content=PDF, filename="copy.pdf", title="Permit again")
    assert again == document and file_content(document.file) == PDF and check_files().faults == []
    entry = AuditEntry.objects.get(verb="storedfile.file_put_back")
    assert (entry.record_id, entry.changes) == (document.file.pk, {"file": [fault, "whole"]})


def test_an_undamaged_file_sent_again_is_refused_as_before(lead):
    paper = factories.authorization(actor=lead)
    document_add(actor=lead, paper=paper, content=PDF, filename="permit.pdf", title="Permit")
    with pytest.raises(ValidationError, match="the files are identical"):
        document_add(actor=lead, paper=paper, content=PDF, filename="copy.pdf", title="Permit again")


def test_a_repair_takes_only_a_file_that_a_record_names(lead):
    stored = file_keep(actor=lead, content=PDF, filename="a.pdf")
    path_of(stored).write_bytes(b"")
    with pytest.raises(ValidationError, match="no record names a file with this content"):
        files_repair(actor=lead, content=PDF + b"other", filename="b.pdf")
    assert [named.record for named in files_repair(actor=lead, content=PDF, filename="b.pdf")] == [stored]
    assert file_content(stored) == PDF
    assert files_repair(actor=lead, content=PDF, filename="b.pdf") == []


def test_files_of_stopped_uploads_and_without_a_record_are_counted(lead, tmp_path):
    stored = file_keep(actor=lead, content=PDF, filename="a.pdf")
    (path_of(stored).parent / f".x.{16 * '0'}.part").write_bytes(b"%P")
    (tmp_path / "sheets").mkdir()
    (tmp_path / "sheets" / "left.sheet").write_bytes(b"a")
    found = check_files()
    assert (found.looked_at, found.faults) == ("1 file, 1 without a record, 1 of uploads that did not end", [])
