"""Sheets of what was planted: tagged trees, and plots whose trees are counted."""

from collections import defaultdict

from django.core.exceptions import ValidationError

from plantings import choices
from plantings.imports.percentages import rates_set_aside, refuse_percentages
from plantings.imports.sites.outlines import AnswerCell
from plantings.models import CountedPlot, Planting, Tree
from plantings.services.tree_lists.moves import TreeMove, trees_move
from plantings.services.trees import PlotAsPlanted, TreeAsPlanted, counted_plots_add, trees_plant, trees_replace
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import PartDateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell
from registry.imports.sheets.plan import NEW, Problem
from registry.imports.sheets.sheet import Sheet
from registry.models import Lot
from registry.services.gate.determinations import GateStopped

_FIXED = {"lot": "The lot of a tree", "role": "The role of a tree", "replaces": "What a tree replaces"}


_LON_LAT = {"longitude", "latitude"}
_GIVEN = (
    "role", "block", "row", "position", "longitude", "latitude", "accuracy_m", "point_is_right", "planted_on", "note",
)  # fmt: skip

_STOPPED = (
    "A sheet cannot override the gate. Get what is missing, or enter a separate planned planting for these: "
    "when it is marked as planted on its page, the lead can override with a reason."
)
_UNKNOWN = "is blank: the plot has an unknown number planted, so counts over time and no survival"


def asked(service, **values):
    """Call a service that asks the gate; what it stops is said in words for somebody who has a sheet before them."""
    try:
        return service(**values)
    except GateStopped as stop:
        _who_may_go_on, *stops = stop.message_dict["override_reason"]
        raise ValidationError([f"The gate stops it. {words}" for words in stops] + [_STOPPED]) from stop


class TreeSheet(Sheet):
    kind = "tree"
    title = "Trees as planted"
    about = "One row for each tree as it was planted. A replacement names the tag of the tree it replaces."
    edit_action = "tree.edit"
    model = Tree
    key = ("planting", "tag")

    planting = SheetField("Planting", "planting", RecordCell(Planting), required=True, example="ST-04-2020")
    tag = SheetField("Tag", "tag", TextCell(40), required=True, example="0132")
    lot = SheetField("Lot", "entry__lot", RecordCell(Lot), required=True, example="P20-MB-A-012")
    role = SheetField("Role", "entry__role", ChoiceCell(choices.entry_roles), example="test")
    block = SheetField("Block", "block__code", TextCell(40), example="1")
    row = SheetField("Row", "row", NumberCell(0, whole=True), example=4)
    position = SheetField("Position", "position", NumberCell(0, whole=True), example=7)
    longitude = SheetField("Longitude (degrees, WGS 84)", "longitude", NumberCell(-180, 180), example=-73.21512)
    latitude = SheetField("Latitude (degrees, WGS 84)", "latitude", NumberCell(-90, 90), example=44.48123)
    accuracy_m = SheetField("Accuracy of the point (m)", "accuracy_m", NumberCell(0.001, 10_000), example=3)
    point_is_right = SheetField("Point is right (yes/no)", "point_is_right", AnswerCell(), help="yes, where this was asked")
    planted_on = SheetField(
        "Planted on (if not the planting date)", "planted_on", PartDateCell(), example="", was=("Planted on (when not the planting's day)",)
    )
    replaces = SheetField("Replaces tag", "replaces__tag", TextCell(40), example="")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("planting", "entry__lot", "block", "replaces")

    def export_rows(self, queryset):
        return queryset.select_related("planting", "entry__lot", "block", "replaces")

    def check_items(self, plan):
        self._check_places(plan)
        for item in plan.items:
            # the accuracy on file is that of the earlier point
            if _LON_LAT & item.changes.keys() and "accuracy_m" not in item.values and item.current.accuracy_m is not None:
                item.values["accuracy_m"] = None
                item.changes["accuracy_m"] = (item.current.accuracy_m, None)

    def _check_places(self, plan):
        places = {}
        for item in plan.items:
            values = item.values
            if values.get("row") is None or values.get("position") is None or "replaces" in values:
                continue
            place = (item.key[0], values.get("block", ""), values["row"], values["position"])
            first = places.setdefault(place, item)
            if first is not item:
                where = f"block {values.get('block') or '–'}, row {values['row']}, position {values['position']}"
                self._add_problem(
                    plan,
                    Problem(
                        item.row,
                        self.header("tag"),
                        str(values["tag"]),
                        f"is at {where}, where row {first.row} has tree {first.values['tag']}; correct one of them",
                    ),
                )

    def differences(self, before, after):
        """The answer about a point is on no record."""
        return super().differences(before, {name: value for name, value in after.items() if name != "point_is_right"})

    def store_items(self, items, actor, reason, plan):
        """Trees on file move first: a new tree can have the place that one of them leaves. Those of one planting go together."""
        self._move([item for item in items if item.outcome != NEW], actor, reason, plan)
        plantings = defaultdict(list)
        for item in items:
            if item.outcome == NEW and "replaces" not in item.values:
                plantings[item.values["planting"]].append(item)
        for planting, rows in plantings.items():
            trees = [self._as_planted(item.values) for item in rows]
            self.attempt(
                plan,
                rows[0],
                lambda planting=planting, trees=trees: asked(trees_plant, actor=actor, planting=planting, trees=trees),
                together=rows[1:],
            )
        replaced = defaultdict(list)
        for item in items:
            if item.outcome == NEW and "replaces" in item.values:
                replaced[item.values["planting"]].append(item)
        for planting, rows in replaced.items():
            pairs = [{"replaces": item.values["replaces"], "tree": self._as_planted(item.values)} for item in rows]
            self.attempt(
                plan,
                rows[0],
                lambda planting=planting, pairs=pairs: asked(trees_replace, actor=actor, planting=planting, replacements=pairs),
                together=rows[1:],
            )

    def _move(self, items, actor, reason, plan):
        plantings = defaultdict(list)
        for item in items:
            fixed = [name for name in _FIXED if name in item.changes]
            for name in fixed[:1]:
                said = f"differs from the record. {_FIXED[name]} cannot be changed by a sheet; use the tree's page"
                self._add_problem(plan, Problem(item.row, self.header(name), self.shown(name, item.values[name]), said))
            if not fixed:
                plantings[item.current.planting].append(item)
        for planting, rows in plantings.items():
            moves = [TreeMove(item.current, self._moved(item)) for item in rows]
            self.attempt(
                plan,
                rows[0],
                lambda planting=planting, moves=moves: trees_move(actor=actor, planting=planting, moves=moves, reason=reason),
                together=rows[1:],
            )

    def _moved(self, item):
        """What changes of a tree on file. The accuracy that comes with a new point is of that point, also where it is as before."""
        changes = {name: new for name, (_old, new) in item.changes.items()}
        if _LON_LAT & changes.keys():
            changes["accuracy_m"] = item.values.get("accuracy_m")
            changes["point_is_right"] = self.gives_back or item.values.get("point_is_right", False)
        return changes

    @staticmethod
    def _as_planted(values):
        given = {name: values[name] for name in _GIVEN if name in values}
        return TreeAsPlanted(tag=values["tag"], lot=values["lot"], **given)


class CountedPlotSheet(Sheet):
    kind = "counted_plot"
    title = "Counted plots"
    about = (
        "Plots whose trees are counted, not tagged: direct seeding and old records. A blank number planted says that nobody knows it: such "
        "a plot has counts over time and no survival."
    )
    edit_action = "tree.edit"
    model = CountedPlot
    key = ("planting", "code")

    planting = SheetField("Planting", "planting", RecordCell(Planting), required=True, example="ST-04-2020")
    code = SheetField("Plot", "code", TextCell(40), required=True, example="D1")
    lot = SheetField("Lot", "entry__lot", RecordCell(Lot), required=True, example="S19-MB-A-012")
    role = SheetField("Role", "entry__role", ChoiceCell(choices.entry_roles), example="test")
    planted_count = SheetField("Planted (count)", "planted_count", NumberCell(1, whole=True), example=100)

    def stored_records(self):
        return super().stored_records().select_related("planting", "entry__lot")

    def refuse_sheet(self, headers, spec):
        refuse_percentages(headers, spec, ("planted_count",))
        self.set_aside = rates_set_aside(headers, spec)

    def check_items(self, plan):
        plan.notes.extend(self.set_aside)
        for item in plan.items:
            if item.outcome == NEW and item.values.get("planted_count") is None:
                plan.warnings.append(Problem(item.row, self.header("planted_count"), "", _UNKNOWN))

    def store_items(self, items, actor, reason, plan):
        """The plots of one planting together: it is locked, asked the gate about and counted once."""
        plantings = defaultdict(list)
        for item in items:
            if item.outcome == NEW:
                plantings[item.values["planting"]].append(item)
            else:
                message = "differs from the record. A counted plot cannot be changed once its counts depend on it."
                name = next(iter(item.changes))
                self._add_problem(plan, Problem(item.row, self.header(name), self.words(name, item.values[name]), message))
        for planting, rows in plantings.items():
            plots = [PlotAsPlanted(**{name: value for name, value in item.values.items() if name != "planting"}) for item in rows]
            self.attempt(
                plan,
                rows[0],
                lambda planting=planting, plots=plots: asked(counted_plots_add, actor=actor, planting=planting, plots=plots),
                together=rows[1:],
            )
