"""An uploaded sheet, second step: what saving it would do, row by row, and saving it."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.generic import TemplateView, View

from plantings.forms.sheets import StoreForm
from plantings.imports.loading import RecordsChanged, plan_file, plan_good, plan_trial, upload_content, upload_load
from plantings.views.sheets.long_sheets import check_ask, checked, is_long, load_ask, no_row_words, problems_ask
from plantings.views.sheets.preview_values import preview_values
from plantings.views.sheets.sheets import SheetMixin, count_words
from registry.imports.sheets.formats import problems_bytes
from registry.imports.sheets.plan import ReasonMissing, SheetRefused
from registry.imports.sheets.reading_options import SheetError
from registry.selectors.jobs.jobs import job_now
from registry.services.audit.busy import Busy
from registry.views.shared.downloads import known_format, sheet_response


class PreviewPage(TemplateView):
    """What saving a sheet would do, at once or, for a long one, as the worker found it. Nothing is saved before the button is pressed."""

    def sets_aside(self):
        return bool(self.request.GET.get("aside"))

    def head(self, upload):
        """What the page says of the upload."""
        raise NotImplementedError

    def page(self, values, form):
        form = form or StoreForm(changes=values["changes"], initial={"shown": values["shown"]})
        return values | {"form": form, "cancel_url": reverse("sheet_list")}

    def show_checked(self, upload, form=None):
        """The page of a long sheet."""
        job, values = checked(self.user, upload, self.sets_aside())
        if job and job_now(job, timezone.now()).is_moving:
            return redirect("job_detail", pk=job.pk)
        context = self.head(upload) | {"long": True, "check": job}
        return self.render_to_response(context | self.page(values, form) if values else context)

    def post_long(self, upload):
        """Start what a button of that page says, and lead to its job."""
        given = self.request.POST
        if "check" in given:
            job = check_ask(self.user, upload, self.sets_aside())
        elif "problems" in given:
            job = problems_ask(self.user, upload, known_format(given["problems"]))
        else:
            form = StoreForm(given, changes="reason" in given)
            if not form.is_valid():
                return self.show_checked(upload, form)
            agreed = form.cleaned_data
            job = load_ask(self.user, upload, shown=agreed["shown"], reason=agreed.get("reason", ""), sets_aside=self.sets_aside())
        return redirect("job_detail", pk=job.pk)


class SheetPreviewView(SheetMixin, PreviewPage):
    """What saving the sheet would do: new, changed, unchanged and wrong rows.

    With `aside` in the address it is what saving would do without the wrong rows, which are then set aside.
    """

    template_name = "plantings/sheets/sheet_preview.html"

    def get(self, request, *args, **kwargs):
        upload = self.get_upload()
        return self.show_checked(upload) if is_long(upload) else self.show(upload)

    def head(self, upload):
        return {
            "title": upload.filename,
            "question": f"What would saving this sheet change? {self.sheet.title}.",
            "upload": upload,
            "stored": count_words(upload.outcome) if upload.loaded_at else "",
        }

    def show(self, upload, form=None, refused=None):
        """The page of the plan; `refused` is one that was just tried in full, with what the services refused."""
        try:
            sheet, plan = self._plan(upload)
        except SheetError as error:
            return self.render_to_response(self.head(upload) | {"error": str(error)})
        return self.render_to_response(self.head(upload) | self.page(preview_values(sheet, refused or plan, self.sets_aside()), form))

    def _plan(self, upload):
        """(sheet, plan) of what the page shows."""
        file = {"kind": upload.kind, "content": upload_content(upload), "filename": upload.filename, "spec": upload.spec}
        if self.sets_aside():
            try:
                sheet, _table, plan = plan_good(actor=self.user, **file)
                return sheet, plan
            except (SheetRefused, Busy) as error:
                messages.error(self.request, no_row_words(error) if isinstance(error, SheetRefused) else error.messages[0])
        sheet, _table, plan = plan_file(**file)
        return sheet, plan_trial(actor=self.user, sheet=sheet, plan=plan)

    def post(self, request, *args, **kwargs):
        upload = self.get_upload()
        if is_long(upload):
            return self.post_long(upload)
        form = StoreForm(request.POST, changes="reason" in request.POST)
        if not form.is_valid():
            return self.show(upload, form)
        try:
            given = form.cleaned_data
            plan = upload_load(
                actor=self.user, upload=upload, shown=given["shown"], reason=given.get("reason", ""), set_aside=self.sets_aside()
            )
        except ReasonMissing:
            return self.show(upload, StoreForm(request.POST, changes=True))
        except SheetRefused as refused:
            messages.error(request, "Nothing was saved: some rows are wrong. They are listed below.")
            return self.show(upload, refused=refused.plan)
        except Busy as busy:
            messages.error(request, busy.messages[0])
            return self.show(upload, form)
        except (RecordsChanged, SheetError) as error:
            messages.error(request, "Nothing was saved: records changed after this preview was made. Check it again.")
            # rows set aside are tried in full only here, so what the full trial found is what the page shows now
            return self.show(upload, refused=error.plan if self.sets_aside() and isinstance(error, RecordsChanged) else None)
        messages.success(request, f"Sheet saved: {plan.summary()}.")
        return redirect("load_detail", pk=plan.load.pk) if plan.load else redirect("sheet_list")


class SheetProblemsView(SheetMixin, View):
    """The sheet as it was uploaded, with one more column that says what to correct in each row."""

    def get(self, request, key, wanted):
        upload = self.get_upload()
        try:
            sheet, table, plan = plan_file(upload.kind, upload_content(upload), upload.filename, upload.spec)
            plan_trial(actor=self.user, sheet=sheet, plan=plan)
            content = problems_bytes(table, plan, known_format(wanted))
        except SheetError as error:
            raise Http404(str(error)) from error
        return sheet_response(content, f"{upload.filename.rpartition('.')[0]}-to-correct", wanted)
