"""The permit file as a document and as files: drawn alike for its page, for a download, and by long work."""

from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone
from django.utils.dateparse import parse_datetime

from plantings.exports.permit_zip import permit_zip
from plantings.selectors.permit_file.items import RULE
from plantings.selectors.permit_file.keep import keep_words
from plantings.selectors.permit_file.permit_file import history_under, permit_file
from plantings.selectors.plantings.plantings import exact_for, site_position
from plantings.views.permit_file import material_sections as items
from plantings.views.permit_file import movement_sections as movements
from plantings.views.permit_file import paper_sections as papers
from plantings.views.permit_file import people_sections as people
from plantings.views.permit_file.map import map_geojson, map_part, map_places
from registry.calc.shared.screen import moment_words
from registry.choices import IssuedKind, JobKind
from registry.compliance.duties.duties import LATE
from registry.models import Authorization, Person
from registry.prints.pages import draw_document
from registry.prints.permit_file import permit_file_document
from registry.services.jobs.jobs import job_ask
from registry.services.jobs.running import JobResult
from registry.services.prints.issued import print_record
from registry.views.prints.print_view import file_name

__all__ = ["TREES_AT_ONCE", "PermitFilePrint", "has_many_trees", "is_large", "odd_lines", "permit_file_ask", "permit_file_make"]

# a file of more is made by the worker: one of this many trees takes about a second, the documents of a ZIP as long as the disk
TREES_AT_ONCE, DOCUMENT_BYTES_AT_ONCE = 20_000, 30_000_000


@dataclass(frozen=True)
class PermitFilePrint:
    """The file of one paper as one person may see it at a moment; `scan` is what its QR code may hold, the best first."""

    paper: Authorization
    user: Person
    now: datetime
    scan: tuple

    day = property(lambda self: timezone.localdate(self.now))
    made = property(lambda self: f"as of {moment_words(timezone.localtime(self.now), zone=True)}, made by {self.user}")
    title = property(lambda self: f"Permit file of {self.paper.code}")

    def read(self):
        """The file, and its sections in order, the history last."""
        file = permit_file(self.paper, self.now)
        latest = list(history_under(self.paper).order_by("-pk")[: papers.HISTORY_PRINTED])
        return file, [*self.sections(file), papers.history_section(file, latest)]

    def sections(self, file):
        exact = exact_for(self.user)
        return [
            papers.versions_section(file), papers.states_section(file), items.lots_section(file), items.chain_section(file),
            movements.shipments_section(file), movements.receipts_section(file),
            items.places_section(file, lambda site: site_position(site, exact=exact).words),
            items.flowering_section(file), papers.determinations_section(file), papers.rules_section(file), papers.draws_section(file),
            papers.duties_section(file.dates),
            papers.incidents_section(file.incidents),
            papers.clocks_section(file.clocks), papers.notices_section(file), people.people_section(file),
            people.training_section(file), people.cautions_section(file), people.crews_section(file), papers.documents_section(file),
            papers.signatures_section(file),
        ]  # fmt: skip

    def places(self, file):
        exact = exact_for(self.user)
        return map_places(file, lambda site: site_position(site, exact=exact))

    def facts(self, file):
        return (*papers.paper_facts(self.paper, self.day), ("Store it", keep_words(file, self.day)))

    def pdf(self, file, sections, page):
        return draw_document(self.document(file, sections), page)

    def document(self, file, sections):
        paper = self.paper
        return permit_file_document(
            title=self.title, made_on=self.day, made=self.made, code=paper.code, scan=self.scan, facts=self.facts(file),
            account=items.account_section(file), sections=sections,
            texts=(("What it covers, as written", paper.covers), ("Conditions, as written", paper.conditions)),
            odd=tuple(odd_lines(file)), rule=RULE, maps=map_part(*self.places(file)),
        )  # fmt: skip

    def write_zip(self, target, file, sections, printed, step=None):
        history = ([column.label for column in papers.HISTORY_COLUMNS], papers.history_row)
        places, _left_off = self.places(file)
        permit_zip(
            target, file=file, sections=[items.account_section(file), *sections[:-1]], printed=printed, history=history, made=self.made,
            map_file=map_geojson(places), step=step,
        )  # fmt: skip

    @property
    def pdf_name(self):
        return file_name(IssuedKind.PERMIT_FILE, self.paper.code)

    @property
    def zip_name(self):
        return self.pdf_name.removesuffix(".pdf") + ".zip"

    def record(self, filename, **content):
        """Record that the print was made."""
        print_record(
            actor=self.user, kind=IssuedKind.PERMIT_FILE, title=self.title, filename=filename, authorizations=[self.paper], **content
        )  # fmt: skip


# -- as long work


def has_many_trees(file):
    """Whether the PDF of a file is long work."""
    return sum(entry.planted for entry in file.items.entries) > TREES_AT_ONCE


def is_large(file):
    """Whether the ZIP of a file is long work."""
    stored = {used.file.pk: used.file.size_bytes for used in file.files}
    return has_many_trees(file) or sum(stored.values()) > DOCUMENT_BYTES_AT_ONCE


def permit_file_ask(printer, page, kind):
    """Start a permit file as long work, as a ZIP with its documents or as the PDF alone. Returns the job."""
    given = {"paper": printer.paper.pk, "now": printer.now.isoformat(), "page": page, "scan": list(printer.scan)}
    title = f"{printer.title}, with its documents" if kind == JobKind.PERMIT_ZIP else printer.title
    return job_ask(actor=printer.user, kind=kind, title=title, given=given)


def permit_file_make(run):
    """A permit file, made by the worker: the ZIP, or the PDF alone."""
    given = run.given
    paper = Authorization.objects.for_user(run.actor).get(pk=given["paper"])
    printer = PermitFilePrint(paper, run.actor, parse_datetime(given["now"]), tuple(given["scan"]))
    run.step("Reading the records")
    file, sections = printer.read()
    run.step("Drawing the PDF")
    printed = printer.pdf(file, sections, given["page"])
    if run.job.kind == JobKind.PERMIT_PDF:
        with run.file(printer.pdf_name, "application/pdf") as target:
            target.write(printed)
    else:
        with run.file(printer.zip_name, "application/zip") as target:
            printer.write_zip(target, file, sections, printed, run.step)
    made = run.made_file
    return JobResult(file=made, store=lambda: printer.record(made.name, sha256=made.sha256, size=made.size))


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
