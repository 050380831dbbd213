"""Sheets: the kinds there are, their templates and downloads, and uploading one."""

from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.generic import FormView, TemplateView, View

from plantings.forms.sheets import SheetUploadForm
from plantings.imports.combined.parts import COMBINED
from plantings.imports.kinds import KINDS, SHEET_GROUPS
from plantings.imports.loading import upload_content
from registry.access.views import AccessMixin
from registry.calc.shared.record_keys import is_record_key
from registry.imports.loads.rest import rest_load, rest_spec
from registry.imports.sheets.formats import export_to, template_bytes
from registry.imports.sheets.mapping import bind
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.table import TO_CORRECT, read_table
from registry.models import SheetUpload
from registry.selectors.loads.loads import open_load
from registry.services.sheets.uploads import upload_keep, upload_map
from registry.views.shared.addresses import file_response
from registry.views.shared.downloads import known_format, sheet_response
from registry.views.shared.forms import add_errors
from registry.views.shared.long_downloads import LongDownload
from registry.views.shared.tables import Column, ledger_table

_RECENT = 20
_CELL_LENGTH = 40


class MayLoad(AccessMixin):
    """A person loads only the kinds whose records their role may edit."""

    action = "import.run"

    def may_load(self, sheet):
        return self.may(sheet.action) and self.may(sheet.edit_action)


class SheetMixin(MayLoad):
    """The kind named in the route."""

    def find_rows(self):
        if "kind" in self.kwargs:
            self.sheet = self.allowed(self.kwargs["kind"])

    def allowed(self, kind):
        if kind not in KINDS:
            raise Http404("There is no sheet of this kind.")
        if not self.may_load(KINDS[kind]):
            raise PermissionDenied
        return KINDS[kind].with_own_columns()

    def get_upload(self):
        upload = get_object_or_404(self.scoped(SheetUpload).exclude(kind=COMBINED.kind), key=self.kwargs["key"])
        self.sheet = self.allowed(upload.kind)
        return upload

    @staticmethod
    def content(upload):
        try:
            return upload_content(upload)
        except SheetError as error:
            raise Http404(str(error)) from error


class SheetListView(SheetMixin, TemplateView):
    template_name = "plantings/sheets/sheet_list.html"

    def get_context_data(self, **kwargs):
        groups = [(title, [sheet for sheet in sheets if self.may_load(sheet)]) for title, sheets in SHEET_GROUPS]
        kinds = [COMBINED.kind, *(sheet.kind for _title, sheets in groups for sheet in sheets)]
        uploads = self.scoped(SheetUpload).filter(kind__in=kinds).select_related("uploaded_by")[:_RECENT]
        columns = (
            Column("File", "filename", url=lambda upload: reverse(upload.preview_route, args=[upload.key])),
            Column("Kind", lambda upload: KINDS.get(upload.kind, COMBINED).title),
            Column("Uploaded by", "uploaded_by"),
            Column("Uploaded on", "uploaded_at", kind="date"),
            Column("Saved", lambda upload: outcome_words(upload) if upload.loaded_at else "not saved"),
        )
        return super().get_context_data(**kwargs) | {
            "title": "Load a sheet",
            "question": "Which records do you want to load? Fill in a template, or upload your own sheet and match its columns to ours.",
            "groups": [(title, sheets) for title, sheets in groups if sheets],
            "combined": COMBINED,
            "loads_url": reverse("load_list"),
            "recent": ledger_table("Uploaded sheets", columns, uploads, unit="sheets", empty="No sheet has been uploaded yet."),
        }


def outcome_words(upload):
    """What saving an uploaded sheet did: "12 new, 3 changed", or of several kinds "lots: 6 new; sites: 4 new"."""
    if upload.kind == COMBINED.kind:
        kinds = [(KINDS[kind].title.lower(), upload.outcome[kind]) for kind in KINDS if kind in upload.outcome]
        return "; ".join(f"{title}: {count_words(counts)}" for title, counts in kinds)
    return count_words(upload.outcome)


def count_words(counts):
    """What saving a sheet did: "12 new, 3 changed"."""
    return ", ".join(f"{count:,} {name}" for name, count in counts.items() if count) or "nothing new"


class SheetTemplateView(SheetMixin, View):
    def get(self, request, kind, wanted):
        return sheet_response(template_bytes(self.sheet, known_format(wanted)), f"{kind}-template", wanted)


class SheetExportView(LongDownload, SheetMixin, View):
    """Every record of a kind, in the columns that the same kind of sheet reads."""

    download_name = property(lambda page: page.sheet.kind)
    download_title = property(lambda page: page.sheet.title.lower())

    def get(self, request, kind, wanted):
        return self.downloaded(known_format(wanted))

    def download_count(self):
        return self.sheet().get_queryset().count()

    def write_download(self, target, wanted):
        export_to(target, self.sheet, self.sheet().get_queryset(), wanted, self.user)


def short_cell(cell):
    """A cell as a page shows it."""
    text = "" if cell is None else str(cell)
    if text.startswith('{"type":"'):
        return "outline as GeoJSON"
    return text if len(text) <= _CELL_LENGTH else text[: _CELL_LENGTH - 1] + "…"


class SheetSendView(SheetMixin, FormView):
    template_name = "plantings/sheets/sheet_send.html"
    form_class = SheetUploadForm

    def form_valid(self, form):
        file = form.cleaned_data["file"]
        try:
            content = file.read()
            upload = upload_keep(actor=self.user, kind=self.sheet.kind, content=content, filename=file.name)
        except ValidationError as error:
            add_errors(form, error)
            return self.form_invalid(form)
        if earlier := self._earlier_load(content, file.name):
            upload_map(actor=self.user, upload=upload, spec=rest_spec(earlier))
            return redirect(upload.preview_route, upload.key)
        return redirect(self.next_page(upload, form), upload.key)

    def next_page(self, upload, form):
        return "sheet_preview" if self._has_only_our_headers(upload) else "sheet_columns"

    def _earlier_load(self, content, filename):
        """The load that a file is the rest of: as the address says, or as its rows say."""
        said = self.request.GET.get("rest_of", "")
        key = int(said) if is_record_key(said) else rest_load(content, filename)
        return open_load(key, self.sheet.kind) if key else None

    def _has_only_our_headers(self, upload):
        try:
            headers = read_table(upload_content(upload), upload.filename).headers
            ours = {source.header for source in bind(self.sheet.sheet_fields(), headers, {}).values()}
            return set(headers) <= ours | {TO_CORRECT}
        except SheetError:
            return False

    def columns_table(self):
        columns = (
            Column("Column", "column_name"),
            Column("Needed", lambda field: "yes" if field.required else "optional"),
            Column("Example", lambda field: str(field.example) or field.help),
        )
        return ledger_table("Columns of the template", columns, self.sheet.sheet_fields().values(), unit="columns")

    def get_context_data(self, **kwargs):
        return super().get_context_data(**kwargs) | {
            "title": f"Load {self.sheet.title.lower()}",
            "question": self.sheet.about,
            "kind": self.sheet.kind,
            "submit_label": "Upload the sheet",
            "cancel_url": reverse("sheet_list"),
            "section": self.columns_table(),
        }


class SheetOriginalView(SheetMixin, View):
    def get(self, request, key):
        upload = self.get_upload()
        return file_response(self.content(upload), "application/octet-stream", upload.filename)
