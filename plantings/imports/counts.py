"""Sheet of the counts of plots."""

from collections import defaultdict

from django.core.exceptions import ValidationError
from django.db.models import Case, Q, When

from plantings.calc.arrival.counts import CountSeen
from plantings.calc.census.rules import NOTE_LENGTH_MAX
from plantings.choices import Arrival, ReviewState
from plantings.imports.identifiers import Identified, corrects_column, identifier_column
from plantings.imports.percentages import declares_counts, percentages_found, refuse_percentages
from plantings.models import CensusRound, CountedPlot, Planting, PlotCount
from plantings.selectors.census.count_queue import count_findings
from plantings.selectors.census.reviews import is_accepted
from plantings.services.arrival.sorting import CORRECTED
from plantings.services.census.plot_counts import PlotCountRefused, plot_count_check, plot_count_correct, plot_counts_record
from registry.calc.sheets.key_ranges import keys_in
from registry.imports.sheets.append_only_sheets import AGAIN
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import PartDateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import NumberCell, TextCell, YesNoCell
from registry.imports.sheets.plan import UNCHANGED, Problem
from registry.imports.sheets.sheet import Sheet
from registry.models.shared.among import Keys
from registry.selectors.loads.loads import withdrawn_ranges
from registry.services.audit.write import writing


class PlotCountSheet(Identified, Sheet):
    kind = "plot_count"
    title = "Counts of plots"
    about = (
        "One row for each counted plot and round: how many are alive. Percentages without counts cannot be loaded. Rows with “yes” under "
        "“Accepted” need no review; all others are received and wait for one."
    )
    edit_action = "census.enter"
    model = PlotCount
    place_path = ("round__planting", "plot")
    recorded = ("alive", "dead", "observed_on", "observer", "note")
    key = ("planting", "round", "plot")

    planting = SheetField("Planting", "round__planting", RecordCell(Planting), required=True, example="ST-04-2020")
    round = SheetField("Season", "round__label", TextCell(40), required=True, example="2020 autumn")
    plot = SheetField("Plot", "plot__code", TextCell(40), required=True, example="D1")
    alive = SheetField("Alive (count)", "alive", NumberCell(0, whole=True), required=True, example=71)
    dead = SheetField("Dead (count)", "dead", NumberCell(0, whole=True), example=5)
    observed_on = SheetField("Observed on", "observed_on", PartDateCell(), required=True, example="2020-09-12")
    observer = SheetField("Observer", "observer", TextCell(120), example="R. Counter")
    note = SheetField("Note", "note", TextCell(NOTE_LENGTH_MAX), example="")
    accepted = SheetField("Accepted (yes/no)", "accepted", YesNoCell(), example="")
    uuid, corrects = identifier_column(), corrects_column()

    def refuse_sheet(self, headers, spec):
        refuse_percentages(headers, spec, ("alive", "dead"))
        self.are_counts = declares_counts(spec)

    def stored_records(self):
        """A rejected count is compared with too, before those that are not: the same sheet again stores nothing. One that a withdrawn load
        brought is not: that sheet may come again."""
        withdrawn = Q(review_state=ReviewState.REJECTED, pk__among=Keys(keys_in(withdrawn_ranges(PlotCount))))
        counts = PlotCount.objects.unsuperseded().with_review().exclude(withdrawn).select_related("round__planting", "plot")
        return counts.order_by(Case(When(review_state=ReviewState.REJECTED, then=0), default=1), "observed_on", "pk")

    def export_rows(self, queryset):
        return queryset.current().select_related("round__planting", "plot").with_review()

    def dehydrate_accepted(self, count):
        return "yes" if is_accepted(count) else ""

    def differences(self, before, after):
        return [name for name in super().differences(before, after) if name != "accepted"]

    def current_value(self, record, name, field):
        return None if name == "accepted" else super().current_value(record, name, field)

    def check_items(self, plan):
        """Refuse rows of rounds and plots that are not on file, and counts that break a rule; warn of those the queue will list as odd."""
        plantings = {item.key[0] for item in plan.items}
        self.rounds = {
            (one.planting_id, one.label): one for one in CensusRound.objects.filter(planting__in=plantings).select_related("planting")
        }
        self.plots = {
            (plot.planting_id, plot.code): plot for plot in CountedPlot.objects.filter(planting__in=plantings).select_related("entry__lot")
        }
        by_round = defaultdict(list)
        for item in plan.items:
            if self._is_of_place_on_file(plan, item) and item.outcome != UNCHANGED and {"alive", "observed_on"} <= item.values.keys():
                by_round[item.key[:2]].append(item)
                self._check_count(plan, item)
        if not self.are_counts:
            self._refuse_percentages(plan, [item for items in by_round.values() for item in items])
        for key, items in by_round.items():
            self._warn(plan, self.rounds[key], items)

    def _refuse_percentages(self, plan, items):
        """Add a problem if the counts look like percentages. Plots of a known number and of an unknown one are judged apart."""
        known, unknown = [], []
        for item in items:
            planted = self.plots[item.key[0], item.key[2]].planted_count
            (unknown if planted is None else known).append((item.values["alive"], planted))
        for pairs in filter(None, (known, unknown)):
            alive, planted = map(list, zip(*pairs, strict=True))
            if found := percentages_found(self.sources["alive"].header or "", alive, planted):
                self._add_problem(plan, found)
                return

    def _is_of_place_on_file(self, plan, item):
        planting, label, code = item.key[:3]
        words = item.values["planting"].code
        if (planting, label) not in self.rounds:
            message = f"is not a round of planting {words}; load or add the round first"
            self._add_problem(plan, Problem(item.row, self.header("round"), label, message))
        elif (planting, code) not in self.plots:
            message = f"is not a counted plot of planting {words}; load the plot first"
            self._add_problem(plan, Problem(item.row, self.header("plot"), code, message))
        else:
            return True
        return False

    def _check_count(self, plan, item):
        """What the service would refuse, of every row at once."""
        values = item.values
        dead = values.get("dead", getattr(item.current, "dead", 0))
        try:
            plot_count_check(
                planting=values["planting"], plot=self.plots[item.key[0], item.key[2]], alive=values["alive"], dead=dead,
                observed_on=values["observed_on"],
            )  # fmt: skip
        except ValidationError as error:
            for name, messages in error.message_dict.items():
                for message in messages:
                    self._add_problem(plan, Problem(item.row, self.header(name), self.words(name, values[name]), message))

    def _warn(self, plan, census_round, items):
        given = [(item, self.plots[item.key[0], item.key[2]]) for item in items]
        seen = [
            (
                plot,
                CountSeen(
                    *(item.values.get(name) or 0 for name in ("alive", "dead")), item.values["observed_on"], item.values.get("note", "")
                ),
            )
            for item, plot in given
        ]
        found = count_findings(census_round, seen)
        for item, plot in given:
            for look in found.get(plot, ()):
                plan.warnings.append(Problem(item.row, self.header(look.field), str(item.values.get(look.field, "")), look.message))

    def store_items(self, items, actor, reason, plan):
        for wave in self.in_order(items):
            if not plan.problems:
                new = [item for item in wave if not item.current and "corrects" not in item.values]
                super().store_items([item for item in wave if item not in new], actor, reason, plan)
                self._store_new(new, actor, plan)

    def _store_new(self, items, actor, plan):
        """The counts of one round together: its planting is locked and counted once."""
        by_round = defaultdict(list)
        for item in items:
            by_round[item.key[:2]].append(item)
        for key, rows in by_round.items():
            counts = [self._count_of(item, actor) for item in rows]
            try:
                with writing():
                    plot_counts_record(actor=actor, census_round=self.rounds[key], counts=counts)
            except PlotCountRefused as refused:
                self._add_problem(plan, Problem(rows[refused.number].row, "", "", " ".join(refused.messages)))

    def _count_of(self, item, actor):
        """What the service takes of a row, besides its round."""
        values = {name: value for name, value in item.values.items() if name not in ("planting", "round", "corrects")}
        if values.pop("accepted", None) and actor.may("observation.review"):
            values["arrived_as"] = Arrival.ACCEPTED.value
        return values | {"plot": self.plots[item.key[0], item.key[2]]}

    def save_row(self, values, item, actor, reason):
        corrected = values.get("corrects")
        values = self._count_of(item, actor)
        del values["plot"]
        if corrected:
            count = self.records_with([corrected])[corrected]
            said = {"dead": 0, "observer": "", "note": "", "arrived_as": Arrival.RECEIVED.value} | values
            return plot_count_correct(actor=actor, count=count, reason=CORRECTED, **said)
        return plot_count_correct(actor=actor, count=item.current, reason=reason or AGAIN, **values)
