"""Long sheets: the worker checks and saves them, and writes them with what to correct, while the page of the job says how far it is.

A sheet is checked, and saved on SQLite, on a copy of the records (`services/audit/apart.py`), so nobody waits for either.
"""

import hashlib
import json
from contextlib import contextmanager
from functools import partial

from django.conf import settings
from django.core.exceptions import ValidationError
from django.urls import reverse

from plantings.imports.combined.loading import PlanChanged, combined_plan, combined_upload_load, upload_files
from plantings.imports.combined.parts import COMBINED, rows_by_kind
from plantings.imports.kinds import KINDS
from plantings.imports.loading import RecordsChanged, plan_file, plan_good, plan_trial, upload_content, upload_load
from plantings.views.sheets.preview_values import combined_values, preview_values, values_bytes, values_read
from registry.calc.shared.screen import amount_words
from registry.calc.sheets.length import rows_about
from registry.choices import JobKind, JobState
from registry.imports.sheets.formats import CONTENT_TYPES, problems_bytes
from registry.imports.sheets.plan import ReasonMissing, SheetRefused, grouped
from registry.imports.sheets.reading_options import SheetError
from registry.models import SheetUpload
from registry.selectors.jobs.jobs import latest_job, result_path
from registry.services.audit.apart import prepared_apart, tried_apart
from registry.services.jobs.jobs import job_ask
from registry.services.jobs.running import MAY_NO_LONGER, JobResult

__all__ = [
    "check_ask", "checked", "is_long", "load_ask", "no_row_words", "problems_ask", "sheet_check_make", "sheet_load_make",
    "sheet_problems_make",
]  # fmt: skip

MAPPING_CHANGED = "The mapping of this sheet was changed after this was started. Nothing was saved. Check the sheet again."
_FAULTS_SAID = 3
MOVED = "Nothing was saved: records changed after this sheet was checked. Check it again."


def is_long(upload):
    """Whether the worker checks and saves an uploaded sheet: a check of several kinds stores their rows too, and others wait meanwhile."""
    try:
        return rows_by_kind(rows_about(upload_content(upload), upload.filename), upload.spec) > settings.LONG_SHEET_ROWS
    except SheetError:
        return False  # its page says why it cannot be read


def check_ask(user, upload, sets_aside):
    """Start checking a sheet. Returns the job."""
    title = f"Check of {upload.filename}" + (", wrong rows set aside" if sets_aside else "")
    return job_ask(actor=user, kind=JobKind.SHEET_CHECK, title=title, given=_check_given(upload, sets_aside))


def checked(user, upload, sets_aside):
    """(the last check of a sheet as its mapping is now, what it found); None for what is not there."""
    job = latest_job(user, JobKind.SHEET_CHECK, _check_given(upload, sets_aside))
    if job is None or job.state != JobState.DONE:
        return job, None
    try:
        return job, values_read(result_path(job).read_bytes())
    except FileNotFoundError:
        return job, None  # deleted as old


def load_ask(user, upload, *, shown, reason, sets_aside):
    """Start saving a sheet as somebody agreed to it. Returns the job."""
    given = _given(upload) | {"shown": shown, "reason": reason, "aside": sets_aside}
    return job_ask(actor=user, kind=JobKind.SHEET_LOAD, title=f"Saving {upload.filename}", given=given)


def problems_ask(user, upload, wanted):
    """Start writing a sheet with what to correct. Returns the job."""
    title = f"{upload.filename} to correct, {wanted.upper()}"
    return job_ask(actor=user, kind=JobKind.SHEET_PROBLEMS, title=title, given=_given(upload) | {"format": wanted})


def no_row_words(refused):
    """Why nothing is left to save without the wrong rows: a check of the other rows alone finds what the first check did not."""
    said = grouped(refused.plan.problems)
    more = f" Of {amount_words(len(said), 'kinds of fault')}, the first {_FAULTS_SAID}:" if len(said) > _FAULTS_SAID else ""
    return f"Every row is wrong, so there is nothing to save.{more} {' · '.join(said[:_FAULTS_SAID])}"


def _given(upload):
    spec = hashlib.sha256(json.dumps(upload.spec, sort_keys=True).encode()).hexdigest()
    return {"upload": str(upload.key), "spec": spec, "page": reverse(upload.preview_route, args=[upload.key])}


def _check_given(upload, sets_aside):
    return _given(upload) | {"aside": sets_aside}


# -- what the worker does


def sheet_check_make(run):
    """What saving a sheet would do, for its page."""
    upload, aside = _upload(run), run.given["aside"]
    with _in_words():
        values = tried_apart(
            lambda: _combined_check(run.actor, upload, aside) if _is_combined(upload) else _check(run.actor, upload, aside)
        )
    with run.file("check.json", "application/json") as file:
        file.write(values_bytes(values))
    return JobResult(file=run.made_file, page=run.given["page"] + ("?aside=1" if aside else ""))


def _check(actor, upload, aside):
    file = {"kind": upload.kind, "content": upload_content(upload), "filename": upload.filename, "spec": upload.spec}
    if aside:
        try:
            sheet, _table, plan = plan_good(actor=actor, **file)
        except SheetRefused as refused:
            raise ValidationError(no_row_words(refused)) from refused
        return preview_values(sheet, plan, sets_aside=True)
    sheet, _table, plan = plan_file(**file)
    return preview_values(sheet, plan_trial(actor=actor, sheet=sheet, plan=plan), sets_aside=False)


def _combined_check(actor, upload, aside):
    try:
        return combined_values(_combined(actor, upload, aside)[1], aside)
    except SheetRefused as refused:
        raise ValidationError(no_row_words(refused)) from refused


def _combined(actor, upload, aside=False):
    return combined_plan(
        actor=actor, content=upload_content(upload), filename=upload.filename, spec=upload.spec, files=upload_files(upload),
        set_aside=aside,
    )  # fmt: skip


def sheet_load_make(run):
    """Save a sheet, if that still does what was shown: all of it with the end of the job, or nothing. Ends at the page of the load."""
    upload, given = _upload(run), run.given
    agreed = {"actor": run.actor, "upload": upload, "shown": given["shown"], "reason": given["reason"], "set_aside": given["aside"]}
    work = partial(combined_upload_load if _is_combined(upload) else upload_load, **agreed)
    with _in_words():
        prepared = prepared_apart(work)

    def store():
        with _in_words():
            plan = prepared.store()
        return reverse("load_detail", args=[plan.load.pk]) if plan.load else reverse("sheet_list")

    return JobResult(store=store, around=prepared.around)


def sheet_problems_make(run):
    """The sheet as it was uploaded, with one more column that says what to correct in each row."""
    upload, wanted = _upload(run), run.given["format"]
    with _in_words():
        content = tried_apart(lambda: _problems(run.actor, upload, wanted))
    with run.file(f"{upload.filename.rpartition('.')[0]}-to-correct.{wanted}", CONTENT_TYPES[wanted]) as file:
        file.write(content)
    return JobResult(file=run.made_file)


def _problems(actor, upload, wanted):
    if _is_combined(upload):
        table, plan = _combined(actor, upload)
    else:
        sheet, table, plan = plan_file(upload.kind, upload_content(upload), upload.filename, upload.spec)
        plan_trial(actor=actor, sheet=sheet, plan=plan)
    return problems_bytes(table, plan, wanted)


def _is_combined(upload):
    return upload.kind == COMBINED.kind


def _upload(run):
    """The upload of a job, if its person may load such a sheet by now, and the mapping is the one that it was started with."""
    upload = SheetUpload.objects.for_user(run.actor).filter(key=run.given["upload"]).first()
    sheet = upload and (COMBINED if _is_combined(upload) else KINDS[upload.kind])
    if not sheet or not (run.actor.may(sheet.action) and run.actor.may(sheet.edit_action)):
        raise ValidationError(MAY_NO_LONGER)
    if _given(upload)["spec"] != run.given["spec"]:
        raise ValidationError(MAPPING_CHANGED)
    return upload


@contextmanager
def _in_words():
    """What stops a sheet, as the page of a job says it."""
    try:
        yield
    except SheetRefused as refused:
        first = refused.plan.problems[0]
        raise ValidationError(
            f"Nothing was saved: some rows are wrong. Check the sheet again; it lists them all. The first: {first}"
        ) from refused
    except (RecordsChanged, PlanChanged) as error:
        raise ValidationError(MOVED) from error
    except (ReasonMissing, SheetError) as error:
        raise ValidationError(str(error)) from error
