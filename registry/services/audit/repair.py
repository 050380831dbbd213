"""A damaged or lost file, taken again from whoever still has it: its hash says that it is the right one."""

import hashlib
from pathlib import Path

from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from registry.disk.whole_files import remove_abandoned
from registry.selectors.audit.stored_files import named_files
from registry.selectors.permits.documents import content_fault
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.shared.disk_words import disk_words

__all__ = ["file_put_back", "files_repair", "unfinished_remove"]


@write
def files_repair(*, actor, content, filename):
    """Put a file back wherever a record names one with its hash and that one is damaged or gone. Returns the repaired `NamedFile`s.

    Raises `ValidationError` at `file` when no record names a file with this content.
    """
    sha256 = hashlib.sha256(content).hexdigest()
    wanted = [named for named in named_files() if named.sha256 == sha256]
    if not wanted:
        raise ValidationError({"file": f"{filename}: no record names a file with this content (SHA-256 {sha256}). It was not used."})
    return [named for named in wanted if file_put_back(actor=actor, named=named, content=content, filename=filename)]


@write
def file_put_back(*, actor, named, content, filename):
    """Store the content of a `NamedFile` again if it is damaged or gone. Returns what was wrong with it, "" if nothing was."""
    fault = content_fault(named.path, named.sha256)
    if fault:
        with disk_words(filename):
            default_storage.replace(named.path, ContentFile(content))
        audit_record(
            actor=actor, verb=f"{named.record._meta.model_name}.file_put_back", obj=named.record, changes={"file": [fault, "whole"]}
        )
    return fault


def unfinished_remove():
    """Delete the temporary files of uploads that were stopped more than a day ago. Returns how many there were."""
    return remove_abandoned(Path(default_storage.location))
