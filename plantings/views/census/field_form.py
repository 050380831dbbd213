"""The census sheet to print: what a crew is told before it goes, and boxes to write in, tree by tree in the order it walks."""

from dataclasses import replace

from plantings.calc.census.rules import BROWSE_CLASSES, CANKER_CLASSES, CAUSES_OF_DEATH, FLOWERING, REMOVAL_REASONS, STATUSES
from plantings.forms.field_form import CensusPaperForm
from plantings.models import CensusRound
from plantings.selectors.census.rounds import LastSeen, last_seen, missing_trees, sheet_trees
from plantings.views.census.visits import visit_cautions, visit_day
from plantings.views.plantings.plantings import round_url
from plantings.views.sites.sites import text_lines
from registry.calc.shared.screen import day_words
from registry.prints.document import ByHand, Document, Facts, Notes, Table, TableColumn
from registry.prints.pages import draw_document
from registry.views.prints.print_view import PrintView, shown

ROWS_SHOWN = 10
LOCAL_WORD = "These are usual cautions. The crew lead decides on the spot; the local manager may stop work; the local law goes before them."
WRITE_WHAT_YOU_SEE = "Write what you see, not what you expect. A box left blank says that nobody looked; it never means none."
WRITE_MM = 7.5  # high enough for a pencil in a cold hand

_COLUMNS = (
    TableColumn("Tag", 1.5, face="code"), TableColumn("Place", 1.5), TableColumn("Seen last", 1.4), TableColumn("Status", 1.1),
    TableColumn("Cause", 1.7), TableColumn("Height cm", 1.2), TableColumn("Diam. mm", 1.1), TableColumn("Canker 0–4", 1.3),
    TableColumn("Browse", 1.3), TableColumn("Dieback %", 1.4), TableColumn("Flowers", 1.4), TableColumn("Note", 2.4),
)  # fmt: skip
_PLOT_COLUMNS = (
    TableColumn("Plot", 2, face="code"), TableColumn("Planted", 1, "right"), TableColumn("Alive", 1.5),
    TableColumn("Dead, remains seen", 1.5), TableColumn("Note", 5),
)  # fmt: skip
_CODES = (
    ("Status", STATUSES), ("Cause, for D", CAUSES_OF_DEATH), ("Reason, for RM", REMOVAL_REASONS), ("Canker, worst class", CANKER_CLASSES),
    ("Browse", BROWSE_CLASSES), ("Flowers or fruit", FLOWERING),
)  # fmt: skip


def code_words(name, codes):
    """Status: A alive; AR alive by resprout. A code that is its own word stands once."""
    words = [str(code) if code == label.lower() else f"{code} {label.lower()}" for code, label, _ in codes]
    return f"{name}: {'; '.join(words)}."


class CensusPaperView(PrintView):
    model = CensusRound
    action = "census.enter"
    kind = "census_sheet"
    recorded = False
    form_class = CensusPaperForm
    question = "What does a crew take along, and where does it write?"
    submit_label = "Make the sheet"

    def get_cancel_url(self):
        return round_url(self.object)

    def get_title(self):
        return f"Census sheet {self.object.label}, {self.object.planting.code}"

    def get_document(self, owed=False, last=True):
        item = self.object
        planting = item.planting
        trees = list((missing_trees(item) if owed else sheet_trees(item)).select_related("block"))
        parts = [
            Facts(
                (
                    ("Site", f"{planting.site.name} ({planting.site.code})"), ("Planting", planting.code),
                    ("Round", f"{item.label}, growing season {item.growing_seasons}"),
                    ("Window", f"{day_words(item.opens_on)} to {day_words(item.closes_on)}"),
                ),
                columns=2,
            ),
            ByHand(("Seen on (day, month, year)", "Who looked (names)")),
            *self.cautions(),
            Notes("The codes", tuple(code_words(name, codes) for name, codes in _CODES)),
            *self.trees(trees, last_seen(item, [tree.pk for tree in trees]) if last else {}, owed),
            *self.plots(planting),
        ]  # fmt: skip
        return Document(
            title=self.get_title(), code=planting.code, scan=self.scan(planting.code), made_on=self.today, made=self.made,
            parts=tuple(parts), subtitle=WRITE_WHAT_YOU_SEE,
        )  # fmt: skip

    def cautions(self):
        """The cautions of the visit, as the screen has them."""
        site = self.object.planting.site
        visit = visit_cautions(self.request.user, site, visit_day(self.object))
        lines = [f"{line.hazard}: {line.text} Decides on the spot: {line.decider}." for line in visit["lines"]]
        here = [f"At this site: {words}" for words in text_lines(site.cautions)]
        yield Notes("Before you go", (*visit["emergency"], *here, *lines, *visit["usual"], *visit["rules"], LOCAL_WORD))

    def trees(self, trees, last, owed):
        if not trees and self.object.planting.counted_plots.exists():
            return
        rows = tuple(self.tree_row(tree, last.get(tree.pk, LastSeen())) for tree in trees)
        empty = "No tree is owed a record." if owed else "No tree of this planting is expected at this round."
        yield Table("In walk order", _COLUMNS, rows, empty=empty, write_mm=WRITE_MM)

    @staticmethod
    def tree_row(tree, last):
        block = f"{tree.block.code} · " if tree.block else ""
        place = f"{block}{tree.row}/{tree.position}" if tree.row is not None else block.rstrip(" ·")
        height = f" {last.height_cm:g}" if last.height_cm is not None and last.status not in ("D", "RM") else ""
        return (tree.tag, place, f"{last.status}{height}", *[""] * 9)

    @staticmethod
    def plots(planting):
        rows = tuple((plot.code, f"{plot.planted_count:,}", "", "", "") for plot in planting.counted_plots.order_by("code"))
        if rows:
            yield Table("Counted plots", _PLOT_COLUMNS, rows, write_mm=WRITE_MM)

    def draw(self, form):
        data = form.cleaned_data
        return draw_document(self.get_document(owed=data["trees"] == "owed", last=data["last"]), data["page"])

    def get_shown(self):
        """The head of the sheet and its first rows."""
        parts = []
        for part in self.document.parts:
            if isinstance(part, Table) and len(part.rows) > ROWS_SHOWN:
                part = replace(part, rows=part.rows[:ROWS_SHOWN], note=f"The first {ROWS_SHOWN} of {len(part.rows):,} rows.")
            parts.append(shown(part))
        return super().get_shown() | {"parts": parts}
