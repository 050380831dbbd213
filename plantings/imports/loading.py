"""Loading a sheet: a file is checked against the records, then stored all or nothing."""

from django.utils import timezone

from plantings.imports.kinds import KINDS
from registry.imports.sheets.given import with_given
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.table import ReadingOptions, SheetError, read_table
from registry.models import SheetUpload
from registry.selectors.permits.documents import content_fault
from registry.services.audit.busy import Busy, loading
from registry.services.audit.trail import audit_record
from registry.services.audit.write import writing

__all__ = ["RecordsChanged", "plan_file", "plan_trial", "sheet_load", "upload_content", "upload_load"]

NOT_TRIED = (
    "Someone else is saving now, such as a long sheet, so each row was only checked by itself. Open this page again in a minute to check "
    "how the rows fit together, or save the sheet: that checks it too."
)


def plan_file(kind, content, filename, spec):
    """Read a file and check it against the records. Returns (sheet, table, plan); nothing is written."""
    sheet = KINDS[kind].with_own_columns()()
    table = read_table(content, filename, ReadingOptions.from_spec(spec))
    plan = sheet.plan(table.dataset(), with_given(spec, filename, table.options.sheet), table.first_row)
    plan.notes.extend(table.notes)
    return sheet, table, plan


def sheet_load(*, actor, kind, content, filename, spec=None, reason="", dry_run=False):
    """Check a file and store it, all or nothing.

    Returns the plan. Raises SheetRefused with every problem, ReasonMissing when records would change without a reason.
    """
    sheet, _table, plan = plan_file(kind, content, filename, spec or {})
    sheet.store(plan, actor, reason, trial=dry_run)
    return plan


def upload_content(upload):
    """The bytes of an uploaded sheet. Raises SheetError when they are not the ones that came."""
    if fault := content_fault(upload.file.name, upload.sha256):
        raise SheetError(f"The stored copy of {upload.filename} cannot be used: {fault}. Upload the sheet again.")
    with upload.file.open("rb") as file:
        return file.read()


class RecordsChanged(Exception):
    """Storing the sheet would now do something else than was shown. Nothing was stored."""


def upload_load(*, actor, upload, shown, reason=""):
    """Store an uploaded file, if that still does what was shown, and say on the upload what it stored: both, or neither.

    The plan is made again while nobody else saves it, since records may have changed in between; `shown` is the `Plan.summary` somebody
    agreed to. Raises RecordsChanged when it is another one now, SheetRefused when a row is refused, ReasonMissing when
    records would change without a reason.
    """
    with loading(), writing():
        # on PostgreSQL a second save of the same file waits here, and then finds the rows of the first
        upload = SheetUpload.objects.select_for_update().get(pk=upload.pk)
        sheet, _table, plan = plan_file(upload.kind, upload_content(upload), upload.filename, upload.spec)
        if plan.summary() != shown:
            raise RecordsChanged(f"It would now store {plan.summary()}; shown was {shown}.")
        sheet.store(plan, actor, reason)
        upload.loaded_at = timezone.now()
        upload.outcome = plan.counts
        upload.save(update_fields=["loaded_at", "outcome"])
        changes = {name: [None, count] for name, count in plan.counts.items() if count}
        audit_record(actor=actor, verb="sheetupload.loaded", obj=upload, changes=changes, reason=reason)
    return plan


def plan_trial(*, actor, sheet, plan):
    """Store and undo, so that what the services refuse is among the plan's problems. It never takes long, nor waits long for others."""
    if not plan.problems:
        try:
            sheet.store(plan, actor, trial=True)
        except SheetRefused:
            pass  # the plan now lists why
        except Busy:
            plan.notes.append(NOT_TRIED)
    return plan
