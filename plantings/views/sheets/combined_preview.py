"""A sheet of several kinds, last step: what saving it would do, kind by kind, and saving it."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.views.generic import View

from plantings.forms.sheets import StoreForm
from plantings.imports.combined.loading import PlanChanged, combined_plan, combined_upload_load, upload_files
from plantings.imports.combined.parts import COMBINED
from plantings.imports.loading import upload_content
from plantings.views.sheets.combined import CombinedMixin
from plantings.views.sheets.preview import SheetPreviewView
from plantings.views.sheets.sheets import outcome_words
from registry.calc.shared.screen import amount_words, number_words
from registry.imports.loads.aside import aside_fault
from registry.imports.sheets.formats import problems_bytes
from registry.imports.sheets.plan import CHANGED, NEW, REPEATED, UNCHANGED, WRONG, ReasonMissing, SheetRefused
from registry.imports.sheets.table import SheetError
from registry.services.audit.busy import Busy
from registry.views.shared.addresses import file_response
from registry.views.shared.downloads import known_format, sheet_response
from registry.views.shared.tables import Column, ledger_table

_NEW_SHOWN, _LINES_SHOWN = 5, 200
_KIND_COLUMNS = (
    Column("Kind", lambda part: part.sheet.title),
    *(
        Column(name.capitalize(), lambda part, name=name: number_words(part.plan.counts[name]), "right")
        for name in (NEW, CHANGED, UNCHANGED)
    ),
    Column("Said again", lambda part: number_words(part.plan.counts[REPEATED]), "right"),
    Column("Wrong", lambda part: number_words(part.plan.counts[WRONG]), "right"),
)


class CombinedPreviewView(CombinedMixin, SheetPreviewView):
    """What saving the sheet would do. Nothing is saved before the button is pressed."""

    template_name = "plantings/sheets/combined_preview.html"

    def get(self, request, *args, **kwargs):
        return self.show()

    def show(self, form=None, refused=None):
        context = {
            "title": self.upload.filename,
            "question": "What would saving this sheet change? All kinds are saved together, or nothing is.",
            "upload": self.upload,
            "stored": outcome_words(self.upload) if self.upload.loaded_at else "",
        }
        try:
            plan = refused or self.plan()[1]
        except SheetError as error:
            return self.render_to_response(context | {"error": str(error)})
        except Busy as busy:
            return self.render_to_response(context | {"busy": busy.messages[0]})
        return self.render_to_response(context | self._page(plan, form))

    def plan(self):
        """(table, plan) of the whole sheet. Raises SheetError, Busy."""
        upload = self.upload
        return combined_plan(
            actor=self.user, content=upload_content(upload), filename=upload.filename, spec=upload.spec, files=upload_files(upload)
        )

    def _page(self, plan, form):
        note = "“Said again” are rows that repeat an earlier row of the sheet, such as the site of each of its trees."
        parts = [ledger_table("Kinds", _KIND_COLUMNS, plan.parts, unit="kinds", note=note)]
        for title, lines in (
            ("What is wrong", plan.problem_lines()),
            ("Warnings: they do not stop the sheet from being saved", plan.warning_lines()),
        ):
            if lines:
                columns = (Column("Kind, rows and column: what to do", str),)
                parts.append(ledger_table(title, columns, lines[:_LINES_SHOWN], unit="lines"))
        for part in plan.parts:
            parts += [self._first_rows(part, outcome) for outcome in (CHANGED, NEW) if part.plan.counts[outcome]]
        todo = sum(part.plan.counts[NEW] + part.plan.counts[CHANGED] for part in plan.parts)
        return {
            "plan": plan,
            "aside_fault": aside_fault(COMBINED),
            "parts": parts,
            "todo": todo,
            "form": form or StoreForm(changes=bool(plan.changed), initial={"shown": plan.summary()}),
            "submit_label": f"Save {amount_words(todo, 'records')}",
            "cancel_url": reverse("sheet_list"),
        }

    def _first_rows(self, part, outcome):
        """The rows of one outcome of a kind; of new ones a few, which show whether the columns are the right ones."""
        table = self._rows(part.sheet, part.plan, outcome)
        rows = table["rows"][: _NEW_SHOWN if outcome == NEW else None]
        count = part.plan.counts[outcome]
        unit = table["unit"] if len(rows) == count else f"rows shown of {count:,}"
        return table | {"title": f"{part.sheet.title}: {outcome}", "rows": rows, "count": len(rows), "unit": unit}

    def post(self, request, *args, **kwargs):
        form = StoreForm(request.POST, changes="reason" in request.POST)
        if not form.is_valid():
            return self.show(form)
        given = form.cleaned_data
        try:
            plan = combined_upload_load(actor=self.user, upload=self.upload, shown=given["shown"], reason=given.get("reason", ""))
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
            table, plan = self.plan()
        except SheetError as error:
            raise Http404(str(error)) from error
        name = f"{self.upload.filename.rpartition('.')[0]}-to-correct"
        return sheet_response(problems_bytes(table, plan, known_format(wanted)), name, wanted)


class CombinedOriginalView(CombinedMixin, View):
    def get(self, request, combined):
        return file_response(self.content(self.upload), "application/octet-stream", self.upload.filename)
