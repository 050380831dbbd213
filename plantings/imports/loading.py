"""Loading a sheet: a file is checked against the records, then stored all or nothing."""

from django.utils import timezone

from plantings.imports.kinds import KINDS
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.table import ReadingOptions, read_table
from registry.services.audit.trail import audit_record
from registry.services.audit.write import writing

__all__ = ["RecordsChanged", "plan_file", "plan_trial", "sheet_load", "upload_load"]


def plan_file(kind, content, filename, spec):
    """Read a file and check it against the records. Returns (sheet, table, plan); nothing is written."""
    sheet = KINDS[kind]()
    table = read_table(content, filename, ReadingOptions.from_spec(spec))
    plan = sheet.plan(table.dataset(), spec, table.first_row)
    plan.notes.extend(table.notes)
    return sheet, table, plan


def sheet_load(*, actor, kind, content, filename, spec=None, reason="", dry_run=False):
    """Check a file and store it, all or nothing.

    Returns the plan. Raises SheetRefused with every problem, ReasonMissing when records would change without a reason.
    """
    sheet, _table, plan = plan_file(kind, content, filename, spec or {})
    sheet.store(plan, actor, reason, trial=dry_run)
    return plan


class RecordsChanged(Exception):
    """Storing the sheet would now do something else than was shown. Nothing was stored."""


def upload_load(*, actor, upload, shown, reason=""):
    """Store an uploaded file, if that still does what was shown.

    The plan is made again, since records may have changed in between; `shown` is the `Plan.summary` somebody
    agreed to. Raises RecordsChanged when it is another one now, SheetRefused when a row is refused, ReasonMissing when
    records would change without a reason.
    """
    with upload.file.open("rb") as file:
        content = file.read()
    sheet, _table, plan = plan_file(upload.kind, content, upload.filename, upload.spec)
    if plan.summary() != shown:
        raise RecordsChanged(f"It would now store {plan.summary()}; shown was {shown}.")
    sheet.store(plan, actor, reason)
    with writing():
        upload.loaded_at = timezone.now()
        upload.outcome = plan.counts
        upload.save(update_fields=["loaded_at", "outcome"])
        changes = {name: [None, count] for name, count in plan.counts.items() if count}
        audit_record(actor=actor, verb="sheetupload.loaded", obj=upload, changes=changes, reason=reason)
    return plan


def plan_trial(*, actor, sheet, plan):
    """Store and undo, so that what the services refuse is among the plan's problems."""
    if not plan.problems:
        try:
            sheet.store(plan, actor, trial=True)
        except SheetRefused:
            pass  # the plan now lists why
    return plan
