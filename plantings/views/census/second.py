"""Second measurements of a round: drawing the sample, the page of a draw, its result once it is handed in, closing it."""

from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _
from django.views.generic import View

from plantings.calc.arrival.draw import walk_draw
from plantings.calc.census.measurements import measures_words
from plantings.forms.census import record_words
from plantings.forms.second import SecondCloseForm, SecondDrawForm
from plantings.imports.second import SecondSheet
from plantings.models import CensusRound, SecondDraw, SecondMeasurement
from plantings.selectors.census.asked import own_at
from plantings.selectors.census.progress_words import of_words
from plantings.selectors.census.second import draw_lines, draws_listed, handed_in_records, quality_of
from plantings.services.census.second import row_of, second_draw_close, second_draw_make
from plantings.views.census.results import draw_state
from plantings.views.census.rounds import get_round
from plantings.views.census.second_entry import find_draw
from plantings.views.plantings.trees import place_words
from registry.access.views import AccessMixin
from registry.calc.shared.screen import amount_words
from registry.selectors.duties.duty_line import Duty
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count, local_number
from registry.views.shared.addresses import record_url
from registry.views.shared.details import RecordDetailView, chain_step
from registry.views.shared.downloads import rows_response
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Panel, Section
from registry.views.shared.tables import Column, Link

_HEADERS = ("Number in the walk", "Tag", "Stretch", "SHA-256 of seed:tag", "Drawn")


class SecondDrawView(RecordActionView):
    model = CensusRound
    action = "second.draw"
    form_class = SecondDrawForm
    form_extras = property(lambda page: {"census_round": page.object})
    service = second_draw_make
    argument = "census_round"
    title = "Draw trees for a second measurement, {object}"
    question = "How many trees are measured again, and by whom?"
    submit_label = "Draw the trees"
    success_message = property(lambda page: f"Sample of {amount_words(page.result.size, 'trees')} drawn for {page.result.measured_by}.")
    leads_to = property(lambda page: page.result)
    cautions = (
        {
            "title": "How the sample is drawn",
            "lines": (
                "One tree is drawn from each stretch of the walk, so the sample is spread over all blocks, rows and hours of the day.",
                "Trees that the second person recorded first are not drawn, nor trees not visited or drawn before.",
                "A draw stays on file as it is. Anybody can repeat it from the seed and the list of trees.",
            ),
        },
    )


class SecondDetailView(RecordDetailView):
    """Until all trees are measured again it shows no value, to nobody: neither the first nor the second."""

    model = SecondDraw
    action = "second.view"
    question = _("How far do two people agree who recorded the same trees?")
    read = staticmethod(draws_listed)
    state = property(lambda page: draw_state(page.object))
    where = "round.planting"
    title = _("Second measurement {object.number}, {object.round.label}, {object.round.planting.code}")
    facts = (
        Fact(_("Round"), "round.label", Link("round_detail", "round_id")),
        Fact(_("Second person"), "measured_by"),
        Fact(_("Drawn on"), "drawn_on"),
        Fact(_("Drawn by"), lambda page: str(page.object.entered_by)),
        Fact(
            _("Trees drawn"),
            lambda page: (
                _("%(drawn)s, one from each stretch of the walk") % {"drawn": of_words(page.object.size, len(page.object.candidates))}
            ),
        ),
        Fact(_("Seed"), "seed"),
    )
    actions = (
        Action(_("Enter the second measurements"), "seconddraw_enter", "census.enter", when=lambda page: not page.handed_in),
        Action(_("All second measurements of the round"), "round_second", "second.view", key="round_id", when=lambda page: page.handed_in),
        Action(_("Measure on a phone, also without a signal"), "seconddraw_phone", "census.enter", when=lambda page: not page.handed_in),
        Action(_("Print the form of the drawn trees"), "seconddraw_form", "census.enter"),
        Action(_("Download the draw, to repeat it"), "seconddraw_trees", "second.view"),
        Action("Close it: nobody measures the others", "seconddraw_close", "second.draw", when=lambda page: not page.handed_in),
    )
    sections = (
        Section(
            id="trees",
            title=_("Drawn trees"),
            unit="trees",
            when=lambda page: not page.handed_in,
            note=_("In walk order. Values are shown once every tree has a second measurement."),
            rows=lambda page: page.lines,
            columns=(
                Column(_("Tree"), "tree.tag", kind="code"),
                Column(_("Measured again"), lambda line: _("yes") if line.second else _("not yet")),
                Column(_("Place"), lambda line: place_words(line.tree)),
            ),
        ),
        Section(
            id="agreement",
            title=_("Agreement"),
            unit="lines",
            when=lambda page: page.handed_in,
            note=_("Checked against the programme's tolerances; see Programme settings. Kappa has its 95 % interval."),
            rows=lambda page: page.quality.lines,
            counted=False,
            columns=lambda page, lines: quality_columns(),
            mark=lambda line: "odd" if line.verdict == "not met" else "",
        ),
        Section(
            id="observers",
            title=_("By first observer"),
            unit="lines",
            when=lambda page: page.handed_in and len(page.quality.by_observer) > 1,
            note=_("Few trees each: read the numbers, and do not rank people by them."),
            rows=lambda page: [(who, line) for who, lines in page.quality.by_observer for line in lines],
            counted=False,
            columns=lambda page, lines: (Column(_("First observer"), "0"), *quality_columns("1.")),
        ),
        Panel(draw_parts=lambda page: page.careful_part()),
        Section(
            id="pairs",
            title=_("Both records of each tree"),
            unit="trees",
            when=lambda page: page.handed_in,
            note=_("The first record is the one on file on the day of the draw; later corrections do not change the comparison."),
            rows=lambda page: page.lines,
            mark=lambda line: "odd" if line.first.status != line.second.status and line.second.status != "NV" else "",
            columns=lambda page, lines: (
                Column(_("Tree"), "tree.tag", kind="code", url=Link("tree_detail", "tree.pk")),
                Column(_("First"), lambda line: record_words(line.first, page.own), wide=True),
                Column(_("Second"), lambda line: second_record_words(line.second, page.own), wide=True),
                Column(_("First seen by"), lambda line: line.first.observer or str(line.first.entered_by)),
                Column(_("Second seen by"), "second.observer"),
                Column(_("First on"), "first.observed_on", kind="date"),
                Column(_("Second on"), "second.observed_on", kind="date"),
                Column(
                    "Correct", lambda line: "correct it", may="observation.correct",
                    url=Link("secondmeasurement_correct", "second.pk"),
                ),
            ),
        ),
    )  # fmt: skip

    handed_in = property(lambda page: page.object.measured >= page.object.size)
    lines = cached_property(lambda page: draw_lines(page.object))
    own = cached_property(lambda page: own_at(page.object.round))
    quality = cached_property(lambda page: quality_of(page.object, page.lines))

    def get_chain(self):
        draw = self.object
        return [
            chain_step(_("planting"), draw.round.planting.code, record_url(draw.round.planting)),
            chain_step(_("round"), draw.round.label, record_url(draw.round)),
            chain_step(_("second measurement"), str(draw.number), current=True),
        ]

    def get_due(self):
        left = self.object.size - self.object.measured
        return (
            [Duty("soon", _("%(trees)s left to measure again.") % {"trees": local_amount(left, "trees")}, url="#trees")] if left > 0 else []
        )

    def careful_part(self):
        if not self.handed_in:
            return []
        lines = [local_text(line) for line in self.quality.careful]
        if corrected := sum(line.second.supersedes_id is not None for line in self.lines):
            words = _("%(records)s of the second person corrected; the audit trail says when and why.")
            lines.append(words % {"records": local_amount(corrected, "records")})
        return [{"title": _("What this says, and what it does not"), "include": "registry/prints/_print_notes.html", "lines": lines}]


def quality_columns(prefix=""):
    """The columns of lines of agreement; `prefix` leads from a row to its line."""
    return (
        Column(_("Measurement"), lambda row: local_text(_line(row, prefix).what)),
        Column(_("Within the tolerance"), lambda row: _within(_line(row, prefix))),
        Column(_("Verdict"), lambda row: local_text(_line(row, prefix).verdict) or _("no tolerance set")),
        Column(_("Target"), lambda row: local_number(f"{_line(row, prefix).target:g}") + " %" if _line(row, prefix).target else "–"),
        Column(_("Agreement"), lambda row: local_text(_line(row, prefix).detail), wide=True),
        Column(_("Tolerance"), lambda row: local_text(_line(row, prefix).tolerance)),
        Column(_("Measured by one only"), lambda row: _line(row, prefix).one_only or "", "right"),
    )


def _line(row, prefix):
    return row[1] if prefix else row


def _within(line):
    return of_words(line.within, line.trees) if line.within is not None else f"n {local_count(line.trees)}"


def second_record_words(record, own=()):
    """A second measurement in a few words: A, 142 cm. `own` are the programme's own measurements that it may hold."""
    return record_words(row_of(record), own)


class SecondCloseView(RecordActionView):
    model = SecondDraw
    action = "second.draw"
    form_class = SecondCloseForm
    service = second_draw_close
    argument = "draw"
    title = "Close {object}"
    question = "The trees left over are recorded as not visited, and the result is shown. Why does nobody measure them?"
    submit_label = "Close the second measurement"
    success_message = "Second measurement closed."


class SecondTreesView(AccessMixin, View):
    """Everything that is needed to repeat a draw, as a download: the trees in walk order with the number of each, and which were drawn."""

    action = "second.view"

    def find_rows(self):
        self.draw = find_draw(self)

    def get(self, request, *args, **kwargs):
        rows = [
            (number, one.tag, one.stretch, one.number, "yes" if one.drawn else "no")
            for number, one in enumerate(walk_draw(self.draw.candidates, self.draw.size, self.draw.seed), 1)
        ]
        name = f"draw-{self.draw.round.planting.code}-{self.draw.number}"
        return rows_response(_HEADERS, rows, name, request.GET.get("download", "csv"))


class RoundSecondView(RecordListView):
    """The second measurements of a round that are handed in, with their download."""

    model = SecondMeasurement
    action = "second.view"
    question = _("What did the second person record at each drawn tree?")
    unit = "records"
    sheet = property(lambda page: SecondSheet.asking(page.own))
    paginate_by = 100
    title = property(
        lambda page: _("Second measurements of %(round)s, %(planting)s") % {"round": page.round.label, "planting": page.round.planting.code}
    )
    empty = (_("No second measurement yet"), _("A draw is listed here once every tree of it was measured again."), None)
    order = ("drawn__draw__number", "drawn__tree__walk_number", "pk")
    columns = (
        Column(_("Tree"), "drawn.tree.tag", kind="code", url=Link("tree_detail", "drawn.tree_id")),
        Column(_("Draw"), "drawn.draw.number", "right", url=Link("seconddraw_detail", "drawn.draw_id")),
        Column(_("Status"), "get_status_display"),
        Column(_("Cause"), "get_cause_display"),
    )
    columns_after = (
        Column(_("Seen on"), "observed_on", kind="date"),
        Column(_("Who looked"), "observer"),
        Column(_("Note"), "note", wide=True),
    )

    def find_rows(self):
        self.round = get_round(self, self.kwargs["pk"])
        self.own = own_at(self.round)

    def get_columns(self, records):
        measured = Column(_("Measured"), lambda record: measures_words(row_of(record), local_text, local_number, self.own), wide=True)
        return [*super().get_columns(records), measured, *self.columns_after]

    def read(self, records):
        return handed_in_records(records, self.round)

    def get_actions(self):
        return [(_("Back to the round"), record_url(self.round))]
