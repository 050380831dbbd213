"""Files stored by their content. A file is checked by what is in it, not by its name."""

import hashlib
from pathlib import PurePath

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from registry.calc.shared.screen import list_words
from registry.models import StoredFile
from registry.selectors.audit.stored_files import NamedFile
from registry.selectors.permits.documents import stored_path
from registry.services.audit.repair import file_put_back
from registry.services.audit.trail import append_row
from registry.services.audit.write import write
from registry.services.shared.disk_words import disk_words

__all__ = ["FILE_TYPES", "SIZE_MAX_BYTES", "file_keep"]

SIZE_MAX_BYTES = 20 * 1024 * 1024
_MIB = 1024 * 1024
# extension: (content type, what such a file begins with)
FILE_TYPES = {
    ".pdf": ("application/pdf", (b"%PDF-",)),
    ".png": ("image/png", (b"\x89PNG\r\n\x1a\n",)),
    ".jpg": ("image/jpeg", (b"\xff\xd8\xff",)),
    ".jpeg": ("image/jpeg", (b"\xff\xd8\xff",)),
    ".txt": ("text/plain; charset=utf-8", ()),
}


@write
def file_keep(*, actor, content, filename):
    """Store a file by the SHA-256 of its content; the same content is stored once, and a damaged copy of it is replaced.

    Raises `ValidationError` at the field `file` for an empty or too large file, a type that is not accepted, a
    content that does not match the name, or a disk that is full.
    """
    content_type = _checked_type(content, filename)
    sha256 = hashlib.sha256(content).hexdigest()
    path = stored_path(sha256)
    stored = StoredFile.objects.filter(sha256=sha256).first()
    if stored:
        file_put_back(actor=actor, named=NamedFile(stored, path, sha256), content=content, filename=filename)
        return stored
    with disk_words(filename):
        default_storage.replace(path, ContentFile(content))
    file = StoredFile(
        sha256=sha256, size_bytes=len(content), content_type=content_type, filename=PurePath(filename).name[-160:],
        entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    file.full_clean()
    append_row(file)
    return file


def _checked_type(content, filename):
    kinds = list_words(ending.removeprefix(".").upper() for ending in FILE_TYPES if ending != ".jpeg")
    ending = PurePath(filename).suffix.lower()
    if not content:
        raise ValidationError({"file": f"{filename} is empty. Check that it was saved completely, and send it again."})
    if len(content) > SIZE_MAX_BYTES:
        size = f"{filename} has {len(content) / _MIB:.1f} MiB; at most {SIZE_MAX_BYTES // _MIB} are accepted."
        raise ValidationError({"file": f"{size} Scan it at a lower resolution."})
    if ending not in FILE_TYPES:
        raise ValidationError({"file": f"{filename} is not accepted: a document is {kinds}. Save it as PDF and send it again."})
    content_type, beginnings = FILE_TYPES[ending]
    if beginnings and not content.startswith(beginnings):
        raise ValidationError({"file": f"{filename} ends in {ending}, but its content is something else. Save it again as {kinds}."})
    if ending == ".txt" and not _is_text(content):
        raise ValidationError({"file": f"{filename} ends in .txt, but is not text in UTF-8. Save it again as {kinds}."})
    return content_type


def _is_text(content):
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return "\x00" not in text
