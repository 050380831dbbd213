"""Survival reports: those issued, a draft to look at, and the act of issuing, which the lead does."""

from urllib.parse import urlencode

from django.core.exceptions import ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.functional import cached_property
from django.views import View
from django.views.generic import FormView

from plantings.calc.survival.census_choice import read_census_choice
from plantings.calc.survival.groups import LEVELS
from plantings.forms.reports.reports import IssueForm, ReportChoices
from plantings.models import IssuedReport
from plantings.selectors.reports.reports import ReportDamaged, changed_since, content_of, next_number
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.lifetimes import LifeTables, lineage_lifetimes
from plantings.selectors.survival.lineages import lineage_comparison
from plantings.services.reports.issue import report_issue
from plantings.views.reports.document import draw_report
from plantings.views.survival.lifetimes import life_model_title
from plantings.views.survival.lineages import ShowsModel, lineage_model_title
from registry.access.views import AccessMixin
from registry.choices import JobKind
from registry.prints.pages import draw_document
from registry.prints.stored import canonical_json, document_value
from registry.selectors.duties.duty_line import Duty
from registry.selectors.permits.documents import file_content
from registry.services.jobs.jobs import job_ask
from registry.services.jobs.running import JobResult
from registry.views.prints.print_view import shown
from registry.views.shared.addresses import file_response, record_url
from registry.views.shared.details import PageView, RecordDetailView
from registry.views.shared.forms import ServiceFormMixin
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact
from registry.views.shared.tables import Column, Link

SHOWN_CHANGES = 60


class IssuedReportListView(RecordListView):
    model = IssuedReport
    action = "report.view"
    title = "Survival reports"
    question = "Which reports were issued, and which are in force?"
    unit = "reports"
    related = ("entered_by", "superseded_by")
    add = ("Draft a report", "report.view", "issuedreport_draft")
    empty = ("No report has been issued yet", "Draft one, look at it, and let the lead issue it.", None)
    others = (("Results", "map.view", "results"), ("Prints", "issued.view", "issuedprint_list"))
    columns = (
        Column("Number", "number", url=Link("issuedreport_detail")),
        Column("Year", "year", "right"),
        Column("Lineage taken as", lambda report: LEVELS.get(report.level, report.level)),
        Column("Issued on", "entered_at", kind="date"),
        Column("By", lambda report: str(report.entered_by)),
        Column("State", lambda report: state_words(report), kind="state"),
    )


def state_words(report):
    return f"replaced by {report.superseded_by.number}" if hasattr(report, "superseded_by") else "in force"


class IssuedReportDetailView(RecordDetailView):
    model = IssuedReport
    action = "report.view"
    question = "What was reported, and what changed in the records since?"
    title = "Survival report {object.number}"
    related = ("entered_by", "superseded_by", "supersedes", "pdf")
    state = property(lambda page: state_words(page.object))
    facts = (
        Fact("Issued", "entered_at"),
        Fact("By", "entered_by"),
        Fact("Replaces", "supersedes", url=Link("issuedreport_detail", "supersedes_id")),
        Fact("Why", "reason"),
        Fact("SHA-256 of its numbers", "content_sha256"),
        Fact("SHA-256 of what it rests on", "rests_sha256"),
        Fact("SHA-256 of the PDF", "pdf.sha256"),
    )
    actions = (
        Action("Download the PDF", "issuedreport_pdf", "report.view"),
        Action("Draft one that replaces it", "issuedreport_draft", "report.issue", key=None, when=lambda page: page.in_force,
               query=lambda page: {"year": page.object.year, "level": page.object.level, "replaces": page.object.pk}),
        Action("All survival reports", "issuedreport_list", "report.view", key=None),
    )  # fmt: skip
    in_force = property(lambda page: not hasattr(page.object, "superseded_by"))

    @cached_property
    def damage(self):
        """Why its content cannot be shown; "" where it can."""
        try:
            content_of(self.object)
        except ReportDamaged as damaged:
            return str(damaged)
        return ""

    @cached_property
    def since(self):
        return ((), ()) if self.damage else changed_since(self.user, self.object)

    def get_due(self):
        if self.damage:
            return [Duty("odd", self.damage)]
        counts, later = self.since
        if not counts and not later:
            return [Duty("done", "The records it rests on still say the same.")]
        words = f"The records changed since it was issued: {len(counts):,} of its rounds or later ones have other counts."
        return [Duty("odd", words, step="What changed is below. The report itself never changes; a new one replaces it.")]

    def get_page(self):
        counts, later = self.since
        lines = [*counts[:SHOWN_CHANGES], *later[:SHOWN_CHANGES]]
        more = max(0, len(counts) - SHOWN_CHANGES) + max(0, len(later) - SHOWN_CHANGES)
        lines += [f"And {more:,} more."] if more else []
        include = "registry/prints/_print_notes.html"
        changes = [{"title": "What changed since it was issued", "include": include, "lines": lines}] if lines else []
        frozen = () if self.damage else content_of(self.object)[0].parts
        return super().get_page() | {"parts": [*changes, *map(shown, frozen)]}


class IssuedReportPdfView(AccessMixin, View):
    action = "report.view"

    def find_rows(self):
        self.object = get_object_or_404(self.scoped(IssuedReport).select_related("pdf"), pk=self.kwargs["pk"])

    def get(self, request, *args, **kwargs):
        try:
            content = file_content(self.object.pdf)
        except FileNotFoundError:
            raise Http404("The file is gone. The command verify names it; verify --repair puts a copy back.") from None
        return file_response(content, "application/pdf", self.object.pdf.filename)


class _Chosen:
    """The choices of a draft, from the address."""

    @cached_property
    def choices(self):
        return ReportChoices(self.user, self.request.GET, year=self.today.year)

    @property
    def given(self):
        return self.choices.cleaned_data if self.choices.is_valid() else None

    @property
    def moment(self):
        return read_census_choice(self.given["at"]) if self.given["at"] else None

    def draw(self, **more):
        given, moment = self.given, self.moment
        return draw_report(self.user, given["year"], given["level"], moment, replaces=given["replaces"], **more)


class ReportDraftView(_Chosen, ShowsModel, PageView):
    action = "report.view"
    template_name = "plantings/reports/draft.html"
    title = "Draft of a survival report"
    question = "What would the report say, and is every sentence of it true?"
    shows_earlier = False

    def answer_table(self):
        """What the draft awaits, or else its life tables; None without choices."""
        if not self.given:
            return None
        lineages = lineage_comparison(self.user, self.given["level"], self.moment, SurvivalFilter(), at_once=False)
        return lineages if lineages.awaited else lineage_lifetimes(self.user, self.given["level"], SurvivalFilter(), at_once=False)

    def answer_title(self, table):
        return life_model_title(table) if isinstance(table, LifeTables) else lineage_model_title(table)

    def answer_of(self, made):
        return f"There is a model of {made}. Records that it rests on changed since, and a draft needs one of the records as they are now."

    def get(self, request, *args, **kwargs):
        if "pdf" in request.GET and self.given and not self.answer_table().awaited:
            content = draw_document(self.draw().document, "letter")
            return file_response(content, "application/pdf", f"draft-survival-report-{self.given['year']}.pdf")
        return super().get(request, *args, **kwargs)

    def get_page(self):
        page = {"filters": self.choices}
        if not self.given:
            return page
        table = self.answer_table()
        page |= self.answer_part(table)
        if table.awaited:  # a draft is read and issued as a whole
            return page
        drawn = self.draw()
        address = urlencode(self.choices.address())
        issue = f"{reverse('issuedreport_issue')}?{address}&{urlencode({'seen': drawn.rests_sha256})}"
        return page | {
            "parts": [shown(part) for part in drawn.document.parts],
            "pdf_url": f"{reverse('issuedreport_draft')}?{address}&pdf=1",
            "issue_url": issue if self.may("report.issue") and drawn.moment else "",
        }


class ReportIssueView(_Chosen, ServiceFormMixin, FormView):
    """Issuing what was looked at: the worker draws it, and stops where the records changed in between."""

    action = "report.issue"
    template_name = "generic/confirm.html"
    form_class = IssueForm
    submit_label = "Issue the report"
    success_message = "The report is being drawn. It is issued when it is complete."
    title = property(lambda page: f"Issue the survival report {page.given['year']}?" if page.given else "Issue a survival report")
    question = "Have you read the draft to its end?"
    back_to = "issuedreport_draft"

    def get(self, request, *args, **kwargs):
        return super().get(request, *args, **kwargs) if self.given else redirect("issuedreport_draft")

    def post(self, request, *args, **kwargs):
        return super().post(request, *args, **kwargs) if self.given else redirect("issuedreport_draft")

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"replaces": self.given["replaces"]}

    def get_page(self):
        replaces = self.given["replaces"]
        words = "It gets a number and is frozen: from then on nobody can change it, only replace it by another report."
        return {"text": f"{words} It replaces report {replaces.number}." if replaces else words}

    def perform(self, form):
        given = self.given
        replaces = given["replaces"]
        wanted = {
            "year": given["year"], "level": given["level"], "at": given["at"], "replaces": replaces.pk if replaces else None,
            "reason": form.cleaned_data.get("reason", ""), "seen": self.request.GET.get("seen", ""), "page": form.cleaned_data["page"],
        }  # fmt: skip
        return job_ask(actor=self.user, kind=JobKind.SURVIVAL_REPORT, title=f"Survival report {given['year']}", given=wanted)

    def get_success_url(self):
        return record_url(self.result)


def report_make(run):
    """A survival report, drawn by the worker and issued at the end of its work."""
    given = run.given
    replaces = IssuedReport.objects.for_user(run.actor).get(pk=given["replaces"]) if given["replaces"] else None
    moment = read_census_choice(given["at"]) if given["at"] else None
    number = next_number(given["year"])
    drawn = draw_report(
        run.actor, given["year"], given["level"], moment, number=number, replaces=replaces, reason=given["reason"], step=run.step
    )  # fmt: skip
    if drawn.rests_sha256 != given["seen"]:
        raise ValidationError("The records changed after you looked at the draft. Look at it again, then issue it.")
    content = canonical_json(
        {"document": document_value(drawn.document), "figures": drawn.figures, "rests": drawn.rests, "newest": drawn.newest}
    )
    pdf = draw_document(drawn.document, given["page"])

    def store():
        return record_url(
            report_issue(
                actor=run.actor, number=number, year=given["year"], level=given["level"], moment=drawn.moment, content=content,
                rests_sha256=drawn.rests_sha256, head=drawn.head, pdf=pdf, supersedes=replaces, reason=given["reason"],
            )
        )  # fmt: skip

    return JobResult(store=store)
