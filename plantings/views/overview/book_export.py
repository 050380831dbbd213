"""All records as one file: started from a page, made by the worker, downloaded from the page of its job."""

import tempfile
from pathlib import Path

from django import forms
from django.conf import settings
from django.urls import reverse
from django.views.generic import FormView

from plantings.exports.book import book_export
from plantings.exports.book_zip import FOLDER, book_zip
from registry.calc.shared.screen import amount_words
from registry.choices import JobKind
from registry.services.audit.apart import own_connection
from registry.services.audit.book_load import book_export_record
from registry.services.jobs.jobs import job_ask
from registry.services.jobs.running import JobResult
from registry.services.jobs.worker import UNFINISHED
from registry.views.shared.forms import ServiceFormMixin

__all__ = ["BookExportView", "book_make"]

_MISSING_SHOWN = 5


class BookExportView(ServiceFormMixin, FormView):
    """Starts the export of all records."""

    action = "book.export"
    form_class = forms.Form
    title = "Export all records"
    question = "Do you want all records in a form that can be read without Mastbook?"
    submit_label = "Make the export"
    success_message = "Started. This page shows how far it is, and has the file when it is ready."
    back_to = "help"
    cautions = (
        {
            "title": "The file is not encrypted",
            "text": "It is a ZIP of CSV tables with a description, the places, the files that people sent and a README. It holds "
            "contacts and exact places: store it safely. The command export_book makes the same as a folder; import_book reads it back.",
            "lines": (),
        },
    )

    def perform(self, form):
        return job_ask(actor=self.user, kind=JobKind.BOOK_EXPORT, title="Export of all records", given={})

    def get_success_url(self):
        return reverse("job_detail", args=[self.result.pk])


def book_make(run):
    """All records as a ZIP, from one state of them."""
    run.step("Reading the records")
    settings.JOB_RESULTS.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=UNFINISHED, dir=settings.JOB_RESULTS) as made:
        folder = Path(made) / FOLDER
        with own_connection():
            done = book_export(folder)
        with run.file(f"{FOLDER}.zip", "application/zip") as target:
            book_zip(target, folder)

    def store():
        book_export_record(actor=run.actor, folder=f"{FOLDER}.zip", rows=done.rows, sha256=done.sha256)

    return JobResult(file=run.made_file, store=store, note=_note(done.missing))


def _note(missing):
    if not missing:
        return ""
    return (
        f"{amount_words(len(missing), 'files')} of records were gone or changed, and are not in it: {'; '.join(missing[:_MISSING_SHOWN])}"
    )
