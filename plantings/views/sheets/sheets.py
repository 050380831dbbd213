"""Loading a sheet, step by step: send, say how it is written and which column is which, look, store."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.generic import FormView, TemplateView, View

from plantings.forms.sheets import MappingForm, ReadingForm, SheetUploadForm, StoreForm, mapping_initial
from plantings.imports.kinds import KINDS, SHEET_GROUPS
from plantings.imports.loading import BookChanged, plan_file, plan_trial, upload_load
from registry.access.views import AccessMixin
from registry.calc.shared.screen import unit_words
from registry.imports.sheets.formats import CONTENT_TYPES, export_bytes, problems_bytes, template_bytes
from registry.imports.sheets.mapping import bind, missing_headers
from registry.imports.sheets.plan import CHANGED, NEW, UNCHANGED, ReasonMissing, SheetRefused, grouped
from registry.imports.sheets.table import TO_CORRECT, ReadingOptions, SheetError, read_table, sheet_names
from registry.models import ColumnMapping, SheetUpload
from registry.services.sheets.uploads import mapping_keep, upload_keep, upload_map
from registry.views.shared.generic import file_response
from registry.views.shared.tables import Column, ledger_table

_SHOWN_ROWS = 50
_SHOWN_PROBLEMS = 200


class SheetMixin(AccessMixin):
    """The kind named in the route; a person loads only kinds whose records their role may edit."""

    action = "import.run"

    def dispatch(self, request, *args, **kwargs):
        if "kind" in kwargs:
            self.sheet = self.allowed(kwargs["kind"])
        return super().dispatch(request, *args, **kwargs)

    def allowed(self, kind):
        if kind not in KINDS:
            raise Http404("There is no such kind of sheet.")
        sheet = KINDS[kind]
        if not (self.request.user.may(sheet.action) and self.request.user.may(sheet.edit_action)):
            raise PermissionDenied
        return sheet

    def get_upload(self):
        upload = get_object_or_404(self.scoped(SheetUpload), key=self.kwargs["key"])
        self.sheet = self.allowed(upload.kind)
        return upload

    @staticmethod
    def content(upload):
        with upload.file.open("rb") as file:
            return file.read()


class SheetListView(SheetMixin, TemplateView):
    template_name = "plantings/sheets/sheet_list.html"

    def get_context_data(self, **kwargs):
        user = self.request.user
        groups = [(title, [sheet for sheet in sheets if self._may_load(user, sheet)]) for title, sheets in SHEET_GROUPS]
        uploads = (
            self.scoped(SheetUpload)
            .filter(kind__in=[sheet.kind for _title, sheets in groups for sheet in sheets])
            .select_related("uploaded_by")[:20]
        )
        columns = (
            Column("File", "filename", url=lambda upload: reverse("sheet_preview", args=[upload.key])),
            Column("Kind", lambda upload: KINDS[upload.kind].title),
            Column("Sent by", "uploaded_by"),
            Column("Sent", "uploaded_at", kind="date"),
            Column("Stored", lambda upload: _outcome_words(upload) if upload.loaded_at else "not stored"),
        )
        return super().get_context_data(**kwargs) | {
            "title": "Load a sheet",
            "question": "Which records do you bring? Take a template, or send your own sheet and say once which column is which.",
            "groups": [(title, sheets) for title, sheets in groups if sheets],
            "recent": ledger_table("Sheets sent in", columns, uploads, unit="sheets", empty="No sheet has been sent in yet."),
        }

    @staticmethod
    def _may_load(user, sheet):
        return user.may(sheet.action) and user.may(sheet.edit_action)


def _outcome_words(upload):
    return ", ".join(f"{count:,} {name}" for name, count in upload.outcome.items() if count) or "nothing new"


class SheetTemplateView(SheetMixin, View):
    def get(self, request, kind, wanted):
        return _file(template_bytes(self.sheet, _known(wanted)), wanted, f"{kind}-template")


class SheetExportView(SheetMixin, View):
    """Every record of a kind, as the same kind of sheet reads it back."""

    def get(self, request, kind, wanted):
        return _file(export_bytes(self.sheet, self.sheet().get_queryset(), _known(wanted)), wanted, kind)


def _known(wanted):
    if wanted not in CONTENT_TYPES:
        raise Http404("There is no such format.")
    return wanted


def _file(content, wanted, name):
    return file_response(content, CONTENT_TYPES[wanted], f"{name}.{wanted}")


class SheetSendView(SheetMixin, FormView):
    template_name = "plantings/sheets/sheet_send.html"
    form_class = SheetUploadForm

    def form_valid(self, form):
        file = form.cleaned_data["file"]
        upload = upload_keep(actor=self.request.user, kind=self.sheet.kind, content=file.read(), filename=file.name)
        ours = self._all_headers_ours(upload)
        return redirect("sheet_preview" if ours else "sheet_columns", key=upload.key)

    def _all_headers_ours(self, upload):
        try:
            headers = read_table(self.content(upload), upload.filename).headers
            ours = {source.header for source in bind(self.sheet.sheet_fields(), headers, {}).values()}
            return set(headers) <= ours | {TO_CORRECT}
        except SheetError:
            return False

    def get_context_data(self, **kwargs):
        fields = self.sheet.sheet_fields()
        columns = (
            Column("Column", lambda field: field.column_name),
            Column("Needed", lambda field: "yes" if field.required else "if known"),
            Column("Example", lambda field: str(field.example)),
        )
        return super().get_context_data(**kwargs) | {
            "title": f"Load {self.sheet.title.lower()}",
            "question": self.sheet.about,
            "kind": self.sheet.kind,
            "submit_label": "Send the sheet",
            "cancel_url": reverse("sheet_list"),
            "section": ledger_table("Columns of the template", columns, fields.values(), unit="columns"),
        }


class SheetColumnsView(SheetMixin, TemplateView):
    """How the file is written, and which of its columns is which of ours."""

    template_name = "plantings/sheets/sheet_columns.html"

    def get(self, request, *args, **kwargs):
        upload = self.get_upload()
        spec = upload.spec or {}
        chosen = request.GET.get("mapping")
        if chosen:
            spec = get_object_or_404(self.scoped(ColumnMapping), kind=upload.kind, name=chosen).spec
        reading = {name: spec[name] for name in ("sheet", "header_row", "delimiter", "decimal", "dates") if name in spec}
        given = {name: request.GET[name] for name in ReadingForm.base_fields if name in request.GET}
        return self.show(upload, spec, reading | given)

    def show(self, upload, spec, reading, mapping=None):
        content = self.content(upload)
        error, sheets, table = "", [], None
        try:
            sheets = sheet_names(content, upload.filename)
        except SheetError as problem:
            error = str(problem)
        form = ReadingForm({"header_row": 1, "decimal": ".", "dates": "YYYY-MM-DD"} | reading, sheets=sheets)
        if not error and form.is_valid():
            try:
                table = read_table(content, upload.filename, ReadingOptions.from_spec(form.spec()))
            except SheetError as problem:
                error = str(problem)
        if table and mapping is None:
            missing = missing_headers(spec, table.headers)
            mapping = MappingForm(
                initial=self._initial(spec, table), fields=self.sheet.sheet_fields(), headers=table.headers, missing=missing
            )
        return self.render_to_response(self._page(upload, form, mapping, table, error))

    def _initial(self, spec, table):
        try:
            bound = bind(self.sheet.sheet_fields(), table.headers, {})
        except SheetError:
            bound = {}
        return mapping_initial(spec, bound)

    def _page(self, upload, reading, mapping, table, error):
        first = [table.headers, *[[_short(cell) for cell in row] for row in table.rows[:3]]] if table else []
        return {
            "title": f"Columns of {upload.filename}",
            "question": f"Which of its columns is which of ours? {self.sheet.title}: {self.sheet.about}",
            "upload": upload,
            "reading": reading,
            "mapping": mapping,
            "form": mapping or reading,
            "error": error,
            "first_rows": first,
            "mappings": self.scoped(ColumnMapping).filter(kind=upload.kind),
        }

    def post(self, request, *args, **kwargs):
        upload = self.get_upload()
        content = self.content(upload)
        reading = ReadingForm(request.POST, sheets=_sheets_or_none(content, upload.filename))
        if not reading.is_valid():
            return self.show(upload, {}, request.POST.dict())
        try:
            table = read_table(content, upload.filename, ReadingOptions.from_spec(reading.spec()))
        except SheetError:
            return self.show(upload, {}, reading.spec())
        mapping = MappingForm(request.POST, fields=self.sheet.sheet_fields(), headers=table.headers)
        if not mapping.is_valid():
            return self.show(upload, {}, reading.spec(), mapping)
        spec = {"columns": mapping.columns()} | reading.spec()
        upload_map(actor=request.user, upload=upload, spec=spec)
        if mapping.cleaned_data["name"]:
            mapping_keep(actor=request.user, kind=upload.kind, name=mapping.cleaned_data["name"], spec=spec)
        return redirect("sheet_preview", key=upload.key)


def _sheets_or_none(content, filename):
    try:
        return sheet_names(content, filename)
    except SheetError:
        return []


def _short(cell):
    text = "" if cell is None else str(cell)
    return text if len(text) <= 40 else text[:39] + "…"


class SheetPreviewView(SheetMixin, TemplateView):
    """What storing the sheet would do: new, changed, unchanged and wrong rows. Nothing is stored before the button."""

    template_name = "plantings/sheets/sheet_preview.html"

    def get(self, request, *args, **kwargs):
        return self.show(self.get_upload())

    def show(self, upload, form=None):
        context = {
            "title": f"{upload.filename}",
            "question": f"What would storing this sheet do? {self.sheet.title}.",
            "upload": upload,
            "stored": _outcome_words(upload) if upload.loaded_at else "",
        }
        try:
            sheet, _table, plan = plan_file(upload.kind, self.content(upload), upload.filename, upload.spec)
        except SheetError as error:
            return self.render_to_response(context | {"error": str(error)})
        plan_trial(actor=self.request.user, sheet=sheet, plan=plan)
        return self.render_to_response(context | self._page(upload, sheet, plan, form))

    def _page(self, upload, sheet, plan, form):
        counts = plan.counts
        todo = counts[NEW] + counts[CHANGED]
        columns = (
            Column("Row", lambda problem: problem.row, "right"),
            Column("Column", "column"),
            Column("Value", lambda problem: _short(problem.value)),
            Column("What to do", "message"),
        )
        parts = []
        if plan.problems:
            problems = sorted(plan.problems, key=lambda problem: problem.row or 0)
            parts.append(ledger_table("Wrong rows", columns, problems[:_SHOWN_PROBLEMS], unit=f"of {len(plan.problems):,} problems"))
        if plan.warnings:
            looks = (Column("What looks odd", str),)
            found = grouped(plan.warnings)[:_SHOWN_ROWS]
            parts.append(ledger_table("Worth a second look", looks, found, unit="warnings", note="These do not stop the sheet."))
        parts.extend(self._rows(sheet, plan, outcome) for outcome in (CHANGED, NEW, UNCHANGED) if counts[outcome])
        return {
            "counts": [(name, count) for name, count in counts.items()],
            "plan": plan,
            "parts": parts,
            "todo": todo,
            "form": form or StoreForm(changes=bool(counts[CHANGED]), initial={"shown": plan.summary()}),
            "submit_label": f"Store {todo:,} {unit_words(todo, 'rows')}",
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
            old, new = (sheet.words(name, value) for value in item.changes[name])
            return f"{old or 'nothing'} → {new}"
        return sheet.words(name, item.values.get(name))

    def post(self, request, *args, **kwargs):
        upload = self.get_upload()
        form = StoreForm(request.POST, changes="reason" in request.POST)
        if not form.is_valid():
            return self.show(upload, form)
        try:
            given = form.cleaned_data
            plan = upload_load(actor=request.user, upload=upload, shown=given["shown"], reason=given.get("reason", ""))
        except ReasonMissing:
            return self.show(upload, StoreForm(request.POST, changes=True))
        except (BookChanged, SheetRefused, SheetError):
            messages.error(request, "Nothing was stored: the book changed since the sheet was shown. Look at it again.")
            return self.show(upload)
        messages.success(request, f"Stored: {plan.summary()}.")
        return redirect("sheet_list")


class SheetProblemsView(SheetMixin, View):
    """The sheet as it was sent, with one more column that says what to correct in each row."""

    def get(self, request, key, wanted):
        upload = self.get_upload()
        try:
            sheet, table, plan = plan_file(upload.kind, self.content(upload), upload.filename, upload.spec)
        except SheetError as error:
            raise Http404(str(error)) from error
        plan_trial(actor=request.user, sheet=sheet, plan=plan)
        return _file(problems_bytes(table, plan, _known(wanted)), wanted, f"{upload.filename.rpartition('.')[0]}-to-correct")


class SheetOriginalView(SheetMixin, View):
    def get(self, request, key):
        upload = self.get_upload()
        return file_response(self.content(upload), "application/octet-stream", upload.filename)
