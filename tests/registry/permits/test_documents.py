"""Files stored by their content. The first bytes of each type are those of its standard (ISO 32000, PNG of W3C, JPEG of ITU-T T.81)."""

import hashlib
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.core.files.storage import default_storage
from django.db import DatabaseError, transaction

from registry.models import StoredFile
from registry.selectors.permits.documents import file_content, file_fault, stored_path
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
