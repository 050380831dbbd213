"""Loading a combined sheet: each kind is checked and stored in load order, in one transaction, all of it or nothing, as one load.

With `set_aside` that is done without the rows that are wrong in any kind, as if only the others had come (`loads/aside.py`).

A later kind names what an earlier one brings in, so it can be checked only once that is stored. A preview therefore stores everything
too and takes it back. While it does, others see that a sheet is being loaded (`services/audit/busy.py`).
"""

from functools import partial

from django.utils import timezone

from plantings.imports.combined.parts import COMBINED, allowed_parts, sheet_parts
from plantings.imports.combined.plan import CombinedPlan
from plantings.imports.combined.second_sheets import SECOND_FILES, SECOND_SHEETS, joined
from plantings.imports.kinds import KINDS
from plantings.imports.loading import cells_before, records_made, upload_content
from plantings.models import OwnMeasurement
from registry.imports.loads.aside import ROUNDS_MAX, aside_fault, aside_words
from registry.imports.loads.rest import marked_rows
from registry.imports.sheets.given import with_given
from registry.imports.sheets.plan import CHANGED, NEW, UNCHANGED, ReasonMissing, SheetRefused
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.table import read_table
from registry.models import SheetUpload
from registry.services.audit.busy import loading
from registry.services.audit.trail import audit_record
from registry.services.audit.write import writing
from registry.services.loads.loads import load_record, rows_tick_off
from registry.services.shared.progress import progress
from registry.services.sheets.uploads import SECOND_SHEET, second_keep, upload_keep, upload_map

__all__ = ["PlanChanged", "combined_load", "combined_plan", "combined_upload_load", "upload_files"]


class PlanChanged(Exception):
    """Storing the sheet would now do something else than was shown. Nothing was stored."""


def combined_plan(*, actor, content, filename, spec, files=(), set_aside=False):
    """What loading the file would do. Returns (table, CombinedPlan); nothing stays stored. Raises SheetError, Busy, and with `set_aside`
    SheetRefused where no row could be stored.

    `files` has the second files of the mapping, if it names any: {name: bytes}.
    """
    return _run_on(set_aside, spec, partial(_run, actor, content, filename, spec, "", files, None))


def combined_load(*, actor, content, filename, spec, reason="", dry_run=False, files=(), set_aside=False):
    """Check a file and store all its kinds, or nothing. The file and its second files are stored with what they brought.

    Returns the CombinedPlan; its `load` is the record of it. Raises SheetError, Busy, SheetRefused with what is wrong in any kind, and
    ReasonMissing when records would change without a reason.
    """

    def upload():
        kept = upload_keep(actor=actor, kind=COMBINED.kind, content=content, filename=filename)
        upload_map(actor=actor, upload=kept, spec={name: value for name, value in spec.items() if name != SECOND_FILES})
        for name, second in dict(files).items():
            second_keep(actor=actor, upload=kept, content=second, filename=name)
        return kept

    _table, whole = _run_on(set_aside, spec, partial(_run, actor, content, filename, spec, reason, files, None if dry_run else upload))
    if whole.problems:
        raise SheetRefused(whole)
    return whole


def combined_upload_load(*, actor, upload, shown, reason="", set_aside=False):
    """Store an uploaded file of several kinds and say so on the upload: both, or neither.

    Raises PlanChanged when that would now do something else than `shown`, the `summary` somebody agreed to; otherwise as `combined_load`.
    """
    with loading(), writing():
        upload = SheetUpload.objects.select_for_update().get(pk=upload.pk)
        content, files = upload_content(upload), upload_files(upload)
        run = partial(_run, actor, content, upload.filename, upload.spec, reason, files, lambda: upload, shown)
        _table, whole = _run_on(set_aside, upload.spec, run)
        if whole.problems:
            raise SheetRefused(whole)
    return whole


def upload_files(upload):
    """{name: bytes} of the second files that came with an upload. Raises SheetError."""
    names = {key: name for name, key in upload.spec.get(SECOND_FILES, {}).items()}
    return {names[str(second.key)]: upload_content(second) for second in SheetUpload.objects.filter(key__in=names, kind=SECOND_SHEET)}


def _run_on(set_aside, spec, run):
    """What `run` gives; with `set_aside`, what it gives without the rows that are wrong, which are taken out until nothing is wrong."""
    if not set_aside:
        return run()
    if any("sheet" in second for second in spec.get(SECOND_SHEETS, {}).values() if isinstance(second, dict)):
        raise SheetError(
            "Wrong rows cannot be set aside where a second sheet is in the same workbook: the rest could not be read without it. Correct "
            "the wrong rows, and load the sheet again."
        )
    for kind, _part in sheet_parts(spec):
        if fault := aside_fault(KINDS[kind]):
            raise SheetError(fault)
    out = {}
    with loading(), writing():  # each round is a part of it, so a load that is prepared on a copy knows which were taken back
        for _round in range(ROUNDS_MAX):
            table, whole = run(aside=out)
            if not whole.problems:
                return table, whole
            out |= whole.rows_out()
        raise SheetRefused(whole)


def _run(actor, content, filename, spec, reason, files, get_upload, shown=None, aside=frozenset()):
    """(table, CombinedPlan) without the rows of `aside`; a trial where there is no `get_upload`, which gives the upload that a load is
    recorded with."""
    progress("Reading the file")
    trial, before = get_upload is None, {}
    parts = allowed_parts(actor, spec)
    table = read_table(content, filename, ReadingOptions.from_spec(spec))
    wider, notes = joined(table, spec, content, filename, dict(files))
    whole = CombinedPlan(rows=len(table.rows), file_notes=[*table.notes, *notes], aside=dict(sorted(dict(aside).items())))
    given = [(kind, with_given(part, filename, table.options.sheet)) for kind, part in parts]
    _check_headers(wider.headers, given)
    with loading(), writing() as stored:
        _store_parts(whole, wider, given, actor, reason, trial, before)
        if aside and not whole.problems and not any(part.plan.items for part in whole.parts):
            whole.refuse_all()
        if shown is not None and not whole.problems and whole.summary() != shown:
            raise PlanChanged(f"It would now store {whole.summary()}; shown was {shown}.")
        stored.is_trial = trial or bool(whole.problems)
        came = whole.came(marked_rows(table))
        brought = any(part.plan.counts[NEW] + part.plan.counts[CHANGED] for part in whole.parts) or bool(aside or came)
        if not stored.is_trial and (brought or shown is not None):  # a file that brings nothing leaves no trace
            _say_on_upload(whole, upload := get_upload(), actor, reason)
            if brought:
                said = with_given(upload.spec, filename, table.options.sheet).get("given", {})
                whole.load = _record(whole, upload, upload.spec | {"set": said}, actor, reason, records_made(stored), before)
            if came:
                rows_tick_off(actor=actor, load=whole.load, came=came)
    return table, whole


def _say_on_upload(whole, upload, actor, reason):
    upload.loaded_at, upload.outcome = timezone.now(), whole.counts
    upload.save(update_fields=["loaded_at", "outcome"])
    audit_record(actor=actor, verb="sheetupload.loaded", obj=upload, changes=whole.audit_changes(), reason=reason)


def _record(whole, upload, spec, actor, reason, made, before):
    earlier = {}  # without the records of this load that a later kind of it changed: they had no cells before it
    for kind, lines in before.items():
        own = set(made.get(KINDS[kind].model, ()))
        earlier[kind] = [line for line in lines if line[0] not in own]
    return load_record(
        actor=actor, upload=upload, spec=spec, reason=reason, counts=whole.counts, made=made,
        before={kind: lines for kind, lines in earlier.items() if lines}, aside=aside_words(whole), changes=whole.audit_changes(),
    )  # fmt: skip


def _check_headers(headers, parts):
    """Before a kind is stored: raise SheetError where the mapping of any kind does not fit the headers. Which columns the census has
    is known only once the measurements that the sheet brings are stored."""
    for kind, spec in parts:
        sheet = KINDS[kind].with_own_columns()()
        try:
            sheet.bound(headers, spec)
        except SheetError as error:
            raise SheetError(f"{sheet.title}: {error}") from error
        if sheet.model is OwnMeasurement:
            return


def _store_parts(whole, table, parts, actor, reason, trial, before):
    """Check and store the kinds in turn; `before` gets what `cells_before` gives of each, unless this is a trial."""
    wrong = set()
    for number, (kind, spec) in enumerate(parts, start=1):
        sheet = KINDS[kind].with_own_columns()()
        try:
            plan = sheet.plan(table, spec, table.first_row, frozenset(whole.aside))
        except SheetError as error:
            raise SheetError(f"{sheet.title}: {error}") from error
        if plan.counts[CHANGED] and not (reason.strip() or trial or plan.problems or whole.problems):
            raise ReasonMissing(plan.counts[CHANGED])  # before the work, which is taken back anyway
        if not trial:
            before[kind] = cells_before(sheet, plan)
        wrong_in_themselves = frozenset(plan.wrong_rows)
        # what nothing builds on is not stored for a preview, where its rules are checked on the rows themselves
        if sheet.trial_store or not trial or number < len(parts):
            left_out = wrong_in_themselves | wrong
            wanted = [item for item in plan.items if item.outcome != UNCHANGED and item.row not in left_out]
            sheet.saving_words = "Trying to save" if trial else "Saving"
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
