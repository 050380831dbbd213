"""Sheet of the counts of plots."""

from collections import defaultdict

from django.core.exceptions import ValidationError
from django.db.models import Case, When

from plantings.calc.arrival.counts import CountSeen
from plantings.calc.census.rules import NOTE_LENGTH_MAX
from plantings.choices import Arrival, ReviewState
from plantings.imports.identifiers import Identified, corrects_column, identifier_column
from plantings.imports.trees import refuse_percentages
from plantings.models import CensusRound, CountedPlot, Planting, PlotCount
from plantings.selectors.census.count_queue import count_findings
from plantings.selectors.census.reviews import is_accepted
from plantings.services.arrival.sorting import CORRECTED
from plantings.services.census import plot_count_correct, plot_count_record
from registry.imports.sheets.append_only_sheets import AGAIN
from registry.imports.sheets.cells import DateCell, NumberCell, RecordCell, SheetField, TextCell, YesNoCell
from registry.imports.sheets.plan import UNCHANGED, Problem
from registry.imports.sheets.sheet import Sheet


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
    observed_on = SheetField("Observed on", "observed_on", DateCell(), required=True, example="2020-09-12")
    observer = SheetField("Observer", "observer", TextCell(120), example="R. Counter")
    note = SheetField("Note", "note", TextCell(NOTE_LENGTH_MAX), example="")
    accepted = SheetField("Accepted (yes/no)", "accepted", YesNoCell(), example="")
    uuid, corrects = identifier_column(), corrects_column()

    def refuse_sheet(self, headers, spec):
        refuse_percentages(headers, spec, ("alive", "dead"))

    def stored_records(self):
        """A rejected count is compared with too, before those that are not: the same sheet again stores nothing."""
        counts = PlotCount.objects.unsuperseded().with_review().select_related("round__planting", "plot")
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
        """Warn of counts that the queue of the round will list as odd. What a row lacks is refused when it is stored."""
        by_round = defaultdict(list)
        for item in plan.items:
            if item.outcome != UNCHANGED and {"alive", "observed_on"} <= item.values.keys():
                by_round[item.key[:2]].append(item)
        rounds = {
            (one.planting_id, one.label): one for one in CensusRound.objects.filter(planting__in={place for place, _label in by_round})
        }
        for (planting, label), items in by_round.items():
            if census_round := rounds.get((planting, label)):
                self._warn(plan, census_round, items)

    def _warn(self, plan, census_round, items):
        plots = {plot.code: plot for plot in CountedPlot.objects.filter(planting=census_round.planting_id).select_related("entry__lot")}
        given = [(item, plots[item.key[2]]) for item in items if item.key[2] in plots]
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
                super().store_items(wave, actor, reason, plan)

    def save_row(self, values, item, actor, reason):
        planting = values.pop("planting")
        census_round = planting.rounds.filter(label=values.pop("round")).first()
        plot = CountedPlot.objects.filter(planting=planting, code=values.pop("plot")).first()
        if census_round is None:
            raise ValidationError({"round": f"is not a round of planting {planting.code}; load or add the round first"})
        if plot is None:
            raise ValidationError({"plot": f"is not a counted plot of planting {planting.code}; load it with its planted count first"})
        if values.pop("accepted", None) and actor.may("observation.review"):
            values["arrived_as"] = Arrival.ACCEPTED.value
        if corrected := values.pop("corrects", None):
            count = self.records_with([corrected])[corrected]
            said = {"dead": 0, "observer": "", "note": "", "arrived_as": Arrival.RECEIVED.value} | values
            return plot_count_correct(actor=actor, count=count, reason=CORRECTED, **said)
        if item.current:
            return plot_count_correct(actor=actor, count=item.current, reason=reason or AGAIN, **values)
        return plot_count_record(actor=actor, census_round=census_round, plot=plot, **values)
