"""Measured shares of the donor species: the list, and entering one for a tree or a lot."""

from django.utils.functional import cached_property

from registry.forms.orchard.orchard import ShareFilters, ShareForm
from registry.models import Lot, MeasuredShare, PedigreeTree
from registry.selectors.duties.duty_line import Duty
from registry.selectors.pedigree.numbers import ASSUMED_WORDS
from registry.selectors.pedigree.shares import SHARE_RELATED, expected_donor_share, share_lines
from registry.services.orchard.shares import share_enter
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.addresses import record_url
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Section
from registry.views.shared.tables import Column

ODD = "odd: check identity"


def record_of(line):
    return line.share.tree or line.share.lot


def expected_words(line):
    """The expected donor share, and how far single trees spread about it."""
    check = line.check
    if check.expected is None:
        return "not known"
    spread = f" ± {check.spread:.2g}" if check.spread else ""
    return f"{check.expected:.4g}{spread}{f'; {ASSUMED_WORDS}' if line.assumed else ''}"


def limit_words(line):
    """From the lowest to the highest share that is not odd."""
    return "{:.3f} to {:.3f}".format(*line.check.limit) if line.check.limit else ""


LIMIT_NOTE = (
    "The limit is the expected share, on either side of it two standard deviations of what was measured and three standard errors of the "
    "laboratory. Two standard deviations hold about 95 in 100 single trees of early generations, at least 3 in 4 of late ones (Hill "
    "1993; Chebyshev). Selfed trees have the wider spread of selfing; parents related in another way count as unrelated; the plants of a "
    "lot count as one family. Selected trees hold more of the donor."
)


def share_columns(*, of_column=True):
    """Columns of a table of ShareLine."""
    of = (Column("Tree or lot", lambda line: record_of(line).code, kind="code", url=lambda line: record_url(record_of(line))),)
    return (
        *(of if of_column else ()),
        Column("Sampled on", "share.sampled_on", kind="date"),
        Column("Measured donor share", "share.donor_share", "right"),
        Column("Standard error", "share.standard_error", "right"),
        Column("Expected donor share ± 2 SD", expected_words, "right"),
        Column("Limit (2 SD and 3 SE)", limit_words, "right"),
        Column("Finding", lambda line: ODD if line.check.odd else "" if line.check.margin is None else "within the limit"),
        Column("Plants", "share.sample_size", "right", "number"),
        Column("Markers", "share.markers", "right"),
        Column("Method", "share.method", wide=True),
        Column("Laboratory", "share.laboratory"),
        Column("Reference", "share.reference"),
    )


def _share_duty(line):
    check = line.check
    text = (
        f"Measured donor share {check.measured:.4g}, expected {check.expected:.4g}: outside the limit of three standard errors and two "
        f"standard deviations ({limit_words(line)}). Odd: check identity."
    )
    return Duty("odd", text, line.share.sampled_on)


class ShareListView(RecordListView):
    model = MeasuredShare
    action = "orchard.view"
    question = "Which donor shares were measured, and do they fit the pedigree?"
    unit = "shares"
    download_name = "measured-shares"
    filter_form = ShareFilters
    others = MATERIAL_LISTS
    empty = ("No measured shares yet", "Open the page of a tree or a lot and choose “Enter a measured share”.", None)
    related = SHARE_RELATED
    lines = staticmethod(share_lines)
    row_mark = staticmethod(lambda line: "odd" if line.check.odd else "")
    columns = share_columns()


class TreeShareView(RecordActionView):
    model = PedigreeTree
    action = "share.enter"
    form_class = ShareForm
    service = share_enter
    argument = "tree"
    title = "Measured share of {object.code}"
    submit_label = "Save the measured share"
    success_message = "Measured share saved. The expected share has not changed."

    @property
    def question(self):
        share, assumed = expected_donor_share(self.object)
        words = "is not known, neither by its pedigree nor by its generation" if share is None else f"is {share:.4g}"
        words += f" ({ASSUMED_WORDS})" if assumed else ""
        return f"The expected donor share {words}. The measured share is recorded beside it and does not replace it."


class LotShareView(TreeShareView):
    model = Lot
    argument = "lot"


class SharesOnPage:
    """A page of a tree or a lot with its measured shares, read once and only for who may see them."""

    @cached_property
    def measured_shares(self):
        return share_lines(self.object.measured_shares.select_related(*SHARE_RELATED)) if self.may("orchard.view") else []

    def shares_due(self):
        """What the page says about measured shares that are odd."""
        return [_share_duty(line) for line in self.measured_shares if line.check.odd]


def measured_shares_section(add_route):
    return Section(
        id="measured-shares",
        title="Measured shares",
        unit="shares",
        may="orchard.view",
        note=f"Genotyped. The expected share is a separate fact and does not change. {LIMIT_NOTE}",
        rows=lambda page: page.measured_shares,
        columns=share_columns(of_column=False),
        missing="measured shares",
        add=Action("Enter a measured share", add_route, "share.enter"),
    )
