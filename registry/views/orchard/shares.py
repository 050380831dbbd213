"""Measured shares of the donor species: the list, and entering one for a tree or a lot."""

from django.urls import reverse

from registry.forms.orchard.orchard import ShareFilters, ShareForm
from registry.imports.sheets.formats import CONTENT_TYPES, write_rows
from registry.models import Lot, MeasuredShare, PedigreeTree
from registry.selectors.duties.duty_line import Duty
from registry.selectors.pedigree.shares import expected_donor_share, share_lines
from registry.services.orchard.shares import share_enter
from registry.views.orchard.plan import tree_url
from registry.views.pedigree.taxa import MATERIAL_LISTS, lot_url
from registry.views.shared.generic import RecordActionView, file_response
from registry.views.shared.section_views import SectionListView, allowed
from registry.views.shared.tables import Column, as_cell, ledger_table

ODD = "odd: check identity"


def of_url(line):
    return tree_url(line.share.tree) if line.share.tree else lot_url(line.share.lot)


def expected_words(line):
    """The expected donor share of the generation, and how far single trees spread about it."""
    check = line.check
    if check.expected is None:
        return "not known"
    return f"{check.expected:.4g}" + (f" ± {check.spread:.2g}" if check.spread else "")


def share_columns(*, of_column=True):
    """Columns of a table of ShareLine."""
    of = (Column("Tree or lot", lambda line: (line.share.tree or line.share.lot).code, kind="code", url=of_url),) if of_column else ()
    return (
        *of,
        Column("Sampled on", "share.sampled_on", kind="date"),
        Column("Measured donor share", "share.donor_share", "right"),
        Column("Standard error", "share.standard_error", "right"),
        Column("Expected donor share ± 2 SD", expected_words, "right"),
        Column("Finding", lambda line: ODD if line.check.odd else "" if line.check.margin is None else "within what is expected"),
        Column("Plants", "share.sample_size", "right", "number"),
        Column("Markers", "share.markers", "right"),
        Column("Method", "share.method"),
        Column("Laboratory", "share.laboratory"),
        Column("Reference", "share.reference"),
    )


def share_duty(line):
    """What a page says about a measured share that is odd."""
    check = line.check
    text = (
        f"Measured donor share {check.measured:.4g}, expected {check.expected:.4g}: further apart than three standard errors and the "
        f"spread of its generation ({check.margin:.2g}). Odd: check identity."
    )
    return Duty("odd", text, line.share.sampled_on)


class ShareListView(SectionListView):
    model = MeasuredShare
    action = "orchard.view"
    title = "Measured shares"
    question = "Which donor shares were measured, and do they fit the pedigree?"
    unit = "shares"
    filter_form = ShareFilters
    others = MATERIAL_LISTS
    empty = ("No measured share yet", "Open the page of a tree or a lot and choose “Enter a measured share”.", None)
    columns = share_columns()

    def get_queryset(self):
        return super().get_queryset().select_related("tree", "lot")

    def paginate_queryset(self, queryset, page_size):
        paginator, page, _rows, more = super().paginate_queryset(queryset, page_size)
        page.object_list = share_lines(page.object_list)
        return paginator, page, page.object_list, more

    def row_mark(self, line):
        return "odd" if line.check.odd else ""

    def download_columns(self, wanted):
        rows = [[as_cell(column.cell(line)[0]) for column in self.columns] for line in share_lines(self.get_queryset())]
        content = write_rows([column.label for column in self.columns], rows, wanted)
        return file_response(content, CONTENT_TYPES[wanted], f"measured-shares.{wanted}")


class TreeShareView(RecordActionView):
    model = PedigreeTree
    action = "share.enter"
    form_class = ShareForm
    submit_label = "Store the measured share"
    success_message = "The measured share is stored beside the expected one."
    of = "tree"

    def get_title(self):
        return f"Measured share of {self.object.code}"

    @property
    def question(self):
        share = expected_donor_share(self.object)
        words = "is not known, neither by its pedigree nor by its generation" if share is None else f"is {share:.4g}"
        return f"The expected donor share {words}. It stays as it is; the measured one stands beside it."

    def perform(self, form):
        return share_enter(actor=self.request.user, **{self.of: self.object}, **form.cleaned_data)


class LotShareView(TreeShareView):
    model = Lot
    of = "lot"


def lot_share_parts(user, lot):
    """What was measured on a lot, for its page: {"due": […], "parts": […], "actions": […]}; empty for somebody who may not see it."""
    if not user.may("orchard.view"):
        return {"due": [], "parts": [], "actions": []}
    lines = share_lines(lot.measured_shares.select_related("tree", "lot"))
    note = "Beside the expected share, never in its place."
    return {
        "due": [share_duty(line) for line in lines if line.check.odd],
        "parts": [ledger_table("Measured shares", share_columns(of_column=False), lines, unit="shares", note=note)] if lines else [],
        "actions": allowed(user, ("Enter a measured share", "share.enter", reverse("lot_share", args=[lot.pk]))),
    }
