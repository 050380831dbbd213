"""An uploaded sheet, first step: how the file is written, and which of its columns match ours."""

from django.shortcuts import get_object_or_404, redirect
from django.views.generic import TemplateView

from plantings.forms.sheets import MappingForm, ReadingForm, mapping_initial
from plantings.views.sheets.sheets import SheetMixin, short_cell
from registry.imports.shared.other_files import reader_of
from registry.imports.sheets.mapping import bind, missing_headers
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.table import read_table, sheet_names
from registry.models import ColumnMapping
from registry.services.sheets.uploads import mapping_keep, upload_map

# what a mapping says of how the file is written, and what holds where it says nothing
READING = ("sheet", "header_row", "delimiter", "decimal", "dates", "crs")
WRITTEN_PLAINLY = {"header_row": 1, "decimal": ".", "dates": "YYYY-MM-DD"}


def is_map(content):
    """Whether a file is one of shapes."""
    return reader_of(content) is not None


class SheetColumnsView(SheetMixin, TemplateView):
    """How the file is written, and which of its columns match ours."""

    template_name = "plantings/sheets/sheet_columns.html"

    def get(self, request, *args, **kwargs):
        upload = self.get_upload()
        spec = upload.spec or {}
        chosen = request.GET.get("mapping")
        if chosen:
            spec = get_object_or_404(self.scoped(ColumnMapping), kind=upload.kind, name=chosen).spec
        reading = {name: spec[name] for name in READING if name in spec}
        given = {name: request.GET[name] for name in ReadingForm.base_fields if name in request.GET}
        return self.show(upload, spec, reading | given)

    def show(self, upload, spec, reading, mapping=None):
        content = self.content(upload)
        error, sheets, table = "", [], None
        try:
            sheets = sheet_names(content, upload.filename)
        except SheetError as problem:
            error = str(problem)
        if isinstance(reading.get("dates"), list):
            reading = reading | {"dates": "; ".join(map(str, reading["dates"]))}
        form = ReadingForm(WRITTEN_PLAINLY | reading, sheets=sheets, is_map=is_map(content))
        if not error and form.is_valid():
            try:
                table = read_table(content, upload.filename, ReadingOptions.from_spec(form.spec()))
            except SheetError as problem:
                error = str(problem)
        if table and mapping is None:
            missing = missing_headers(spec, table.headers)
            mapping = self._mapping_form(table, initial=self._initial(spec, table), missing=missing)
        return self.render_to_response(self._page(upload, form, mapping, table, error))

    def _mapping_form(self, table, *args, **kwargs):
        has_parents = bool(self.sheet.parent_fields)
        return MappingForm(*args, fields=self.sheet.sheet_fields(), headers=table.headers, has_parents=has_parents, **kwargs)

    def _initial(self, spec, table):
        try:
            bound = bind(self.sheet.sheet_fields(), table.headers, {})
        except SheetError:
            bound = {}
        return mapping_initial(spec, bound)

    def _page(self, upload, reading, mapping, table, error):
        first = [table.headers, *[[short_cell(cell) for cell in row] for row in table.rows[:3]]] if table else []
        return {
            "title": f"Columns of {upload.filename}",
            "question": f"Which of its columns match ours? {self.sheet.title}: {self.sheet.about}",
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
        reading = ReadingForm(request.POST, sheets=_sheets_or_none(content, upload.filename), is_map=is_map(content))
        if not reading.is_valid():
            return self.show(upload, {}, request.POST.dict())
        try:
            table = read_table(content, upload.filename, ReadingOptions.from_spec(reading.spec()))
        except SheetError:
            return self.show(upload, {}, reading.spec())
        mapping = self._mapping_form(table, request.POST)
        if not mapping.is_valid():
            return self.show(upload, {}, reading.spec(), mapping)
        spec = mapping.spec() | reading.spec()
        upload_map(actor=self.user, upload=upload, spec=spec)
        if mapping.cleaned_data["name"]:
            mapping_keep(actor=self.user, kind=upload.kind, name=mapping.cleaned_data["name"], spec=spec)
        return redirect("sheet_preview", key=upload.key)


def _sheets_or_none(content, filename):
    try:
        return sheet_names(content, filename)
    except SheetError:
        return []
