"""A sheet of several kinds, first steps: sending it, which kinds it holds, and which of its columns match those of each kind."""

import json

from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.generic import TemplateView

from plantings.forms.combined.parts import CombinedForm, CombinedUploadForm, PartForm, shared_text
from plantings.forms.sheets import ReadingForm, mapping_initial
from plantings.imports.combined.loading import upload_files
from plantings.imports.combined.parts import COMBINED
from plantings.imports.combined.second_sheets import SECOND_FILES, SECOND_SHEETS, joined
from plantings.imports.kinds import KINDS
from plantings.imports.loading import upload_content
from plantings.views.sheets.columns import READING, WRITTEN_PLAINLY, is_map
from plantings.views.sheets.sheets import SheetMixin, SheetSendView, short_cell
from registry.imports.sheets.mapping import bind, missing_headers
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.table import read_table, sheet_names
from registry.models import ColumnMapping, SheetUpload
from registry.services.sheets.uploads import mapping_keep, second_keep, upload_map


class CombinedMixin(SheetMixin):
    """A sheet that was sent as one of several kinds."""

    def find_rows(self):
        self.sheet = COMBINED
        self.upload = get_object_or_404(self.scoped(SheetUpload), key=self.kwargs["combined"], kind=COMBINED.kind)

    @property
    def parts(self):
        """{kind: what the mapping says of it}, in load order."""
        parts = self.upload.spec.get("parts") or {}
        return {kind: parts[kind] for kind in KINDS if kind in parts}

    def table(self, spec):
        """The file as it is read, with the columns of its second sheets. Raises SheetError."""
        content, filename = upload_content(self.upload), self.upload.filename
        table = read_table(content, filename, ReadingOptions.from_spec(spec))
        return joined(table, spec, content, filename, upload_files(self.upload))[0]


class CombinedSendView(SheetSendView):
    form_class = CombinedUploadForm
    template_name = "plantings/sheets/combined_send.html"

    def find_rows(self):
        self.sheet = COMBINED

    def next_page(self, upload, form):
        given = form.cleaned_data["mapping"]
        if given:
            upload_map(actor=self.user, upload=upload, spec=given)
        for second in form.cleaned_data["second"]:
            second_keep(actor=self.user, upload=upload, content=second.read(), filename=second.name)
        return "combined_preview" if given else "combined_parts"

    def columns_table(self):
        return None


class CombinedPartsView(CombinedMixin, TemplateView):
    """How the file is written, which kinds of records it holds, and what is taken for each."""

    template_name = "plantings/sheets/combined_parts.html"

    def get(self, request, *args, **kwargs):
        spec = self.upload.spec
        return self.show(self._reading(spec), CombinedForm(initial={"more": shared_text(spec)}, kinds=self._kinds()))

    def _reading(self, spec):
        given = WRITTEN_PLAINLY | {name: spec[name] for name in READING if name in spec}
        if isinstance(given["dates"], list):
            given["dates"] = "; ".join(map(str, given["dates"]))
        return self._reading_form(given)

    def _reading_form(self, given):
        return ReadingForm(given, sheets=self._sheet_names(), is_map=is_map(self.content(self.upload)))

    def _sheet_names(self):
        try:
            return sheet_names(self.content(self.upload), self.upload.filename)
        except SheetError:
            return []  # the page says why when it reads the file

    def _sent(self):
        """What belongs to this upload and to no other with the same mapping."""
        return {SECOND_FILES: self.upload.spec[SECOND_FILES]} if SECOND_FILES in self.upload.spec else {}

    def _kinds(self):
        return [(kind, sheet.title) for kind, sheet in KINDS.items() if kind not in self.parts and self.may_load(sheet)]

    def show(self, reading, form):
        error, rows = "", []
        try:
            shared = {SECOND_SHEETS: self.upload.spec[SECOND_SHEETS]} if SECOND_SHEETS in self.upload.spec else {}
            table = self.table(shared | (reading.spec() if reading.is_valid() else {}))
            rows = [table.headers, *[[short_cell(cell) for cell in row] for row in table.rows[:3]]]
        except SheetError as problem:
            error = str(problem)
        return self.render_to_response(
            {
                "title": f"Kinds in {self.upload.filename}",
                "question": "Which kinds of records does this sheet hold? Add each kind, then match its columns.",
                "upload": self.upload,
                "reading": reading,
                "form": form,
                "error": error,
                "first_rows": rows,
                "parts": [self._part_words(kind, part) for kind, part in self.parts.items()],
                "mappings": self.scoped(ColumnMapping).filter(kind=COMBINED.kind),
                "mapping_text": json.dumps(_without_files(self.upload.spec), ensure_ascii=False, indent=1) if self.parts else "",
            }
        )

    @staticmethod
    def _part_words(kind, part):
        fields = KINDS[kind].with_own_columns().sheet_fields()
        columns = part.get("columns") or {}
        taken = [(fields[name].column_name if name in fields else name, _source_words(given)) for name, given in columns.items()]
        others = {name: value for name, value in part.items() if name not in ("columns", "about")}
        return kind, KINDS[kind].title, taken, json.dumps(others, ensure_ascii=False) if others else ""

    def post(self, request, *args, **kwargs):
        if chosen := request.POST.get("use"):
            saved = get_object_or_404(self.scoped(ColumnMapping), kind=COMBINED.kind, name=chosen)
            upload_map(actor=self.user, upload=self.upload, spec=saved.spec | self._sent())
            return redirect("combined_parts", self.upload.key)
        reading = self._reading_form(request.POST)
        form = CombinedForm(request.POST, kinds=self._kinds())
        if not (reading.is_valid() and form.is_valid()):
            return self.show(reading, form)
        left_out = request.POST.get("leave_out")
        parts = {kind: part for kind, part in self.parts.items() if kind != left_out}
        spec = {"parts": parts} | form.cleaned_data["more"] | reading.spec()
        upload_map(actor=self.user, upload=self.upload, spec=spec | self._sent())
        if form.cleaned_data["name"] and parts:
            mapping_keep(actor=self.user, kind=COMBINED.kind, name=form.cleaned_data["name"], spec=spec)
        if request.POST.get("then") == "add" and form.cleaned_data["add"]:
            return redirect("combined_part", self.upload.key, form.cleaned_data["add"])
        return redirect("combined_preview" if request.POST.get("then") == "preview" else "combined_parts", self.upload.key)


class CombinedPartView(CombinedMixin, TemplateView):
    """Which columns of the sheet match those of one kind."""

    template_name = "plantings/sheets/combined_part.html"

    def find_rows(self):
        super().find_rows()
        self.kind = self.allowed(self.kwargs["kind"])

    def get(self, request, *args, **kwargs):
        return self.show()

    def show(self, form=None):
        try:
            table = self.table(self.upload.spec)
        except SheetError:
            return redirect("combined_parts", self.upload.key)  # which says what is wrong with the file
        if form is None:
            part = self.parts.get(self.kind.kind, {})
            form = self._form(table, initial=mapping_initial(part, self._by_header(table)), missing=missing_headers(part, table.headers))
        return self.render_to_response(
            {
                "title": f"{self.kind.title} in {self.upload.filename}",
                "question": f"Which of its columns match ours? {self.kind.about}",
                "upload": self.upload,
                "mapping": form,
                "form": form,
                "first_rows": [table.headers, *[[short_cell(cell) for cell in row] for row in table.rows[:3]]],
                "submit_label": "Save these columns",
                "cancel_url": reverse("combined_parts", args=[self.upload.key]),
            }
        )

    def _form(self, table, *args, **kwargs):
        has_parents = bool(self.kind.parent_fields)
        return PartForm(*args, fields=self.kind.sheet_fields(), headers=table.headers, has_parents=has_parents, **kwargs)

    def _by_header(self, table):
        try:
            return bind(self.kind.sheet_fields(), table.headers, {})
        except SheetError:
            return {}

    def post(self, request, *args, **kwargs):
        try:
            table = self.table(self.upload.spec)
        except SheetError:
            return redirect("combined_parts", self.upload.key)
        form = self._form(table, request.POST)
        if not form.is_valid():
            return self.show(form)
        spec = self.upload.spec | {"parts": self.parts | {self.kind.kind: form.spec()}}
        upload_map(actor=self.user, upload=self.upload, spec=spec)
        return redirect("combined_parts", self.upload.key)


def _without_files(spec):
    return {name: value for name, value in spec.items() if name != SECOND_FILES}


def _source_words(given):
    """What one of our columns takes, for the list of kinds."""
    if isinstance(given, str):
        return f"“{given}”"
    if isinstance(given, dict) and set(given) == {"constant"}:
        return f"always “{given['constant']}”"
    return json.dumps(given, ensure_ascii=False)
