"""Census rounds: the list, the page of a round, its records, its form."""

from datetime import timedelta

from django.shortcuts import get_object_or_404

from plantings.calc.census.measurements import ROUND, measured_at, measures_words
from plantings.forms.plantings import RoundFilters, RoundForm
from plantings.imports.census import CensusSheet
from plantings.imports.sites import RoundSheet
from plantings.models import CensusRound, Observation, Planting
from plantings.selectors.census.rounds import conflicts, expected, missing_trees, rounds_listed, rounds_with_progress, standing_counts
from plantings.services.plantings import round_save
from plantings.views.census.visits import visit_day, visit_section
from plantings.views.plantings.plantings import known, planting_url, round_url
from plantings.views.plantings.trees import place_words, tree_url
from plantings.views.sites.sites import PLANTING_LISTS, site_cautions
from registry.calc.shared.screen import day_words
from registry.views.shared.generic import RecordDetailView, reverse_to
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed
from registry.views.shared.tables import Column, ledger_table

_MISSING_SHOWN = 100


class RoundListView(SectionListView):
    model = CensusRound
    action = "round.view"
    title = "Census rounds"
    question = "Which plantings are visited when, and how far is each round?"
    unit = "rounds"
    sheet = RoundSheet
    filter_form = RoundFilters
    others = PLANTING_LISTS
    add = ("Add a round", "round.edit", "round_add")
    empty = ("No round yet", "A round is one yearly visit to a planting. Add one for each growing season.", None)
    columns = (
        Column("Round", "label", url=round_url),
        Column("Planting", "planting.code", kind="code", url=lambda item: planting_url(item.planting)),
        Column("Site", "planting.site.name"),
        Column("Growing seasons", "growing_seasons", "right", "number"),
        Column("Opens", "opens_on", kind="date"),
        Column("Closes", "closes_on", kind="date"),
        Column("Records in", "recorded", "right", "number"),
        Column("Test and check trees not visited", "unvisited", "right", "number"),
    )

    def get_queryset(self):
        return rounds_listed(super().get_queryset()).order_by("-opens_on", "planting_id")


class RoundDetailView(RecordDetailView):
    model = CensusRound
    action = "round.view"
    template_name = "plantings/census/round_detail.html"
    question = "How far is this round, what is missing, and what does not agree?"

    def get_queryset(self):
        return rounds_with_progress(super().get_queryset())

    def get_title(self):
        return f"Census {self.object.label}, {self.object.planting.code}"

    def get_page(self):
        item, user = self.object, self.request.user
        self.conflicts = conflicts(item)
        plots = [("Count the plots", "census.enter", reverse_to("census_counts", item.pk))] if item.plots else []
        return {
            "state": "complete" if item.recorded and not item.missing else f"{item.recorded:,} of {expected(item):,} trees recorded",
            "where": str(item.planting.site),
            "chain": [
                {"label": "planting", "code": item.planting.code, "url": planting_url(item.planting)},
                {"label": "round", "code": item.label, "current": True},
                {"label": "records", "code": f"{item.recorded:,}", "url": reverse_to("round_records", item.pk)},
            ],
            "due": self.get_due(),
            "cautions": site_cautions(item.planting.site),
            "actions": allowed(
                user,
                ("Record trees one by one", "census.enter", reverse_to("census_next", item.pk)),
                ("Key the sheet", "census.enter", reverse_to("census_grid", item.pk)),
                ("Sheet to print", "census.enter", reverse_to("census_paper", item.pk)),
                *plots,
                ("All records", "round.view", reverse_to("round_records", item.pk)),
                ("Change the round", "round.edit", reverse_to("round_edit", item.pk)),
            ),
            "facts": self.get_facts(),
            "parts": [
                *self.conflicts_table(),
                self.missing_table(),
                *self.counts_table(),
                visit_section(user, item.planting.site, visit_day(item)),
            ],
        }

    def get_facts(self):
        item = self.object
        return [
            ("Planting", item.planting.code, planting_url(item.planting)),
            ("Growing seasons completed", item.growing_seasons, None),
            ("Opens", f"{day_words(item.opens_on)}", None),
            ("Closes", f"{day_words(item.closes_on)}", None),
            ("Protocol version", item.protocol_version, None),
            ("Trees with a record", f"{item.recorded:,}", None),
            ("Trees still owed a record", f"{item.missing:,}, not counting those dead, removed or replaced before", None),
            *([("Plots counted", f"{item.counted:,} of {item.plots:,}", None)] if item.plots else []),
        ]

    def get_due(self):
        number = len(self.conflicts)
        if not number:
            return []
        trees = "1 tree has" if number == 1 else f"{number} trees have"
        return [{"severity": "odd", "text": f"{trees} records that do not agree. Settle each by a correction.", "url": "#disagree"}]

    def conflicts_table(self):
        if not self.conflicts:
            return []
        user = self.request.user
        lines = [(tree, record) for tree, records in self.conflicts for record in records]
        columns = [
            Column("Tree", lambda line: line[0].tag, kind="code", url=lambda line: tree_url(line[0])),
            Column("Place", lambda line: place_words(line[0])),
            Column("Status", lambda line: line[1].get_status_display()),
            Column("Measured", lambda line: measures_words(line[1])),
            Column("Seen on", lambda line: line[1].observed_on, kind="date"),
            Column("Entered by", lambda line: str(line[1].entered_by)),
        ]
        if user.may("observation.correct"):
            columns.append(Column("Settle", lambda line: "correct", url=lambda line: reverse_to("observation_correct", line[1].pk)))
        note = "Two people saw different things. Find out which is right and correct the other record; it stays in the book."
        table = ledger_table("Records that do not agree", columns, lines, unit="records", note=note, mark=lambda line: "odd")
        return [table | {"include": "plantings/census/_conflicts.html"}]

    def missing_table(self):
        trees = missing_trees(self.object).select_related("block", "entry__lot")
        number = trees.count()
        user, item = self.request.user, self.object
        columns = [
            Column("Tree", "tag", kind="code", url=tree_url),
            Column("Place", place_words),
            Column("Lot", "entry.lot.code", kind="code"),
        ]
        if user.may("census.enter"):
            columns.append(Column("Enter", lambda tree: "record it", url=lambda tree: reverse_to("census_tree", item.pk, tree.pk)))
        note = f"The first {_MISSING_SHOWN} of {number:,}, in walk order." if number > _MISSING_SHOWN else "In walk order."
        empty = "No tree is owed a record."
        table = ledger_table(
            "Trees without a record", columns, trees[:_MISSING_SHOWN], unit="trees", note=note if number else "", empty=empty
        )
        return table | {"count": number}

    def counts_table(self):
        item = self.object
        if not item.plots:
            return []
        counts = standing_counts(item)
        lines = [(plot, counts.get(plot.pk, [None])[-1]) for plot in item.planting.counted_plots.select_related("entry__lot")]
        columns = (
            Column("Plot", lambda line: line[0].code, kind="code"),
            Column("Lot", lambda line: line[0].entry.lot.code, kind="code"),
            Column("Planted", lambda line: line[0].planted_count, "right", "number"),
            Column("Alive", lambda line: line[1].alive if line[1] else None, "right"),
            Column("Dead", lambda line: line[1].dead if line[1] else None, "right"),
            Column("Counted on", lambda line: line[1].observed_on if line[1] else None, kind=None),
        )
        return [ledger_table("Counted plots", columns, lines, unit="plots")]


def _measured_column(item):
    label = f"{item.short_label} ({item.unit})" if item.unit else item.short_label
    return Column(label, f"get_{item.field}_display") if item.is_word else Column(label, item.field, "right")


class RoundRecordsView(SectionListView):
    """Every record of one round that no later one superseded, in walk order, with its download."""

    model = Observation
    action = "round.view"
    question = "What was recorded at each tree in this round?"
    unit = "records"
    sheet = CensusSheet
    paginate_by = 100
    columns = (
        Column("Tree", "tree.tag", kind="code", url=lambda record: tree_url(record.tree)),
        Column("Place", lambda record: place_words(record.tree)),
        Column("Status", "get_status_display"),
        Column("Cause", "get_cause_display"),
        *(_measured_column(item) for item in measured_at(ROUND)),
        Column("Seen on", "observed_on", kind="date"),
        Column("Who looked", "observer"),
        Column("Note", "note"),
    )

    def dispatch(self, request, *args, **kwargs):
        if request.user.may(self.action):
            self.round = get_round(self, kwargs["pk"])
            self.title = f"Records of {self.round.label}, {self.round.planting.code}"
            self.others = ()
            self.empty = ("No record yet", "Nobody has recorded a tree in this round.", None)
        return super().dispatch(request, *args, **kwargs)

    def get_queryset(self):
        records = super().get_queryset().current().filter(round=self.round)
        return records.select_related("tree__block").order_by("tree__walk_number", "tree_id", "observed_on", "pk")

    def get_actions(self):
        return [("Back to the round", round_url(self.round))]


def get_round(view, pk):
    """A round in the person's scope, with its planting and site; 404 when there is none."""
    return get_object_or_404(view.scoped(CensusRound).select_related("planting__site"), pk=pk)


class RoundFormView(SectionFormView):
    model = CensusRound
    action = "round.edit"
    form_class = RoundForm
    question = "When is the planting visited, and how old is it then?"

    def get_initial(self):
        initial = super().get_initial() | known(self, Planting, "planting")
        last = CensusRound.objects.filter(planting=initial.get("planting")).order_by("opens_on").last()
        return initial | following(last) if last and "pk" not in self.kwargs else initial

    def save(self, record, many, form):
        return round_save(actor=self.request.user, census_round=record)

    def route_name(self):
        return "round"


def following(last):
    """The round a year after another, as a first guess: the same window, one more growing season."""
    opens_on, closes_on = last.opens_on + timedelta(days=364), last.closes_on + timedelta(days=364)
    label = last.label.replace(str(last.opens_on.year), str(opens_on.year), 1)
    return {
        "growing_seasons": last.growing_seasons + 1, "opens_on": opens_on, "closes_on": closes_on, "label": label,
        "protocol_version": last.protocol_version,
    }  # fmt: skip
