"""Files kept by their content. What is stored is checked by what it is, not by what it is called."""

import hashlib
from pathlib import PurePath

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.utils import timezone

from registry.models import StoredFile
from registry.selectors.permits.documents import stored_path
from registry.services.audit.trail import append_row
from registry.services.audit.write import write

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
    """Keep a file by the SHA-256 of its content; the same content is kept once.

    Raises `ValidationError` at the field `file` for an empty or too large file, a type that is not kept, or a
    content that is not what the name says.
    """
    content_type = _checked_type(content, filename)
    sha256 = hashlib.sha256(content).hexdigest()
    kept = StoredFile.objects.filter(sha256=sha256).first()
    if kept:
        return kept
    path = stored_path(sha256)
    if not default_storage.exists(path):
        default_storage.save(path, ContentFile(content))
    file = StoredFile(
        sha256=sha256, size_bytes=len(content), content_type=content_type, filename=PurePath(filename).name[-160:],
        entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    file.full_clean()
    append_row(file)
    return file


def _checked_type(content, filename):
    kinds = ", ".join(ending.removeprefix(".").upper() for ending in FILE_TYPES if ending != ".jpeg")
    ending = PurePath(filename).suffix.lower()
    if not content:
        raise ValidationError({"file": f"{filename} is empty. Look whether it was saved completely, and send it again."})
    if len(content) > SIZE_MAX_BYTES:
        raise ValidationError(
            {"file": f"{filename} has {len(content) / _MIB:.1f} MiB; at most {SIZE_MAX_BYTES // _MIB} are kept. Scan it with fewer dots."}
        )
    if ending not in FILE_TYPES:
        raise ValidationError({"file": f"{filename} is not kept: a document is one of {kinds}. Save it as PDF and send it again."})
    content_type, beginnings = FILE_TYPES[ending]
    if beginnings and not content.startswith(beginnings):
        raise ValidationError({"file": f"{filename} is called {ending} and is something else inside. Save it anew as {kinds}."})
    if ending == ".txt" and not _is_text(content):
        raise ValidationError({"file": f"{filename} is called .txt and is no text in UTF-8. Save it anew as {kinds}."})
    return content_type


def _is_text(content):
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return "\x00" not in text
