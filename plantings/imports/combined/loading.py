"""Loading a combined sheet: each kind is checked and stored in load order, in one transaction, all of it or nothing.

A later kind names what an earlier one brings in, so it can be checked only once that is stored. A preview therefore stores everything
too and takes it back. While it does, others see that a sheet is being loaded (`services/audit/busy.py`).
"""

from django.utils import timezone

from plantings.imports.combined.parts import allowed_parts
from plantings.imports.combined.plan import CombinedPlan
from plantings.imports.combined.second_sheets import SECOND_FILES, joined
from plantings.imports.kinds import KINDS
from plantings.imports.loading import upload_content
from registry.imports.sheets.given import with_given
from registry.imports.sheets.plan import CHANGED, UNCHANGED, ReasonMissing, SheetRefused
from registry.imports.sheets.table import ReadingOptions, SheetError, read_table
from registry.models import SheetUpload
from registry.services.audit.busy import loading
from registry.services.audit.trail import audit_record
from registry.services.audit.write import writing
from registry.services.sheets.uploads import SECOND_SHEET

__all__ = ["PlanChanged", "combined_load", "combined_plan", "combined_upload_load", "upload_files"]


class PlanChanged(Exception):
    """Storing the sheet would now do something else than was shown. Nothing was stored."""


def combined_plan(*, actor, content, filename, spec, files=()):
    """What loading the file would do. Returns (table, CombinedPlan); nothing stays stored. Raises SheetError, Busy.

    `files` has the second files of the mapping, if it names any: {name: bytes}.
    """
    return _run(actor, content, filename, spec, "", files, trial=True)


def combined_load(*, actor, content, filename, spec, reason="", dry_run=False, files=()):
    """Check a file and store all its kinds, or nothing.

    Returns the CombinedPlan. Raises SheetError, Busy, SheetRefused with what is wrong in any kind, and ReasonMissing when records would
    change without a reason.
    """
    _table, whole = _run(actor, content, filename, spec, reason, files, trial=dry_run)
    if whole.problems:
        raise SheetRefused(whole)
    return whole


def combined_upload_load(*, actor, upload, shown, reason=""):
    """Store an uploaded file of several kinds and say so on the upload: both, or neither.

    Raises PlanChanged when that would now do something else than `shown`, the `summary` somebody agreed to; otherwise as `combined_load`.
    """
    with loading(), writing():
        upload = SheetUpload.objects.select_for_update().get(pk=upload.pk)
        content = upload_content(upload)
        _table, whole = _run(actor, content, upload.filename, upload.spec, reason, upload_files(upload), trial=False, shown=shown)
        if whole.problems:
            raise SheetRefused(whole)
        upload.loaded_at, upload.outcome = timezone.now(), whole.counts
        upload.save(update_fields=["loaded_at", "outcome"])
        changes = {title: [None, words] for title, words in whole.parts_words().items()}
        audit_record(actor=actor, verb="sheetupload.loaded", obj=upload, changes=changes, reason=reason)
    return whole


def upload_files(upload):
    """{name: bytes} of the second files that came with an upload. Raises SheetError."""
    names = {key: name for name, key in upload.spec.get(SECOND_FILES, {}).items()}
    return {names[str(second.key)]: upload_content(second) for second in SheetUpload.objects.filter(key__in=names, kind=SECOND_SHEET)}


def _run(actor, content, filename, spec, reason, files, trial, shown=None):
    parts = allowed_parts(actor, spec)
    table = read_table(content, filename, ReadingOptions.from_spec(spec))
    wider, notes = joined(table, spec, content, filename, dict(files))
    whole = CombinedPlan(rows=len(table.rows), file_notes=[*table.notes, *notes])
    with loading(), writing() as stored:
        _store_parts(whole, wider, [(kind, with_given(part, filename, table.options.sheet)) for kind, part in parts], actor, reason, trial)
        if shown is not None and not whole.problems and whole.summary() != shown:
            raise PlanChanged(f"It would now store {whole.summary()}; shown was {shown}.")
        stored.is_trial = trial or bool(whole.problems)
    return table, whole


def _store_parts(whole, table, parts, actor, reason, trial):
    dataset, wrong = table.dataset(), set()
    for number, (kind, spec) in enumerate(parts, start=1):
        sheet = KINDS[kind].with_own_columns()()
        try:
            plan = sheet.plan(dataset, spec, table.first_row)
        except SheetError as error:
            raise SheetError(f"{sheet.title}: {error}") from error
        if plan.counts[CHANGED] and not (reason.strip() or trial or plan.problems or whole.problems):
            raise ReasonMissing(plan.counts[CHANGED])  # before the work, which is taken back anyway
        wrong_in_themselves = frozenset(plan.wrong_rows)
        # what nothing builds on is not stored for a preview, where its rules are checked on the rows themselves
        if sheet.trial_store or not trial or number < len(parts):
            left_out = wrong_in_themselves | wrong
            wanted = [item for item in plan.items if item.outcome != UNCHANGED and item.row not in left_out]
            sheet.store_items(wanted, actor, reason, plan)
        whole.add(sheet, plan, wrong)
        if plan.wrong_rows > wrong_in_themselves:
            # the records refused what many rows share: every later row would seem wrong
            whole.unread = [KINDS[later].title for later, _spec in parts[number:]]
            return
        wrong |= _rows_of_the_same(plan) - {None}


def _rows_of_the_same(plan):
    """The wrong rows, and those that say the same of a record as a wrong row does."""
    return plan.wrong_rows | {row for row, first in plan.repeats.items() if first in plan.wrong_rows}
