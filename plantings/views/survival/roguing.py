"""Evidence on orchard mothers: all of them by the value of their progeny, and one on a page that two people sign."""

from collections import defaultdict

from django.urls import reverse

from plantings.calc.lineages.compare import AWAITED
from plantings.calc.lineages.fit_words import counts_fit_sentence
from plantings.calc.lineages.words import difference_range
from plantings.selectors.survival.roguing import mothers_in_order, roguing_document
from plantings.views.survival.columns import figures_response
from plantings.views.survival.lineages import ShowsLineageModel
from registry.calc.shared.iso import iso_day
from registry.choices import IssuedKind
from registry.models import PedigreeTree
from registry.selectors.shared.local_text import local_text
from registry.views.prints.print_view import PrintView
from registry.views.shared.details import PART_ROWS_MAX, PageView
from registry.views.shared.downloads import download_links
from registry.views.shared.tables import Column, ledger_table


class RoguingListView(ShowsLineageModel, PageView):
    action = "orchard.view"
    template_name = "plantings/survival/roguing.html"
    title = "Evidence on orchard mothers"
    question = "Which mothers have progeny that survive poorly, and for which is there too little evidence?"

    def answer_table(self):
        return mothers_in_order(self.user).table

    def get(self, request, *args, **kwargs):
        self.mothers = mothers_in_order(self.user)
        wanted = request.GET.get("download")
        if wanted and self.mothers.table.awaited:
            return self.answer_later(self.mothers.table)
        if wanted:
            rows = (*self.mothers.ordered, *self.mothers.cannot_tell)
            return figures_response((*_VALUES, *_REASONS), rows, self.mothers.table, f"mothers-{iso_day(self.today)}", wanted)
        return super().get(request, *args, **kwargs)

    def get_page(self):
        mothers, found = self.mothers, self.mothers.table.comparison
        no_order = found.method == AWAITED
        return self.answer_part(mothers.table) | {
            "table": mothers.table,
            "moment": local_text(mothers.table.moment.words) if mothers.table.moment else "",
            "fit": local_text(counts_fit_sentence(found.check, found.has_native)) if found.check else "",
            "parts": [
                ledger_table(
                    _BY_CODE if no_order else _BY_VALUE, _VALUES, mothers.ordered[:PART_ROWS_MAX], unit="mothers",
                    note=_first_words(mothers.ordered), downloads=download_links(self.request.GET),
                    empty="No mother has enough progeny beside native checks in complete censuses.",
                ),
                *self._cannot_tell(),
            ],
        }  # fmt: skip

    def _cannot_tell(self):
        """A table for each reason, which says it once."""
        by_reason = defaultdict(list)
        for row in self.mothers.cannot_tell:
            by_reason[local_text(row.reason), local_text(row.needed)].append(row)
        for (reason, needed), rows in by_reason.items():
            note = " ".join(filter(None, (needed, _first_words(rows))))
            yield ledger_table(f"Cannot tell: {reason}", _ABOUT, rows[:PART_ROWS_MAX], unit="mothers", note=note)


def _first_words(mothers):
    return f"The first {PART_ROWS_MAX} of {len(mothers):,}; the downloads have all." if len(mothers) > PART_ROWS_MAX else ""


def _shrunk(name):
    def value(row):
        found = getattr(row.progeny.shrunk, name) if row.progeny and row.progeny.shrunk else None
        return "" if found is None else f"{found:.2f}"

    return value


_BY_CODE, _BY_VALUE = "By their codes, until the model is there", "By the value of their progeny, the lowest first"
_VALUES = (
    Column("Mother", "tree.code", kind="code", url=lambda row: reverse("pedigreetree_roguing", args=[row.tree.pk])),
    Column(
        "Shrunken difference from the native check (95 %)",
        lambda row: local_text(difference_range(row.progeny.shrunk.difference)) if row.progeny and row.progeny.shrunk else "", "right",
    ),
    Column("From the native check as observed (95 %)",
           lambda row: local_text(difference_range(row.progeny.row.difference)) if row.progeny else "", "right"),
    Column("Chance of worst quarter", _shrunk("worst"), "right"),
    Column("Reliability", _shrunk("reliability"), "right"),
    Column("Sites", lambda row: len(row.progeny.sites) if row.progeny else 0, "right", "number"),
    Column("Progeny assessed", lambda row: row.progeny.row.n if row.progeny else 0, "right", "number"),
    Column("Orchard", lambda row: " ".join(filter(None, (row.tree.orchard, row.tree.block)))),
    Column("Status", "tree.get_status_display", kind="state"),
    Column("Last decision", "decision"),
)  # fmt: skip
_ABOUT = (_VALUES[0], *_VALUES[-4:])
_REASONS = (
    Column("Cannot tell", lambda row: local_text(row.reason), wide=True), Column("Needed", lambda row: local_text(row.needed), wide=True),
)  # fmt: skip


class RoguingEvidenceView(PrintView):
    model = PedigreeTree
    action = "orchard.view"
    kind = IssuedKind.ROGUING
    drawn_by = roguing_document
    question = "What do her ratings, her progeny and the floors of diversity say about keeping her?"

    def document_values(self):
        return super().document_values() | {"user": self.user}

    def get_links(self):
        return {"trees": [self.object]}
