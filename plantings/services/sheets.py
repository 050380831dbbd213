"""Sending in a sheet: the file is kept as it came, mapped, shown, and stored all or nothing."""

import hashlib

from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone

from plantings.imports.kinds import KINDS
from registry.imports.plan import UNCHANGED, SheetRefused
from registry.imports.table import ReadingOptions, read_table
from registry.models import ColumnMapping, SheetUpload
from registry.services.audit import audit_record

__all__ = ["mapping_keep", "plan_file", "sheet_load", "upload_keep", "upload_load", "upload_map"]


def plan_file(kind, content, filename, spec):
    """Read and check a file against the book. Returns (sheet, table, plan); nothing is written."""
    sheet = KINDS[kind]()
    table = read_table(content, filename, ReadingOptions.from_spec(spec))
    plan = sheet.plan(table.dataset(), spec, table.first_row)
    plan.notes.extend(table.notes)
    return sheet, table, plan


def sheet_load(*, actor, kind, content, filename, spec=None, reason="", dry_run=False):
    """Check a file and store it, all or nothing. Returns the plan; raises SheetRefused with every problem."""
    sheet, _table, plan = plan_file(kind, content, filename, spec or {})
    sheet.store(plan, actor, reason, trial=dry_run)
    return plan


@transaction.atomic
def upload_keep(*, actor, kind, content, filename):
    """Keep a file as it came, before anything is read from it."""
    upload = SheetUpload(
        kind=kind, filename=filename[:200], sha256=hashlib.sha256(content).hexdigest(), uploaded_by=actor, uploaded_at=timezone.now()
    )
    upload.file.save(f"{upload.key}.sheet", ContentFile(content), save=False)
    upload.full_clean()
    upload.save()
    audit_record(actor=actor, verb="sheetupload.added", obj=upload)
    return upload


@transaction.atomic
def upload_map(*, actor, upload, spec):
    upload.spec = spec
    upload.save(update_fields=["spec"])
    return upload


@transaction.atomic
def mapping_keep(*, actor, kind, name, spec):
    """Keep a mapping by name; the same name replaces it."""
    mapping, made = ColumnMapping.objects.get_or_create(kind=kind, name=name, defaults={"spec": spec})
    before = None if made else mapping.spec
    if made or mapping.spec != spec:
        mapping.spec = spec
        mapping.full_clean()
        mapping.save()
        audit_record(actor=actor, verb="columnmapping.kept", obj=mapping, changes={"spec": [before, spec]})
    return mapping


def upload_load(*, actor, upload, reason=""):
    """Store a kept file. The plan is made anew: the book may have changed since it was shown."""
    with upload.file.open("rb") as file:
        content = file.read()
    plan = sheet_load(actor=actor, kind=upload.kind, content=content, filename=upload.filename, spec=upload.spec, reason=reason)
    with transaction.atomic():
        upload.loaded_at = timezone.now()
        upload.outcome = plan.counts
        upload.save(update_fields=["loaded_at", "outcome"])
        audit_record(actor=actor, verb="sheetupload.loaded", obj=upload, changes={name: [None, count] for name, count in plan.counts.items() if count}, reason=reason)
    return plan


def plan_changes_anything(plan):
    return any(item.outcome != UNCHANGED for item in plan.items)


def trial(*, actor, sheet, plan):
    """Store and take back, so that what the services refuse is among the plan's problems."""
    if not plan.problems:
        try:
            sheet.store(plan, actor, trial=True)
        except SheetRefused:
            pass  # the plan now lists why
    return plan
