"""Sheet of second measurements: what the second person wrote at the drawn trees of a round."""

from collections import defaultdict

from django.core.exceptions import ValidationError

from plantings import choices
from plantings.calc.census.measurements import FIELDS, MEASUREMENTS
from plantings.calc.census.own_measurements import row_values
from plantings.calc.census.rules import NOTE_LENGTH_MAX
from plantings.imports.identifiers import Identified, corrects_column, identifier_column
from plantings.imports.own_columns import OwnColumns, measured_columns, own_cell
from plantings.models import CensusRound, Planting, SecondDraw, SecondMeasurement
from plantings.selectors.census.asked import asked_at
from plantings.services.arrival.sorting import CORRECTED
from plantings.services.census.observations import CensusRefused, CensusRow
from plantings.services.census.second import row_of, second_measurement_correct, second_measurements_record
from registry.imports.sheets.append_only_sheets import AGAIN
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell
from registry.imports.sheets.plan import Problem
from registry.imports.sheets.sheet import Sheet

_SAID = ("status", "observed_on", "cause", "observer", "note")


class _TreeAndStatus(Sheet):
    """The first columns of the sheet: which tree of which draw, and its status."""

    planting = SheetField("Planting", "drawn__draw__round__planting", RecordCell(Planting), required=True, example="ST-04-2020")
    round = SheetField("Season", "drawn__draw__round__label", TextCell(40), required=True, example="2020 autumn")
    draw = SheetField("Draw", "drawn__draw__number", NumberCell(1, whole=True), required=True, example=1)
    tag = SheetField("Tag", "drawn__tree__tag", TextCell(40), required=True, example="0132")
    status = SheetField("Status", "status", ChoiceCell(choices.census_statuses), required=True, example="A")
    observed_on = SheetField("Observed on", "observed_on", DateCell(), required=True, example="2020-09-15")
    cause = SheetField("Cause of death or reason of removal", "cause", ChoiceCell(choices.causes), example="")


_Measured = type(Sheet)("_Measured", (_TreeAndStatus,), measured_columns("values__{field}"))


class SecondSheet(Identified, OwnColumns, _Measured):
    kind = "second_measurement"
    title = "Second measurements"
    about = (
        "One row for each drawn tree of a second measurement: what the second person recorded. The sample is drawn on the page of the "
        "round before. These rows enter no figure of survival and no census record. A row that differs from the records corrects them."
    )
    edit_action = "census.enter"
    model = SecondMeasurement
    place_path = ("drawn__draw__round__planting", "drawn__tree")
    key = ("planting", "round", "draw", "tag")
    is_reviewed = False

    observer = SheetField("Observer", "observer", TextCell(120), required=True, example="B. Again")
    note = SheetField("Note", "note", TextCell(NOTE_LENGTH_MAX), example="")
    uuid, corrects = identifier_column(), corrects_column()

    @classmethod
    def own_column(cls, item):
        return SheetField(item.sheet_header, f"values__{item.field}", own_cell(item))

    @property
    def measured(self):
        """The names of its columns of measurements."""
        return {*FIELDS, *(item.field for item in self.own)}

    @property
    def recorded(self):
        """The names of the cells that a record holds."""
        return {*_SAID, *self.measured}

    def stored_records(self):
        return SecondMeasurement.objects.current().select_related("drawn__draw__round__planting", "drawn__tree")

    def export_rows(self, queryset):
        """The records, each with its values under the names of their columns."""
        records = list(queryset.select_related("drawn__draw__round__planting", "drawn__tree"))
        for record in records:
            record.values = _Values(record.values)
        return records

    def current_by_place(self, items):
        self.draws = {}
        for planting, label, number in dict.fromkeys(item.key[:3] for item in items):
            found = SecondDraw.objects.filter(round__planting=planting, round__label=label, number=number).select_related("round__planting")
            self.draws[planting, label, number] = found.first()
        stored = {}
        for key, draw in self.draws.items():
            if draw is not None:
                records = self.stored_records().filter(drawn__draw=draw)
                stored |= {(*key, record.drawn.tree.tag): record for record in records}
        return {item.key: stored[item.key] for item in items if item.key in stored}

    def current_values(self, record, names):
        row = row_of(record)
        values = {name: getattr(row, name) for name in names if name in _SAID or name in FIELDS}
        values |= {item.field: row.own_values.get(item.field) for item in self.own if item.field in names}
        return {name: None if value == "" else value for name, value in values.items()}

    def differences(self, before, after):
        return [name for name in after if name in self.recorded and before.get(name) != after[name]]

    def check_items(self, plan):
        for item in plan.items:
            planting, label, number = item.key[:3]
            draw = self.draws[item.key[:3]]
            if not CensusRound.objects.filter(planting=planting, label=label).exists():
                message = f"is not a round of planting {item.values['planting'].code}; load or add the round first"
                self._add_problem(plan, Problem(item.row, self.header("round"), label, message))
            elif draw is None:
                message = "is not a draw of this round; draw the sample on the page of the round first"
                self._add_problem(plan, Problem(item.row, self.header("draw"), str(number), message))
            else:
                asked = {measurement.field for measurement in asked_at(draw.round)}
                for name in self.measured & item.values.keys() - asked:
                    self._add_problem(plan, Problem(item.row, self.header(name), self.words(name, item.values[name]), _NOT_ASKED))

    def store_items(self, items, actor, reason, plan):
        for wave in self.in_order(items):
            if not plan.problems:
                self._store_wave(wave, actor, reason, plan)

    def _store_wave(self, items, actor, reason, plan):
        new = defaultdict(list)
        for item in items:
            if item.current:
                self.attempt(plan, item, lambda item=item: self._correct(item, actor, reason))
            elif "corrects" in item.values:
                self.attempt(plan, item, lambda item=item: self._correct_identified(item, actor))
            else:
                new[item.key[:3]].append(item)
        for key, found in new.items():
            self._store(plan, self.draws[key], found, actor)

    def _store(self, plan, draw, items, actor):
        trees = dict(draw.trees.values_list("tree__tag", "tree"))
        rows = []
        for item in items:
            rows.append(CensusRow(draw.round_id, trees.get(item.key[3], 0), **self._row_values(item.values)))
        try:
            second_measurements_record(actor=actor, draw=draw, rows=rows)
        except CensusRefused as refused:
            for number, findings in refused.problems.items():
                self._add_problem(plan, Problem(items[number].row, self._header_of(findings[0]), "", findings[0].message))

    def _row_values(self, values):
        said = {name: value for name, value in values.items() if name in _SAID or name in FIELDS or name == "uuid"}
        return said | {"own_values": row_values(self.own, values)["own_values"]}

    def _header_of(self, finding):
        return self.header({"tree": "tag"}.get(finding.field, finding.field))

    def _correct(self, item, actor, reason):
        changes = self._row_values({name: after for name, (_before, after) in item.changes.items()})
        changes["own_values"] = row_of(item.current).own_values | changes["own_values"]
        self._correct_record(actor, item.current, reason or AGAIN, changes)

    def _correct_identified(self, item, actor):
        """A correction that a phone made: it says all that its record holds, and takes nothing from what it corrects."""
        corrected = item.values["corrects"]
        record = self.records_with([corrected])[corrected]
        blank = {"cause": "", "note": "", **{item.field: item.blank for item in MEASUREMENTS}}
        self._correct_record(actor, record, CORRECTED, blank | self._row_values(item.values))

    @staticmethod
    def _correct_record(actor, record, reason, changes):
        try:
            second_measurement_correct(actor=actor, record=record, reason=reason, **changes)
        except CensusRefused as refused:
            raise ValidationError(refused.problems[0][0].message) from None


_NOT_ASKED = "was measured, but this round does not ask for it; leave the cell blank"


class _Values:
    """The values of a second measurement, read by the names of their columns; None for one that was not measured."""

    def __init__(self, values):
        self._values = values

    def __getattr__(self, name):
        return self._values.get(name)
