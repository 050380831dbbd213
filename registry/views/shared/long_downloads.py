"""Downloads of any length: a short one is the answer, a long one a job, whose file can be fetched again from where the line broke off."""

import io

from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import resolve

from registry.choices import JobKind
from registry.imports.sheets.formats import CONTENT_TYPES
from registry.imports.sheets.reading_options import SheetError
from registry.services.audit.apart import own_connection
from registry.services.jobs.jobs import job_ask
from registry.services.jobs.running import MAY_NO_LONGER, JobResult
from registry.views.shared.addresses import file_response

__all__ = ["ROWS_AT_ONCE", "LongDownload", "download_make"]

ROWS_AT_ONCE = 20_000  # decision 116 of DEVELOPERS.md has what they take


class LongDownload:
    """A page with a download. Declare `download_name`, `download_title`, `download_count()` and `write_download(target, wanted)`."""

    download_types = CONTENT_TYPES

    def downloaded(self, wanted):
        """The download as the answer, or the page of the job that makes it. Who has no page of jobs has few rows."""
        if run := getattr(self.request, "job_run", None):
            with run.file(f"{self.download_name}.{wanted}", self.download_types[wanted]) as target:
                self.write_download(target, wanted)
            return HttpResponse()
        if self.may("job.view") and self.download_count() > ROWS_AT_ONCE:
            return redirect("job_detail", pk=self._job(wanted).pk)
        target = io.BytesIO()
        self.write_download(target, wanted)
        return file_response(target.getvalue(), self.download_types[wanted], f"{self.download_name}.{wanted}")

    def _job(self, wanted):
        shown = self.request.GET.copy()
        begun_on = self.request.path if shown.pop("download", None) else ""  # all records of a kind have no page
        if begun_on and shown:
            begun_on += f"?{shown.urlencode()}"
        given = {"path": self.request.path, "query": self.request.GET.urlencode(), "page": begun_on}
        title = f"Download: {self.download_title}, {wanted.upper()}"
        return job_ask(actor=self.user, kind=JobKind.DOWNLOAD, title=title, given=given)


def download_make(run):
    """The file of a long download, written by its page for the person who asked, with their rights of now."""
    found, request = resolve(run.given["path"]), HttpRequest()
    request.method, request.path, request.GET = "GET", run.given["path"], QueryDict(run.given["query"])
    request.user, request.job_run = run.actor, run
    run.step("Reading the records")
    try:
        with own_connection():
            found.func(request, *found.args, **found.kwargs)
    except (PermissionDenied, Http404):
        raise ValidationError(MAY_NO_LONGER) from None
    except SheetError as error:
        raise ValidationError(str(error)) from error
    return JobResult(file=run.made_file)
