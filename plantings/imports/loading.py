"""Loading a sheet: a file is checked against the book, then stored all or nothing."""

from django.db import transaction
from django.utils import timezone

from plantings.imports.kinds import KINDS
from registry.imports.plan import SheetRefused
from registry.imports.table import ReadingOptions, read_table
from registry.services.audit import audit_record

__all__ = ["plan_file", "plan_trial", "sheet_load", "upload_load"]


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


def upload_load(*, actor, upload, reason=""):
    """Store a kept file. The plan is made anew: the book may have changed since it was shown."""
    with upload.file.open("rb") as file:
        content = file.read()
    plan = sheet_load(actor=actor, kind=upload.kind, content=content, filename=upload.filename, spec=upload.spec, reason=reason)
    with transaction.atomic():
        upload.loaded_at = timezone.now()
        upload.outcome = plan.counts
        upload.save(update_fields=["loaded_at", "outcome"])
        audit_record(
            actor=actor,
            verb="sheetupload.loaded",
            obj=upload,
            changes={name: [None, count] for name, count in plan.counts.items() if count},
            reason=reason,
        )
    return plan


def plan_trial(*, actor, sheet, plan):
    """Store and take back, so that what the services refuse is among the plan's problems."""
    if not plan.problems:
        try:
            sheet.store(plan, actor, trial=True)
        except SheetRefused:
            pass  # the plan now lists why
    return plan
