"""The permit file: everything an inspection of one paper asks for, on a page, as PDF, and as a ZIP with a manifest."""

import mmap
import tempfile
from contextlib import ExitStack
from dataclasses import replace

from django.http import FileResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.functional import cached_property

from plantings.exports.permit_zip import permit_zip
from plantings.forms.permit_file import PermitFileForm, YearForm
from plantings.selectors.permit_file.items import RULE
from plantings.selectors.permit_file.keep import keep_words
from plantings.selectors.permit_file.permit_file import history_under, permit_file
from plantings.selectors.plantings.plantings import exact_for, site_position
from plantings.views.permit_file import material_sections as items
from plantings.views.permit_file import paper_sections as papers
from plantings.views.permit_file import people_sections as people
from plantings.views.permit_file.map import map_geojson, map_part, map_places
from registry.calc.shared.screen import moment_words
from registry.choices import IssuedKind
from registry.compliance.duties.duties import LATE
from registry.models import Authorization
from registry.prints.pages import draw_document
from registry.prints.permit_file import AUTHORITY, permit_file_document, value_words
from registry.selectors.duties.duty_line import Duty
from registry.services.prints.issued import print_record
from registry.views.prints.print_view import file_name, scan_texts
from registry.views.shared.addresses import file_response, reverse_to
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
    day = property(lambda page: timezone.localdate(page.now))
    made = property(lambda page: f"as of {moment_words(timezone.localtime(page.now), zone=True)}, made by {page.user}")

    def read(self):
        """The file, and its sections in order, the history last."""
        file = permit_file(self.object, self.now)
        latest = list(history_under(self.object).order_by("-pk")[: papers.HISTORY_PRINTED])
        return file, [*self.get_sections(file), papers.history_section(file, latest)]

    def get_sections(self, file):
        exact = exact_for(self.user)
        return [
            papers.versions_section(file), papers.states_section(file), items.lots_section(file), items.chain_section(file),
            items.shipments_section(file), items.receipts_section(file),
            items.places_section(file, lambda site: site_position(site, exact=exact).words),
            items.flowering_section(file), papers.determinations_section(file), papers.rules_section(file), papers.draws_section(file),
            papers.duties_section(file.dates),
            papers.incidents_section(file.incidents),
            papers.clocks_section(file.clocks), papers.notices_section(file), people.people_section(file),
            people.training_section(file), people.cautions_section(file), people.crews_section(file), papers.documents_section(file),
            papers.signatures_section(file),
        ]  # fmt: skip

    def get_places(self, file):
        exact = exact_for(self.user)
        return map_places(file, lambda site: site_position(site, exact=exact))

    def get_facts(self, file):
        return (*papers.paper_facts(self.object, self.day), ("Store it", keep_words(file, self.day)))

    def get(self, request, *args, **kwargs):
        """The page; with a year in the address, on to the report of that year."""
        self.years = YearForm(request.GET if "year" in request.GET else None, initial={"year": self.day.year - 1})
        if self.years.is_valid():
            return redirect(reverse_to("authorization_year", self.object.pk, self.years.cleaned_data["year"]))
        return super().get(request, *args, **kwargs)

    # -- the files

    def form_valid(self, form):
        file, sections = self.read()
        printed = draw_document(self.get_document(file, sections), form.cleaned_data["page"])
        if "zip" in self.request.POST:
            return self.zip_response(file, sections, printed)
        filename = file_name(IssuedKind.PERMIT_FILE, self.object.code)
        self.record(filename, printed)
        return file_response(printed, "application/pdf", filename)

    def get_document(self, file, sections):
        paper = self.object
        return permit_file_document(
            title=self.get_title(), made_on=self.day, made=self.made, code=paper.code,
            scan=scan_texts(self.request, paper.code), facts=self.get_facts(file),
            account=items.account_section(file), sections=sections,
            texts=(("What it covers, as written", paper.covers), ("Conditions, as written", paper.conditions)),
            odd=tuple(odd_lines(file)), rule=RULE, maps=map_part(*self.get_places(file)),
        )  # fmt: skip

    def zip_response(self, file, sections, printed):
        """Written to a temporary file, which the response streams and the system removes."""
        filename = file_name(IssuedKind.PERMIT_FILE, self.object.code).removesuffix(".pdf") + ".zip"
        history = ([column.label for column in papers.HISTORY_COLUMNS], papers.history_row)
        sections = [items.account_section(file), *sections[:-1]]
        with ExitStack() as stack:
            target = stack.enter_context(tempfile.TemporaryFile())
            places, _left_off = self.get_places(file)
            permit_zip(
                target, file=file, sections=sections, printed=printed, history=history, made=self.made, map_file=map_geojson(places)
            )  # fmt: skip
            target.flush()
            with mmap.mmap(target.fileno(), 0, access=mmap.ACCESS_READ) as content:
                self.record(filename, content)
            target.seek(0)
            stack.pop_all()  # from here on the response closes it
        return FileResponse(target, as_attachment=True, filename=filename, content_type="application/zip")

    def record(self, filename, content):
        print_record(
            actor=self.user, kind=IssuedKind.PERMIT_FILE, title=self.get_title(), filename=filename, content=content,
            authorizations=[self.object],
        )  # fmt: skip

    # -- the page

    def get_page(self):
        file, sections = self.read()
        paper = self.object
        texts = (("What it covers, as written", paper.covers), ("Conditions, as written", paper.conditions))
        return {
            "code": paper.code,
            "state": paper.get_state_display(),
            "where": f"{paper.get_type_display()}, {paper.issuer}",
            "due": [Duty("odd", line) for line in odd_lines(file)],
            "cautions": [{"title": "What this file is", "lines": [AUTHORITY, RULE]}],
            "facts": [(label, value, None) for label, value in self.get_facts(file) if value],
            "counts": [(section.name, section.title, len(section.rows)) for section in sections],
            "parts": [
                shown_section(items.account_section(file)) | {"count": None},
                *({"title": title, "include": "registry/shared/_as_written.html", "text": text} for title, text in texts if text),
                *(shown_section(section) for section in sections),
            ],
            "years": getattr(self, "years", None),
            "head": file.head,
        }


def odd_lines(file):
    """What does not add up, is missing or late, in the order an inspector would ask."""
    items_, paper = file.items, file.paper
    late = sum(status.status == LATE for _duty, status in file.dates)
    untold = sum(state.late_by is not None for state in file.clocks)
    overridden = sum(answer.record.override_by_id is not None for answer in file.answers)
    under_way = len({line.shipment_pk for line in items_.lines if line.under_way})
    short = sum(line.short for line in items_.lines)
    unreported = sum(line.unreported for line in items_.lines if line.arrived)
    stopped = [f"Answer no. {record.pk} about {record.subject} cannot be repeated: {fault}." for record, fault, _rules in file.faults]
    drawn = sum(file.drawn.values())
    found = [
        (drawn != paper.drawn, f"Recorded as drawn: {paper.drawn:,}; its draws add up to {drawn:,}. Run the command verify."),
        (not file.files, "It has no document."),
        (overridden, f"Gate answers overridden by the lead: {overridden:,}. The reasons are below."),
        (late, f"Duties not done by their due date: {late:,}."),
        (untold, f"Incident clocks missed: {untold:,}."),
        (under_way, f"Shipments that left and have no receipt: {under_way:,}."),
        (short, f"Seeds and plants shipped but missing from the receipts: {short:,}."),
        (unreported, f"Seeds and plants received in good order, but neither planted nor reported as left over: {unreported:,}."),
    ]
    return [*stopped, *(words for wrong, words in found if wrong)]


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
