"""Long work that a person started, and the states it passes through."""

from django.db.models import TextChoices


class JobKind(TextChoices):
    PERMIT_ZIP = "permit_zip", "permit file with its documents"
    PERMIT_PDF = "permit_pdf", "permit file as a PDF"
    SURVIVAL_REPORT = "survival_report", "survival report"
    BOOK_EXPORT = "book_export", "export of all records"
    MODEL = "model", "model of survival"
    SHEET_CHECK = "sheet_check", "check of a long sheet"
    SHEET_LOAD = "sheet_load", "long sheet that is saved"
    DOWNLOAD = "download", "download of many rows"
    SHEET_PROBLEMS = "sheet_problems", "long sheet to correct"


class JobState(TextChoices):
    WAITING = "waiting", "waiting to start"
    RUNNING = "running", "under way"
    DONE = "done", "done"
    FAILED = "failed", "failed"
    CANCELLED = "cancelled", "cancelled"
    STOPPED = "stopped", "stopped part-way"


def job_kinds():
    return JobKind.choices


def job_states():
    return JobState.choices
