"""Census rounds: the list, the page of a round."""

from django.shortcuts import get_object_or_404
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from plantings.calc.census.measurements import measures_words
from plantings.choices import ReviewState
from plantings.forms.census import record_words
from plantings.forms.plantings import RoundFilters
from plantings.imports.sites.sites import RoundSheet
from plantings.models import CensusRound
from plantings.selectors.census.asked import own_at, own_of
from plantings.selectors.census.progress_words import is_lacking, of_words, progress_words
from plantings.selectors.census.reviews import review_counts, review_words
from plantings.selectors.census.rounds import (
    asked_back,
    conflicts,
    missing_trees,
    plot_conflicts,
    rounds_listed,
    rounds_with_progress,
    standing_counts,
)
from plantings.selectors.plantings.complete_rounds import not_complete
from plantings.selectors.plantings.photos import photos_of_round
from plantings.selectors.plantings.unknown_plots import plot_planted_words
from plantings.views.census.asking import correction_url
from plantings.views.census.results import ROUND_CAUTIONS, ROUND_RESULTS, ROUND_SECOND
from plantings.views.census.round_links import ROUND_LINKS
from plantings.views.census.visits import visit_day, visit_section
from plantings.views.field_form.sections import PAGES_TO_SETTLE, SCANS, SELF_SOWN
from plantings.views.plantings.trees import place_words
from plantings.views.sites.sites import PLANTING_LISTS, site_cautions
from registry.selectors.duties.duty_line import Duty
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count, local_number
from registry.views.shared.addresses import record_url, reverse_to
from registry.views.shared.details import RecordDetailView, chain_step
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Panel, Section
from registry.views.shared.tables import Column, Link

_MISSING_SHOWN = 100


class RoundListView(RecordListView):
    model = CensusRound
    action = "round.view"
    title = _("Census rounds")
    question = _("Which plantings are visited when, and how far is each round?")
    unit = "rounds"
    sheet = RoundSheet
    filter_form = RoundFilters
    others = PLANTING_LISTS
    add = ("Add a round", "round.edit", "round_add")
    empty = (_("No round yet"), _("A round is one yearly visit to a planting. Add one for each growing season."), None)
    read = staticmethod(rounds_listed)
    order = ("-opens_on", "planting_id")
    columns = (
        Column(_("Round"), "label", url=record_url),
        Column(_("Planting"), "planting.code", kind="code", url=lambda item: record_url(item.planting)),
        Column(_("Records in"), "recorded", "right", "number"),
        Column(_("Test and check trees not visited"), "unvisited", "right", "number"),
        Column(_("Site"), "planting.site.name"),
        Column(_("Growing seasons"), "growing_seasons", "right", "number"),
        Column(_("Opens"), "opens_on", kind="date"),
        Column(_("Closes"), "closes_on", kind="date"),
    )


def _progress_words(page):
    item = page.object
    return progress_words(item, is_lacking(item) or not not_complete([item]))


class RoundDetailView(RecordDetailView):
    model = CensusRound
    action = "round.view"
    question = _("How far is this round, what is missing, and which records disagree?")
    state = property(_progress_words)
    where = "planting.site"
    read = staticmethod(rounds_with_progress)
    title = _("Census {object.label}, {object.planting.code}")
    cautions = property(lambda page: site_cautions(page.object.planting.site))
    facts = (
        Fact(_("Planting"), "planting.code", lambda page: record_url(page.object.planting)),
        Fact(_("Growing seasons completed"), "growing_seasons"),
        Fact(_("Opens"), "opens_on"),
        Fact(_("Closes"), "closes_on"),
        Fact(_("Protocol"), "protocol_version", Link("protocol_detail", "protocol_id", "protocol.view")),
        Fact(_("Trees with a record"), lambda page: local_count(page.object.recorded)),
        Fact(_("Records nobody has reviewed"), lambda page: local_count(page.unread) if page.unread else ""),
        Fact(
            _("Photos"),
            lambda page: local_count(page.photos) if page.photos else "",
            lambda page: reverse_to("round_photos", page.object.pk),
        ),
        Fact(
            _("Trees without a record"),
            lambda page: (
                _("%(number)s, not counting those dead, removed or replaced before") % {"number": local_count(page.object.missing)}
            ),
        ),
        Fact(_("Plots counted"), lambda page: of_words(page.object.counted, page.object.plots) if page.object.plots else ""),
    )
    actions = (
        Action(_("Record on a phone, also without a signal"), "census_phone", "census.enter"),
        Action(_("Record trees one by one"), "census_next", "census.enter"),
        Action(_("Key the field form"), "census_grid", "census.enter"),
        Action("Review the records", "round_review", "observation.review", when=lambda page: page.unread or page.asked),
        Action(_("Print the field form"), "field_form", "census.enter"),
        Action(_("Count the plots"), "census_counts", "census.enter", when=lambda page: page.object.plots),
        Action(_("Add photos of the field form"), "formscan_add", "census.enter"),
        Action(_("Note self-sown seedlings"), "selfsown_add", "census.enter"),
        Action(
            _("Record the rest as not visited"),
            "round_not_visited",
            "census.enter",
            when=lambda page: page.object.missing,
        ),
        Action(_("All records"), "round_records", "round.view"),
        Action("Print the result for the crew", "round_result", "observation.review", when=lambda page: page.object.recorded),
        Action("Change the round", "round_edit", "round.edit"),
    )
    sections = (
        Section(
            id="disagree",
            title=_("Records that disagree"),
            unit="records",
            note=_("The records of one tree differ. Find out which is right and correct the other record. It stays on file."),
            rows=lambda page: [(tree, record) for tree, records in page.conflicts for record in records],
            mark=lambda line: "odd",
            columns=lambda page, lines: (
                Column(_("Tree"), "0.tag", kind="code", url=Link("tree_detail", "0.pk")),
                Column(_("Place"), lambda line: place_words(line[0])),
                Column(_("Status"), "1.get_status_display"),
                Column(_("Cause"), "1.get_cause_display"),
                Column(_("Measured"), lambda line: measures_words(line[1], local_text, local_number, page.own), wide=True),
                Column(_("Seen on"), "1.observed_on", kind="date"),
                Column(_("Entered by"), lambda line: str(line[1].entered_by)),
                Column(
                    _("Settle"), lambda line: _("correct it") if correction_url(page.user, line[1]) else "", may="census.enter",
                    url=lambda line: correction_url(page.user, line[1]),
                ),
            ),
        ),
        Section(
            id="plots-disagree",
            title=_("Counts of plots that disagree"),
            unit="counts",
            note=_("Two people counted different numbers. Find out which is right and correct the other count. It stays on file."),
            when=lambda page: page.plot_conflicts,
            rows=lambda page: [(plot, count) for plot, counts in page.plot_conflicts for count in counts],
            mark=lambda line: "odd",
            columns=lambda page, lines: (
                Column(_("Plot"), "0.code", kind="code"),
                Column(_("Alive"), "1.alive", "right"),
                Column(_("Dead"), "1.dead", "right"),
                Column(_("Counted on"), "1.observed_on", kind="date"),
                Column(_("Entered by"), lambda line: str(line[1].entered_by)),
                Column(
                    _("Settle"), lambda line: _("correct it") if correction_url(page.user, line[1]) else "", may="census.enter",
                    url=lambda line: correction_url(page.user, line[1]),
                ),
            ),
        ),
        PAGES_TO_SETTLE,
        Section(
            id="asked-back",
            title=_("Asked back"),
            unit="records",
            note=_("The office asks the crew to look at these trees again. A correction of the record is the answer."),
            when=lambda page: page.asked,
            rows=lambda page: asked_back(page.object, page.user),
            mark=lambda record: "odd",
            columns=lambda page, records: (
                Column(_("Tree"), "tree.tag", kind="code", url=lambda record: record_url(record.tree)),
                Column(_("What to look at"), "review_reason", wide=True),
                Column(_("Place"), lambda record: place_words(record.tree)),
                Column(_("Recorded"), lambda record: record_words(record, page.own_asked)),
                Column(
                    _("Answer"), lambda record: _("correct it") if correction_url(page.user, record) else "", may="census.enter",
                    url=lambda record: correction_url(page.user, record),
                ),
            ),
        ),
        Section(
            title=_("Trees without a record"),
            unit="trees",
            counted=False,
            note=_("In walk order."),
            rows=lambda page: missing_trees(page.object).select_related("block", "entry__lot"),
            most=_MISSING_SHOWN,
            columns=lambda page, trees: (
                Column(_("Tree"), "tag", kind="code", url=record_url),
                Column(_("Place"), place_words),
                Column(_("Lot"), "entry.lot.code", kind="code", may="tree.lot"),
                Column(
                    _("Enter"), lambda tree: _("record it"), may="census.enter",
                    url=lambda tree: reverse_to("census_tree", page.object.pk, tree.pk),
                ),
            ),
        ),
        Section(
            title=_("Counted plots"),
            unit="plots",
            when=lambda page: page.object.plots,
            rows=lambda page: page.plot_lines,
            columns=lambda page, lines: (
                Column(_("Plot"), "0.code", kind="code"),
                Column(_("Lot"), "0.entry.lot.code", kind="code", may="tree.lot"),
                Column(_("Planted"), lambda line: plot_planted_words(line[0]), "right"),
                Column(_("Alive"), "1.alive", "right"),
                Column(_("Dead"), "1.dead", "right"),
                Column(_("Counted on"), "1.observed_on", kind="date"),
                Column(_("Review"), lambda line: _count_review(line[1])),
                Column(
                    _("Answer"), lambda line: _("correct it") if _count_answer(page.user, line[1]) else "", may="census.enter",
                    url=lambda line: _count_answer(page.user, line[1]),
                ),
            ),
        ),
        SELF_SOWN,
        SCANS,
        ROUND_RESULTS,
        ROUND_SECOND,
        ROUND_LINKS,
        ROUND_CAUTIONS,
        Panel(draw_parts=lambda page: [page.visit]),
    )  # fmt: skip

    visit = cached_property(lambda page: visit_section(page.user, page.object.planting.site, visit_day(page.object)))
    conflicts = cached_property(lambda page: conflicts(page.object, page.user))
    own = cached_property(lambda page: own_of([record for _tree, records in page.conflicts for record in records]))
    own_asked = cached_property(lambda page: own_at(page.object))
    photos = cached_property(lambda page: photos_of_round(page.object, page.user).count())
    plot_conflicts = cached_property(lambda page: plot_conflicts(page.object) if page.object.plots else [])

    def get_chain(self):
        item = self.object
        return [
            chain_step(_("planting"), item.planting.code, record_url(item.planting)),
            chain_step(_("round"), item.label, current=True),
            chain_step(_("records"), local_count(item.recorded), reverse_to("round_records", item.pk)),
        ]

    unread = property(lambda page: review_counts(page.object)[0])
    asked = property(lambda page: review_counts(page.object)[1])

    def get_due(self):
        lines = []
        if self.object.to_settle and self.may("observation.review"):
            words = "page keyed twice differs" if self.object.to_settle == 1 else "pages keyed twice differ"
            lines.append(Duty("odd", f"{self.object.to_settle:,} {words}. Settle each cell.", url="#keyings"))
        for found, unit, where in ((self.conflicts, "trees", "disagree"), (self.plot_conflicts, "plots", "plots-disagree")):
            if found:
                words = ngettext(
                    "%(counted)s has records that disagree. Settle each by a correction.",
                    "%(counted)s have records that disagree. Settle each by a correction.",
                    len(found),
                )
                lines.append(Duty("odd", words % {"counted": local_amount(len(found), unit)}, url=f"#{where}"))
        return lines

    @property
    def plot_lines(self):
        """[(plot, its newest count in this round, or None)]."""
        counts = standing_counts(self.object)
        plots = self.object.planting.counted_plots.select_related("entry__lot")
        return [(plot, counts.get(plot.pk, [None])[-1]) for plot in plots]


def _count_review(count):
    """What was decided about the count of a plot; of one that was asked back, also what to look at."""
    if count is None:
        return ""
    return f"{review_words(count)}: {count.review_reason}" if count.review_state == ReviewState.ASKED_BACK else review_words(count)


def _count_answer(user, count):
    """Where a person answers what the office asks about a count; None where it asks nothing, or not them."""
    return correction_url(user, count) if count is not None and count.review_state == ReviewState.ASKED_BACK else None


def get_round(view, pk):
    """A round in the person's scope, with its planting and site; 404 when there is none."""
    return get_object_or_404(view.scoped(CensusRound).select_related("planting__site", "protocol"), pk=pk)
