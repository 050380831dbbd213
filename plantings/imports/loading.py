"""Loading a sheet: a file is checked against the records, then stored all or nothing, or on request without its wrong rows."""

from functools import partial

from django.utils import timezone

from plantings.imports.kinds import KINDS
from plantings.models import ReviewTally
from registry.imports.loads.aside import aside_words, store_without_wrong
from registry.imports.loads.parts import StoredParts, plan_in_parts
from registry.imports.loads.rest import marked_rows
from registry.imports.sheets.given import with_given
from registry.imports.sheets.plan import CHANGED, NEW, SheetRefused
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.table import read_table
from registry.models import SheetUpload
from registry.models.append_only import AppendOnly
from registry.selectors.permits.documents import content_fault
from registry.services.audit.busy import Busy, loading
from registry.services.audit.trail import audit_record
from registry.services.audit.write import writing
from registry.services.loads.loads import load_record, rows_tick_off
from registry.services.shared.garbage import few_collections
from registry.services.shared.progress import progress
from registry.services.sheets.uploads import upload_keep, upload_map

_COUNTED_AGAIN = (SheetUpload, ReviewTally)  # what a load makes besides records

__all__ = [
    "RecordsChanged",
    "cells_before",
    "plan_file",
    "plan_good",
    "plan_trial",
    "records_made",
    "sheet_load",
    "upload_content",
    "upload_load",
]

NOT_TRIED = (
    "Someone else is saving now, such as a long sheet, so each row was only checked by itself. Open this page again in a minute to check "
    "how the rows fit together, or save the sheet: that checks it too."
)


@few_collections()
def plan_file(kind, content, filename, spec, without=frozenset(), whole=False, store=None):
    """Read a file and check it against the records, but for the rows `without` names. Returns (sheet, table, plan).

    A long file is checked in parts (`loads/parts.py`), unless `whole` is asked for. Nothing is written, but for what `store` stores.
    """
    progress("Reading the file")
    sheet = KINDS[kind].with_own_columns()()
    table = read_table(content, filename, ReadingOptions.from_spec(spec))
    try:
        given = with_given(spec, filename, table.options.sheet)
        plan = sheet.plan(table, given, table.first_row, without) if whole else plan_in_parts(sheet, table, given, without, store)
    except SheetError as error:  # how the file was read says why it has no other columns
        raise SheetError(" ".join([str(error), *table.notes])) from None
    plan.notes.extend(table.notes)
    return sheet, table, plan


def plan_good(*, actor, kind, content, filename, spec):
    """What loading a file without its wrong rows would do: (sheet, table, plan). Tried and taken back, as `plan_trial` does.

    Raises SheetError for a kind whose rows cannot be set aside, SheetRefused where no row could be stored.
    """
    return store_without_wrong(partial(plan_file, kind, content, filename, spec, whole=True), actor, trial=True)


def sheet_load(*, actor, kind, content, filename, spec=None, reason="", dry_run=False, set_aside=False):
    """Check a file and store it, all or nothing; with `set_aside`, without its wrong rows. The file is stored with what it brought.

    Returns the plan; its `load` is the record of it. Raises SheetRefused with every problem, ReasonMissing when records would change
    without a reason.
    """
    spec = spec or {}
    made = partial(plan_file, kind, content, filename, spec)
    if dry_run:
        if set_aside:
            return store_without_wrong(partial(made, whole=True), actor, reason, trial=True)[2]
        sheet, _table, plan = made()
        sheet.store(plan, actor, reason, trial=True)
        return plan

    def upload():
        upload = upload_keep(actor=actor, kind=kind, content=content, filename=filename)
        return upload_map(actor=actor, upload=upload, spec=spec) if spec else upload

    with loading(), writing() as now:
        return _store(made, actor, reason, set_aside, now, upload)


def upload_content(upload):
    """The bytes of an uploaded sheet. Raises SheetError when they are not the ones that came."""
    if fault := content_fault(upload.file.name, upload.sha256):
        raise SheetError(f"The stored copy of {upload.filename} cannot be used: {fault}. Upload the sheet again.")
    with upload.file.open("rb") as file:
        return file.read()


class RecordsChanged(Exception):
    """Storing the sheet would now do something else than was shown: what `plan` says. Nothing was stored."""

    def __init__(self, plan, shown):
        self.plan = plan
        super().__init__(f"It would now store {plan.summary()}; shown was {shown}.")


def upload_load(*, actor, upload, shown, reason="", set_aside=False):
    """Store an uploaded file, if that still does what was shown, and say on the upload what it stored: both, or neither.

    The plan is made again while nobody else saves it, since records may have changed in between; `shown` is the `Plan.summary` somebody
    agreed to. Raises RecordsChanged when it is another one now, SheetRefused when a row is refused, ReasonMissing when
    records would change without a reason.
    """
    with loading(), writing() as now:
        # on PostgreSQL a second save of the same file waits here, and then finds the rows of the first
        upload = SheetUpload.objects.select_for_update().get(pk=upload.pk)
        made = partial(plan_file, upload.kind, upload_content(upload), upload.filename, upload.spec)
        return _store(made, actor, reason, set_aside, now, lambda: upload, shown)


@few_collections()
def _store(make_plan, actor, reason, set_aside, now, get_upload, shown=None):
    """Store what a plan says, and the record of the load, in the open write `now`."""
    if set_aside:
        before = []

        def planned(without):
            sheet, table, plan = make_plan(without, whole=True)
            before[:] = cells_before(sheet, plan)
            return sheet, table, plan

        sheet, table, plan = store_without_wrong(planned, actor, reason)
    else:
        parts = StoredParts(actor, reason)
        sheet, table, plan = make_plan(store=parts)
        _check_shown(plan, shown)
        before = cells_before(sheet, plan)
        if plan.in_parts:
            parts.check(plan)
        else:
            sheet.store(plan, actor, reason)
    _check_shown(plan, shown)
    counts, came = plan.counts, _came(plan, table)
    brought = counts[NEW] + counts[CHANGED] + len(plan.aside) + len(came)
    if not brought and shown is None:
        return plan  # a file that brings nothing leaves no trace
    upload = get_upload()
    upload.loaded_at, upload.outcome = timezone.now(), counts
    upload.save(update_fields=["loaded_at", "outcome"])
    changes = {name: [None, count] for name, count in counts.items() if count}
    audit_record(actor=actor, verb="sheetupload.loaded", obj=upload, changes=changes, reason=reason)
    if not brought:
        return plan
    given = with_given(upload.spec, upload.filename, table.options.sheet).get("given", {})
    plan.load = load_record(
        actor=actor, upload=upload, spec=upload.spec | {"set": given}, reason=reason, counts=counts,
        made=records_made(now), before=before, aside=aside_words(plan), changes=changes,
    )  # fmt: skip
    if came:
        rows_tick_off(actor=actor, load=plan.load, came=came)
    return plan


def _came(plan, table):
    """The (load, row) marks of the rows that are on file now."""
    marks = marked_rows(table)
    stored = {item.row for item in plan.items} | set(plan.repeats) if marks else ()
    return [mark for row, mark in marks.items() if row in stored]


def _check_shown(plan, shown):
    if shown is not None and plan.summary() != shown:
        raise RecordsChanged(plan, shown)


def records_made(now):
    """{model: keys} of the records that the open write `now` has made."""
    return {model: keys for model, keys in now.made.items() if model not in _COUNTED_AGAIN}


def cells_before(sheet, plan):
    """[[key, {column: its cell}]] of the records that a plan changes, as they are now."""
    changed = [item for item in plan.items if item.outcome == CHANGED]
    return [
        [item.current.pk, {name: sheet.words(name, old) for name, (old, _new) in item.changes.items()}]
        for item in changed
        if isinstance(item.current, sheet.model) and not isinstance(item.current, AppendOnly)
    ]


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
