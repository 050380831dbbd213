"""Sheet of the tests of seed lots, with their replicates in one cell."""

import re
from dataclasses import dataclass

from registry import choices
from registry.choices import SeedTestKind
from registry.imports.sheets.append_only_sheets import AGAIN, AppendOnlySheet, number_field
from registry.imports.sheets.cells.cell import Cell, CellError, SheetField
from registry.imports.sheets.cells.dates import PartDateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell
from registry.imports.sheets.plan import Problem
from registry.models import Lot, SeedTest
from registry.selectors.lots.seed_tests import seed_test_draw
from registry.services.lots.seed_tests import seed_test_correct, seed_test_enter


@dataclass(frozen=True, slots=True)
class Replicates:
    """The replicates of a test: (seeds, germinated or None, mass in gram or None) each."""

    rows: tuple

    def __str__(self):
        return "; ".join(f"{germinated if mass is None else _gram(mass)}/{seeds}" for seeds, germinated, mass in self.rows)


def _gram(mass):
    return f"{repr(float(mass)).removesuffix('.0')} g"


class ReplicatesCell(Cell):
    """Replicates in one cell: "23/25; 25/25" germinated of laid out, or "1241.5 g/100; 1238 g/100" mass of counted seeds."""

    is_text = True
    _SHAPE = re.compile(r"(?P<measured>[0-9.,]{1,20})\s*(?P<gram>g?)\s*/\s*(?P<seeds>[0-9]{1,9})")

    def parser(self, options):
        weigh = NumberCell(0).parser(options)

        def parse(value):
            if not isinstance(value, str):
                raise CellError("was turned into another value by the spreadsheet; make the column text and write such as 23/25; 25/25")
            return Replicates(tuple(self._one(part.strip(), weigh) for part in value.split(";") if part.strip()))

        return parse

    def _one(self, part, weigh):
        match = self._SHAPE.fullmatch(part)
        if not match:
            raise CellError(f"has “{part}”; write germinated/seeds such as 23/25; 25/25, or mass such as 1241.5 g/100; 1238 g/100")
        seeds = int(match["seeds"])
        if match["gram"]:
            return seeds, None, weigh(match["measured"])
        if not match["measured"].isdigit():
            raise CellError(f"has “{part}”; germinated seeds are a whole number, and a mass ends in g, such as 1241.5 g/100")
        germinated = int(match["measured"])
        if germinated > seeds:
            raise CellError(f"has “{part}”: more germinated than seeds laid out; write germinated first, then /, then the seeds")
        return seeds, germinated, None

    def render(self, value, obj=None, **kwargs):
        return "" if value is None else str(value)


_MEASURED = {
    SeedTestKind.FLOAT: {"seeds", "sound", "infested", "mouldy", "empty"},
    SeedTestKind.CUT: {"seeds", "sound", "infested", "mouldy", "empty"},
    SeedTestKind.MOISTURE: {"container_g", "wet_g", "dry_g"},
    SeedTestKind.PURITY: {"pure_g", "sample_g"},
    SeedTestKind.MASS: {"replicates"},
    SeedTestKind.GERMINATION: {"replicates"},
}


class SeedTestSheet(AppendOnlySheet):
    kind = "seed_test"
    title = "Tests of seed lots"
    about = (
        "One row for each test. Replicates go in one cell: 23/25; 25/25 is germinated of laid out, 1241.5 g/100; 1238 g/100 is mass "
        "of counted seeds. Seeds used up leave the ledger here; leave the cell blank when the ledger has its own entry for them. "
        "A row that differs from the records corrects that test."
    )
    edit_action = "seedtest.enter"
    model = SeedTest
    key = ("lot", "test_kind", "tested_on")
    told_apart = key

    lot = SheetField("Lot", "lot", RecordCell(Lot), required=True, example="S19-MB-A-012")
    test_kind = SheetField("Test", "kind", ChoiceCell(choices.seed_test_kinds), required=True, example="germination")
    tested_on = SheetField("Tested on", "tested_on", PartDateCell(), required=True, example="2020-02-20")
    nth = number_field()
    tested_by = SheetField("Tested by", "tested_by", TextCell(80), required=True, example="A. Tester")
    seeds = SheetField("Seeds in the sample (count)", "seeds", NumberCell(1, whole=True), example="")
    sound = SheetField("Sound; float test: sank (count)", "sound", NumberCell(0, whole=True), example="")
    infested = SheetField("With insects (count)", "infested", NumberCell(0, whole=True), example="")
    mouldy = SheetField("Mouldy (count)", "mouldy", NumberCell(0, whole=True), example="")
    empty = SheetField("Empty (count)", "empty", NumberCell(0, whole=True), example="")
    container_g = SheetField("Container (g)", "container_g", NumberCell(0), example="")
    wet_g = SheetField("Container and seed before drying (g)", "wet_g", NumberCell(0), example="")
    dry_g = SheetField("Container and seed after drying (g)", "dry_g", NumberCell(0), example="")
    pure_g = SheetField("Pure seed (g)", "pure_g", NumberCell(0), example="")
    sample_g = SheetField("Whole sample (g)", "sample_g", NumberCell(0), example="")
    replicates = SheetField(
        "Replicates (germinated/seeds, or mass g/seeds)", "replicates", ReplicatesCell(), example="23/25; 25/25"
    )  # fmt: skip
    regime = SheetField("Temperature and days", "regime", TextCell(120), example="30/20 °C, 40 days")
    drawn = SheetField("Seeds used up (count)", "drawn", NumberCell(0, whole=True), example=50)
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        records = super().stored_records().filter(superseded_by=None)
        return records.select_related("lot", "entry", "supersedes__entry").prefetch_related("replicates")

    def current_value(self, record, name, field):
        if name == "replicates":
            rows = tuple((row.seeds, row.germinated, row.mass_g) for row in record.replicates.all())
            return Replicates(rows) if rows else None
        if name == "drawn":
            draw = seed_test_draw(record)
            return -draw.quantity if draw else None
        return super().current_value(record, name, field)

    def differences(self, before, after):
        # a test that used up nothing may say so with 0
        return [name for name in super().differences(before, after) if name != "drawn" or (before.get(name) or 0) != after[name]]

    def dehydrate_replicates(self, record):
        return self.fields["replicates"].widget.render(self.current_value(record, "replicates", self.fields["replicates"]))

    def dehydrate_drawn(self, record):
        value = self.current_value(record, "drawn", self.fields["drawn"])
        return "" if value is None else value

    def check_items(self, plan):
        super().check_items(plan)
        for item in plan.items:
            kind = SeedTestKind(item.values["test_kind"])
            for name in set.union(*_MEASURED.values()) & item.values.keys() - _MEASURED[kind]:
                message = f"is not measured in a test of the kind '{kind.label}'; clear the cell, or correct the kind"
                self._add_problem(plan, Problem(item.row, self.header(name), str(item.values[name]), message))

    def add_row(self, values, actor, reason):
        return seed_test_enter(actor=actor, **_as_service(values))

    def correct_row(self, values, item, actor, reason):
        values = _as_service(self.merged(values, item))
        del values["lot"], values["kind"]
        return seed_test_correct(actor=actor, test=item.current, reason=reason or AGAIN, **values)


def _as_service(values):
    values["kind"] = values.pop("test_kind")
    if "replicates" in values:
        values["replicates"] = values["replicates"].rows
    return values
