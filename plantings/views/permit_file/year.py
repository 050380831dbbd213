"""The draft of a yearly report under a paper: its numbers are filled in; a person reads, completes and sends it."""

from django.http import Http404
from django.utils import timezone

from plantings.selectors.permit_file.year import year_report
from plantings.views.permit_file.material_sections import MIXED, by_unit, number_column
from plantings.views.permit_file.paper_sections import clocks_section, duties_section, incidents_section, paper_facts
from registry.calc.shared.screen import moment_words
from registry.choices import IssuedKind
from registry.compliance.duties.duties import DONE_LATE, DONE_ON_TIME
from registry.models import Authorization
from registry.prints.permit_file import FileColumn, FileSection, year_report_document
from registry.views.prints.print_view import PrintView

YEAR_MIN, YEAR_MAX = 1900, 2200
TO_WRITE = (
    "How it was done: who visited, by which method, how long after the season.",
    "What harm to plants, animals or places was seen, and how it was looked for. If none was seen, say so.",
    "Why fewer were planted or visited than planned.",
    "What is planned for the next year.",
    "Check every number against the paper's conditions and the authority's form before you send it.",
)


def account_section(report):
    """The numbers of the year, seeds and plants apart."""

    def of_entries(name):
        return by_unit((one.entry.unit, getattr(one, name)) for one in report.at_last_round)

    deaths = sum(count for _cause, count in report.deaths)
    removals = sum(count for _reason, count in report.removals)
    met = sum(status.status == DONE_ON_TIME for _duty, status in report.dates)
    late = sum(status.status == DONE_LATE for _duty, status in report.dates)
    rows = (
        ("Shipped", *by_unit(report.shipped), "shipments that left in the year"),
        ("Received", *by_unit(report.received), "receipts of the year"),
        ("Planted", *by_unit(report.planted), "plantings of the year"),
        ("Followed by the census: n", *of_entries("n"), "last round of the year, without replacements"),
        ("– alive", *of_entries("alive"), "last round of the year"),
        ("– dead", *of_entries("dead"), "last round of the year"),
        ("– – died since the last round of an earlier year", *of_entries("died"), "difference of two rounds"),
        ("– presumed dead", *of_entries("presumed_dead"), "not found at two rounds running"),
        ("– unaccounted", *of_entries("unaccounted"), "not found, position not located, not visited"),
        ("– removed", *of_entries("removed"), "last round of the year"),
        ("Planted before then, no round in the year", *by_unit(report.unseen), "plantings"),
        ("Left over and destroyed", *by_unit(report.destroyed), "leftovers of the year"),
        ("Destroyed in the lots, of the entire lots", *by_unit(report.destroyed_in_lots), "ledger of the year"),
        ("Trees first recorded dead, cause below", None, deaths, "census records of the year"),
        ("Trees first recorded removed, reason below", None, removals, "census records of the year"),
        ("Trees seen in flower or fruit", None, report.flowered, "census records of the year"),
        ("– for the first time", None, report.first_flowered, "census records of this and earlier years"),
        ("Census notes that mention flowers", None, report.flower_notes, "census records of the year: read them"),
        ("Duties due in the year", None, len(report.dates), "duties"),
        ("– done on time", None, met, "duties"),
        ("– done late", None, late, "duties"),
        ("– not done", None, len(report.dates) - met - late, "duties"),
        ("Incidents discovered", None, len(report.incidents), "incidents"),
        ("Shipments and plantings released by the gate", None, report.answers, "answers that name the paper"),
        ("– by an override of the lead", None, report.overridden, "answers that name the paper"),
    )  # fmt: skip
    columns = (FileColumn("What", 4), number_column("Seeds", 1), number_column("Plants, or count", 1.2), FileColumn("From", 4))
    note = f"1 Jan to 31 Dec {report.year}, as recorded on {moment_words(timezone.localtime(report.now), zone=True)}."
    return FileSection("account", f"The year {report.year} in numbers", columns, rows, note)


def standing_section(report):
    rows = tuple(
        (one.entry.planting, one.entry.site.name, one.entry.lot, one.entry.role, one.round, one.n, one.alive, one.dead,
         one.presumed_dead, one.unaccounted, one.removed)
        for one in report.at_last_round
    )  # fmt: skip
    numbers = (("n", 0.5), ("Alive", 0.6), ("Dead", 0.6), ("Presumed dead", 1), ("Unaccounted", 1.3), ("Removed", 1))
    columns = (
        FileColumn("Planting", 1.5, "code"), FileColumn("Site", 1.5), FileColumn("Lot", 1.5, "code"), FileColumn("Role", 0.7),
        FileColumn("Round", 1.1), *(number_column(label, weight) for label, weight in numbers),
    )  # fmt: skip
    return FileSection("standing", "At the last round of the year", columns, rows, note=MIXED, empty="No round of the year has records.")


def counted_section(name, title, label, rows, empty):
    return FileSection(name, title, (FileColumn(label, 4), number_column("Trees", 1)), rows, empty=empty)


def year_sections(report):
    flowers = duties_section(report.flower_duties)
    return [
        standing_section(report),
        counted_section("deaths", "Died, by cause", "Cause, as first recorded", report.deaths, "No death was first recorded in the year."),
        counted_section(
            "removals", "Removed, by reason", "Reason, as first recorded", report.removals, "No removal was first recorded in the year."
        ),
        FileSection("flowers", "Flowers: duties due in the year", flowers.columns, flowers.rows, empty="No flower duty was due."),
        FileSection("duties", "Duties due in the year", flowers.columns, duties_section(report.dates).rows, empty="No duty was due."),
        incidents_section(report.incidents),
        clocks_section(report.clocks),
    ]


class YearReportView(PrintView):
    """`permitfile.view` opens the page; making the file needs "print.make" too, as for every print that goes out in our name."""

    model = Authorization
    action = "permitfile.view"
    kind = IssuedKind.YEAR_REPORT
    submit_label = "Make the PDF of the draft"
    question = "What happened under this paper in one year? The numbers are filled in; a person reads, completes and sends it."

    def find_rows(self):
        super().find_rows()
        if not YEAR_MIN <= self.kwargs["year"] <= YEAR_MAX:
            raise Http404(f"Give a year from {YEAR_MIN} to {YEAR_MAX}.")

    def get_links(self):
        return {"authorizations": [self.object]}

    def get_document(self):
        report = year_report(self.object, self.kwargs["year"], timezone.now())
        return year_report_document(
            **self.document_values(), title=f"Yearly report {report.year} under {self.object.code}", code=self.object.code,
            facts=paper_facts(self.object, self.today), account=account_section(report), sections=year_sections(report), to_write=TO_WRITE,
        )  # fmt: skip
