"""A sheet of several kinds, last step: what saving it would do, kind by kind, and saving it."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect
from django.views.generic import View

from plantings.forms.sheets import StoreForm
from plantings.imports.combined.loading import PlanChanged, combined_plan, combined_upload_load, upload_files
from plantings.imports.loading import upload_content
from plantings.views.sheets.combined import CombinedMixin
from plantings.views.sheets.long_sheets import is_long, no_row_words
from plantings.views.sheets.preview import PreviewPage
from plantings.views.sheets.preview_values import combined_values
from plantings.views.sheets.sheets import outcome_words
from registry.imports.sheets.formats import problems_bytes
from registry.imports.sheets.plan import ReasonMissing, SheetRefused
from registry.imports.sheets.reading_options import SheetError
from registry.services.audit.apart import tried_apart
from registry.services.audit.busy import Busy
from registry.views.shared.addresses import file_response
from registry.views.shared.downloads import known_format, sheet_response


class CombinedPreviewView(CombinedMixin, PreviewPage):
    """What saving the sheet would do. Nothing is saved before the button is pressed."""

    template_name = "plantings/sheets/combined_preview.html"

    def get(self, request, *args, **kwargs):
        return self.show_checked(self.upload) if is_long(self.upload) else self.show()

    def head(self, upload):
        return {
            "title": upload.filename,
            "question": "What would saving this sheet change? All kinds are saved together, or nothing is.",
            "upload": upload,
            "stored": outcome_words(upload) if upload.loaded_at else "",
        }

    def show(self, form=None, refused=None):
        head = self.head(self.upload)
        try:
            plan = refused or self.shown_plan()
        except SheetError as error:
            return self.render_to_response(head | {"error": str(error)})
        except Busy as busy:
            return self.render_to_response(head | {"busy": busy.messages[0]})
        return self.render_to_response(head | self.page(combined_values(plan, self.sets_aside()), form))

    def shown_plan(self):
        """The plan of the sheet; without its wrong rows where the address says so and a row is left."""
        try:
            return self.plan(self.sets_aside())[1]
        except SheetRefused as refused:
            messages.error(self.request, no_row_words(refused))
            return self.plan()[1]

    def plan(self, set_aside=False):
        """(table, plan) of the whole sheet. Raises SheetError, Busy, and with `set_aside` SheetRefused."""
        upload = self.upload
        return combined_plan(
            actor=self.user, content=upload_content(upload), filename=upload.filename, spec=upload.spec, files=upload_files(upload),
            set_aside=set_aside,
        )  # fmt: skip

    def post(self, request, *args, **kwargs):
        if is_long(self.upload):
            return self.post_long(self.upload)
        form = StoreForm(request.POST, changes="reason" in request.POST)
        if not form.is_valid():
            return self.show(form)
        given = form.cleaned_data
        try:
            agreed = {"shown": given["shown"], "reason": given.get("reason", ""), "set_aside": self.sets_aside()}
            plan = combined_upload_load(actor=self.user, upload=self.upload, **agreed)
        except ReasonMissing:
            return self.show(StoreForm(request.POST, changes=True))
        except SheetRefused as refused:
            messages.error(request, "Nothing was saved: some rows are wrong. They are listed below.")
            return self.show(refused=refused.plan)
        except Busy as busy:
            messages.error(request, busy.messages[0])
            return self.show(form)
        except (PlanChanged, SheetError):
            messages.error(request, "Nothing was saved: records changed after this preview was made. Check it again.")
            return self.show()
        messages.success(request, f"Sheet saved: {plan.summary()}.")
        return redirect("load_detail", pk=plan.load.pk) if plan.load else redirect("sheet_list")


class CombinedProblemsView(CombinedPreviewView):
    """The sheet as it was uploaded, with one more column that says what to correct in each row."""

    def get(self, request, combined, wanted):
        try:
            table, plan = tried_apart(self.plan) if is_long(self.upload) else self.plan()
        except SheetError as error:
            raise Http404(str(error)) from error
        name = f"{self.upload.filename.rpartition('.')[0]}-to-correct"
        return sheet_response(problems_bytes(table, plan, known_format(wanted)), name, wanted)


class CombinedOriginalView(CombinedMixin, View):
    def get(self, request, combined):
        return file_response(self.content(self.upload), "application/octet-stream", self.upload.filename)
