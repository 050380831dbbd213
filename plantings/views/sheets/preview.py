"""An uploaded sheet, second step: what saving it would do, row by row, and saving it."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import redirect
from django.urls import reverse
from django.views.generic import TemplateView, View

from plantings.forms.sheets import StoreForm
from plantings.imports.loading import RecordsChanged, plan_file, plan_good, plan_trial, upload_content, upload_load
from plantings.views.sheets.sheets import SheetMixin, count_words, short_cell
from registry.calc.shared.screen import amount_words
from registry.imports.loads.aside import aside_fault
from registry.imports.sheets.formats import problems_bytes
from registry.imports.sheets.plan import CHANGED, NEW, UNCHANGED, ReasonMissing, SheetRefused, grouped, groups
from registry.imports.sheets.table import SheetError
from registry.services.audit.busy import Busy
from registry.views.shared.downloads import known_format, sheet_response
from registry.views.shared.tables import Column, ledger_table

_SHOWN_ROWS = 50
_SHOWN_PROBLEMS = 200


class SheetPreviewView(SheetMixin, TemplateView):
    """What saving the sheet would do: new, changed, unchanged and wrong rows. Nothing is saved before the button is pressed.

    With `aside` in the address it is what saving would do without the wrong rows, which are then set aside.
    """

    template_name = "plantings/sheets/sheet_preview.html"

    def get(self, request, *args, **kwargs):
        return self.show(self.get_upload())

    def show(self, upload, form=None, refused=None):
        """The page of the plan; `refused` is one that was just tried in full, with what the services refused."""
        context = {
            "title": upload.filename,
            "question": f"What would saving this sheet change? {self.sheet.title}.",
            "upload": upload,
            "stored": count_words(upload.outcome) if upload.loaded_at else "",
        }
        try:
            sheet, plan = self._plan(upload)
        except SheetError as error:
            return self.render_to_response(context | {"error": str(error)})
        plan = refused or plan
        return self.render_to_response(context | self._page(upload, sheet, plan, form))

    def sets_aside(self):
        return bool(self.request.GET.get("aside"))

    def _plan(self, upload):
        """(sheet, plan) of what the page shows."""
        file = {"kind": upload.kind, "content": upload_content(upload), "filename": upload.filename, "spec": upload.spec}
        if self.sets_aside():
            try:
                sheet, _table, plan = plan_good(actor=self.user, **file)
                return sheet, plan
            except (SheetRefused, Busy) as error:
                messages.error(self.request, "No row can be saved by itself." if isinstance(error, SheetRefused) else error.messages[0])
        sheet, _table, plan = plan_file(**file)
        return sheet, plan_trial(actor=self.user, sheet=sheet, plan=plan)

    def _page(self, upload, sheet, plan, form):
        counts = plan.counts
        todo = counts[NEW] + counts[CHANGED]
        columns = (
            Column("Rows", lambda group: len(group.rows), "right"),
            Column("Column", "column"),
            Column("What to do", "message", wide=True),
            Column("Value", lambda group: short_cell(group.value_words())),
            Column("Which", lambda group: group.row_words()),
        )
        parts = []
        problems = plan.problems or [problem for found in plan.aside.values() for problem in found]
        if problems:
            found = groups(problems)
            unit = "kinds of fault" if len(found) <= _SHOWN_PROBLEMS else f"kinds of fault shown of {len(found):,}"
            title = "Wrong rows" if plan.problems else "Rows set aside"
            parts.append(ledger_table(title, columns, found[:_SHOWN_PROBLEMS], unit=unit))
        if plan.warnings:
            looks = (Column("Warning", str),)
            found = grouped(plan.warnings)[:_SHOWN_ROWS]
            parts.append(
                ledger_table("Warnings", looks, found, unit="warnings", note="A warning does not stop the sheet from being saved.")
            )
        parts.extend(self._rows(sheet, plan, outcome) for outcome in (CHANGED, NEW, UNCHANGED) if counts[outcome])
        return {
            "counts": [(name, count) for name, count in counts.items()],
            "plan": plan,
            "parts": parts,
            "todo": todo,
            "form": form or StoreForm(changes=bool(counts[CHANGED]), initial={"shown": plan.summary()}),
            "submit_label": f"Save {amount_words(todo, 'rows')}" + (f" and set {len(plan.aside):,} aside" if plan.aside else ""),
            "may_set_aside": bool(plan.problems) and not self.sets_aside() and not aside_fault(sheet),
            "cancel_url": reverse("sheet_list"),
        }

    def _rows(self, sheet, plan, outcome):
        items = plan.sound(outcome)
        names = list(sheet.sources)
        columns = [Column("Row", lambda item: item.row, "right")]
        columns += [Column(sheet.header(name), lambda item, name=name: self._cell(sheet, item, name)) for name in names]
        unit = "rows" if len(items) <= _SHOWN_ROWS else f"rows shown of {len(items):,}"
        return ledger_table(f"{outcome.capitalize()} rows", columns, items[:_SHOWN_ROWS], unit=unit)

    @staticmethod
    def _cell(sheet, item, name):
        if name in item.changes:
            old, new = (sheet.shown(name, value) for value in item.changes[name])
            return f"{old or 'nothing'} → {new}"
        return sheet.shown(name, item.values.get(name))

    def post(self, request, *args, **kwargs):
        upload = self.get_upload()
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
