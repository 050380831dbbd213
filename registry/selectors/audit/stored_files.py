"""Every file that a record names, with the hash it must have."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from registry.models import SheetUpload, StoredFile
from registry.selectors.permits.documents import stored_path

__all__ = ["NamedFile", "files_named_by", "named_files"]

_CHUNK = 500


class NamedFile(NamedTuple):
    """A file a record names: where it is below the folder of files, and the SHA-256 of its content ("" where none was recorded)."""

    record: Any
    path: str
    sha256: str

    def __str__(self):
        return f"{self.record} (SHA-256 {self.sha256 or 'not recorded'})"


def _documents():
    for stored in StoredFile.objects.order_by("pk").iterator(chunk_size=_CHUNK):
        yield NamedFile(stored, stored_path(stored.sha256), stored.sha256)


def _sheets():
    for upload in SheetUpload.objects.order_by("pk").iterator(chunk_size=_CHUNK):
        yield NamedFile(upload, upload.file.name, upload.sha256)


_SOURCES = [_documents, _sheets]


def files_named_by(source):
    """Called once by an app whose records name files too; `source()` yields a `NamedFile` each."""
    _SOURCES.append(source)


def named_files() -> Iterator[NamedFile]:
    for source in _SOURCES:
        yield from source()
