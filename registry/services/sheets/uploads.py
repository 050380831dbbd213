"""Uploaded sheets: the file is stored as it came, and a mapping is saved by name."""

import hashlib

from django.core.files.base import ContentFile
from django.utils import timezone

from registry.models import ColumnMapping, SheetUpload
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.shared.disk_words import disk_words

__all__ = ["SECOND_SHEET", "mapping_keep", "second_keep", "upload_keep", "upload_map"]

SECOND_SHEET = "second_sheet"  # the kind of an upload that only goes with another


@write
def upload_keep(*, actor, kind, content, filename):
    """Store a file as it came, before anything is read from it."""
    upload = SheetUpload(
        kind=kind, filename=filename[:200], sha256=hashlib.sha256(content).hexdigest(), uploaded_by=actor, uploaded_at=timezone.now()
    )
    with disk_words(filename):
        upload.file.save(f"{upload.key}.sheet", ContentFile(content), save=False)
    upload.full_clean()
    upload.save()
    audit_record(actor=actor, verb="sheetupload.added", obj=upload)
    return upload


@write
def second_keep(*, actor, upload, content, filename):
    """Store a second sheet that goes with an upload, which names it in its mapping."""
    second = upload_keep(actor=actor, kind=SECOND_SHEET, content=content, filename=filename)
    second.loaded_at = second.uploaded_at  # nothing is saved from it by itself
    second.save(update_fields=["loaded_at"])
    files = upload.spec.get("second_files", {}) | {filename: str(second.key)}
    return upload_map(actor=actor, upload=upload, spec=upload.spec | {"second_files": files})


@write
def upload_map(*, actor, upload, spec):
    upload.spec = spec
    upload.save(update_fields=["spec"])
    return upload


@write
def mapping_keep(*, actor, kind, name, spec):
    """Save a mapping by name; the same name replaces it."""
    mapping, made = ColumnMapping.objects.get_or_create(kind=kind, name=name, defaults={"spec": spec})
    before = None if made else mapping.spec
    if made or mapping.spec != spec:
        mapping.spec = spec
        mapping.full_clean()
        mapping.save()
        audit_record(actor=actor, verb="columnmapping.kept", obj=mapping, changes={"spec": [before, spec]})
    return mapping
