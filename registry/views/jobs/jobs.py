"""Long work of the person who looks: a list, how far one is, its result; cancelled or started again by a button."""

from django import forms
from django.http import FileResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property
from django.views import View

from registry.access.views import AccessMixin
from registry.calc.shared.byte_range import byte_range
from registry.choices import JobState
from registry.models import Job
from registry.selectors.duties.duty_line import Duty
from registry.selectors.jobs.jobs import RESULT_DAYS, job_now, result_path, role_has_changed
from registry.services.jobs.jobs import job_again, job_cancel, job_see
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact
from registry.views.shared.tables import Column, Link


class JobListView(RecordListView):
    model = Job
    action = "job.view"
    title = "Long jobs"
    question = "Which large files and reports did you start, and which are ready?"
    unit = "jobs"
    others = (("Prints", "issued.view", "issuedprint_list"),)
    empty = ("No long job yet", "A long sheet, a large permit file or a report that takes a while is made as a job, and listed here.", None)
    columns = (
        Column("What", "title", url=Link("job_detail"), wide=True),
        Column("Started", "asked_at", kind="date"),
        Column("State", lambda job: job_now(job, timezone.now()).words),
        Column("How far", lambda job: job_now(job, timezone.now()).progress),
    )


class JobDetailView(RecordDetailView):
    model = Job
    action = "job.view"
    question = "How far is it, and where is its result?"
    template_name = "registry/jobs/job.html"
    read = None
    now = cached_property(lambda page: timezone.now())
    found = cached_property(lambda page: job_now(page.object, page.now))
    state = property(lambda page: page.found.words)
    facts = (
        Fact("Kind", "get_kind_display"),
        Fact("Started", "asked_at"),
        Fact("Ended", "ended_at"),
        Fact("File", lambda page: page.object.result_name if page.is_download else ""),
        Fact("Size", lambda page: f"{page.object.result_bytes:,} bytes" if page.is_download else ""),
        Fact("SHA-256", lambda page: page.object.result_sha256 if page.is_download else ""),
        Fact("Its start number", lambda page: page.object.attempt if page.object.attempt > 1 else ""),
    )
    actions = (
        Action("Download it", "job_file", "job.view", when=lambda page: page.has_file),
        Action("Cancel it", "job_cancel", "job.view", when=lambda page: page.found.can_cancel),
        Action("Start it again", "job_again", "job.view", when=lambda page: page.found.can_again),
        Action("All your long jobs", "job_list", "job.view", key=None),
    )
    # what a page of Mastbook shows is no download
    is_download = property(lambda page: page.object.result_name and not page.object.result_page)
    is_there = cached_property(lambda page: bool(page.is_download) and result_path(page.object).is_file())
    is_of_other_role = cached_property(lambda page: page.is_there and role_has_changed(page.object, page.user))
    has_file = property(lambda page: page.is_there and not page.is_of_other_role)

    def get(self, request, *args, **kwargs):
        answer = super().get(request, *args, **kwargs)
        job_see(self.object, self.now)
        return answer

    def get_actions(self):
        page, begun_on = self.object.result_page, self.object.given.get("page")
        links = [("Open the result", page)] if page else []
        if begun_on and not page and not self.found.is_moving:
            links = [("Back to where it was started", begun_on)]
        return [*links, *super().get_actions()]

    def get_due(self):
        gone = self.object.state == JobState.DONE and self.is_download and not self.is_there
        ended = self.found.note and not self.found.is_moving  # of work under way the script says it, beside the bar
        lines = [Duty("odd" if self.found.can_again else "info", self.found.note)] if ended else []
        words = (
            f"The file is no longer here: files are deleted {RESULT_DAYS} days after they were made, and no backup has them. Make it again."
        )
        if self.is_of_other_role:
            lines.append(Duty("info", "The file was made for your earlier role, so it can no longer be downloaded. Make it again."))
        return [*lines, *([Duty("info", words)] if gone else [])]

    def get_page(self):
        return super().get_page() | {
            "moving": self.found.is_moving, "note": self.found.note, "progress": self.found.progress, "step": self.object.step,
            "done": self.object.done, "total": self.object.total, "now_url": reverse("job_now", args=[self.object.pk]),
        }  # fmt: skip


class _OwnJob(AccessMixin):
    """A request about one job of the person."""

    action = "job.view"

    def find_rows(self):
        self.object = get_object_or_404(self.scoped(Job), pk=self.kwargs["pk"])


class JobNowView(_OwnJob, View):
    """How far it is, for the script of its page."""

    def get(self, request, *args, **kwargs):
        job, now = self.object, timezone.now()
        found = job_now(job, now)
        page = job.result_page if job.state == JobState.DONE else ""
        if page:
            job_see(job, now)  # the script goes on to it
        answer = {"moving": found.is_moving, "words": found.words, "step": job.step, "progress": found.progress, "note": found.note}
        return JsonResponse(answer | {"done": job.done, "total": job.total, "page": page})


class _Part:
    """So many bytes of an open file, from where it is."""

    def __init__(self, file, length):
        self.file, self.left = file, length

    def read(self, size=-1):
        piece = self.file.read(self.left if size < 0 else min(size, self.left))
        self.left -= len(piece)
        return piece

    def close(self):
        self.file.close()


class JobFileView(_OwnJob, View):
    """The file that was made, while it is there; the rest of it, where a download broke off."""

    def get(self, request, *args, **kwargs):
        job, path = self.object, result_path(self.object)
        if job.state != JobState.DONE or not job.result_name or not path.is_file() or role_has_changed(job, self.user):
            return redirect("job_detail", pk=job.pk)  # which says why there is none
        file, mark = path.open("rb"), f'"{job.result_sha256}"'
        is_same = request.headers.get("If-Range", mark) == mark  # the file was not made again since the download began
        wanted = byte_range(request.headers.get("Range", "") if is_same else "", job.result_bytes)
        if wanted is not None:
            file.seek(wanted[0])
            file = _Part(file, wanted[1] - wanted[0] + 1)
        answer = FileResponse(file, as_attachment=True, filename=job.result_name, content_type=job.result_type)
        answer["Accept-Ranges"], answer["ETag"] = "bytes", mark
        if wanted is not None:
            answer.status_code = 206
            answer["Content-Range"] = f"bytes {wanted[0]}-{wanted[1]}/{job.result_bytes}"
            answer["Content-Length"] = wanted[1] - wanted[0] + 1
        return answer


class _JobButton(RecordActionView):
    model = Job
    argument = "job"
    action = "job.view"
    form_class = forms.Form
    confirm = True


class JobCancelView(_JobButton):
    service = job_cancel
    title = "Cancel {object.title}?"
    text = "What is made so far is thrown away. Nothing of it is stored."
    submit_label = "Cancel the job"
    success_message = "Cancelled, at the latest when the step that is under way ends."


class JobAgainView(_JobButton):
    service = job_again
    title = "Start {object.title} again?"
    text = "It begins again from the start, with the records as they are by then."
    submit_label = "Start it again"
    success_message = "Started again."

    def get(self, request, *args, **kwargs):
        if not job_now(self.object, timezone.now()).can_again:
            return redirect("job_detail", pk=self.object.pk)
        return super().get(request, *args, **kwargs)
