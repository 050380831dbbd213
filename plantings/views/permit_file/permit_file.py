"""The permit file: everything an inspection of one paper asks for, on a page, as PDF, and as a ZIP with a manifest."""

import mmap
import tempfile
from contextlib import ExitStack
from dataclasses import replace

from django.http import FileResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.functional import cached_property

from plantings.forms.permit_file import PermitFileForm, YearForm
from plantings.selectors.permit_file.items import RULE
from plantings.views.permit_file import material_sections as items
from plantings.views.permit_file.files import PermitFilePrint, has_many_trees, is_large, odd_lines, permit_file_ask
from registry.choices import JobKind
from registry.models import Authorization
from registry.prints.permit_file import AUTHORITY, value_words
from registry.selectors.duties.duty_line import Duty
from registry.views.prints.print_view import scan_texts
from registry.views.shared.addresses import file_response, record_url, reverse_to
from registry.views.shared.forms import RecordActionView
from registry.views.shared.tables import Column, ledger_table

_WIDE = 3  # the weight from which a column gets the width the others leave


class PermitFileView(RecordActionView):
    """The page and, by its buttons, the files. Each file made is recorded; whoever may see the page may make them."""

    model = Authorization
    action = "permitfile.view"
    form_class = PermitFileForm
    template_name = "plantings/permit_file/permit_file.html"
    question = "Where is every item under this paper, alive or dead, and why was it released?"
    title = "Permit file of {object.code}"

    now = cached_property(lambda page: timezone.now())
    day = property(lambda page: page.printer.day)

    @cached_property
    def printer(self):
        return PermitFilePrint(self.object, self.user, self.now, scan_texts(self.request, self.object.code))

    def get(self, request, *args, **kwargs):
        """The page; with a year in the address, on to the report of that year."""
        self.years = YearForm(request.GET if "year" in request.GET else None, initial={"year": self.day.year - 1})
        if self.years.is_valid():
            return redirect(reverse_to("authorization_year", self.object.pk, self.years.cleaned_data["year"]))
        return super().get(request, *args, **kwargs)

    # -- the files

    def form_valid(self, form):
        printer, page = self.printer, form.cleaned_data["page"]
        file, sections = printer.read()
        is_zip = "zip" in self.request.POST
        if is_large(file) if is_zip else has_many_trees(file):
            return redirect(record_url(permit_file_ask(printer, page, JobKind.PERMIT_ZIP if is_zip else JobKind.PERMIT_PDF)))
        printed = printer.pdf(file, sections, page)
        if is_zip:
            return self.zip_response(file, sections, printed)
        printer.record(printer.pdf_name, content=printed)
        return file_response(printed, "application/pdf", printer.pdf_name)

    def zip_response(self, file, sections, printed):
        """Written to a temporary file, which the response streams and the system removes."""
        filename = self.printer.zip_name
        with ExitStack() as stack:
            target = stack.enter_context(tempfile.TemporaryFile())
            self.printer.write_zip(target, file, sections, printed)
            target.flush()
            with mmap.mmap(target.fileno(), 0, access=mmap.ACCESS_READ) as content:
                self.printer.record(filename, content=content)
            target.seek(0)
            stack.pop_all()  # from here on the response closes it
        return FileResponse(target, as_attachment=True, filename=filename, content_type="application/zip")

    # -- the page

    def get_page(self):
        file, sections = self.printer.read()
        paper = self.object
        texts = (("What it covers, as written", paper.covers), ("Conditions, as written", paper.conditions))
        return {
            "code": paper.code,
            "state": paper.get_state_display(),
            "where": f"{paper.get_type_display()}, {paper.issuer}",
            "due": [Duty("odd", line) for line in odd_lines(file)],
            "cautions": [{"title": "What this file is", "lines": [AUTHORITY, RULE]}],
            "facts": [(label, value, None) for label, value in self.printer.facts(file) if value],
            "counts": [(section.name, section.title, len(section.rows)) for section in sections],
            "parts": [
                shown_section(items.account_section(file)) | {"count": None},
                *({"title": title, "include": "registry/shared/_as_written.html", "text": text} for title, text in texts if text),
                *(shown_section(section) for section in sections),
            ],
            "years": getattr(self, "years", None),
            "head": file.head,
        }


def shown_section(section):
    """A section on the page: its first rows; the files have all."""
    columns, places = section.columns_for("read")
    rows = [(row, section.keys[number] if section.keys else None) for number, row in enumerate(section.rows[: section.page_rows])]
    declared = [shown_column(column, place) for column, place in zip(columns, places, strict=True)]
    if section.route:
        declared[0] = replace(declared[0], url=lambda pair: reverse_to(section.route, pair[1]))
    left_off = len(section.rows) - len(rows)
    note = (
        f"{section.note} The first {len(rows)} of {len(section.rows):,} are shown. The PDF and the ZIP have all of them.".strip()
        if left_off
        else section.note
    )
    table = ledger_table(section.title, declared, rows, unit="rows", note=note, empty=section.empty)
    return table | {"id": section.name, "count": len(section.rows)}


def shown_column(column, place):
    kept = column.kind in ("number", "date")  # the table writes those itself
    kind = None if column.kind == "moment" else column.kind
    return Column(
        column.label, lambda pair: pair[0][place] if kept else value_words(pair[0][place]), column.align, kind, wide=column.weight >= _WIDE
    )
