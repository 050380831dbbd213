"""Sheets of what is done with seed lots: parts, pickings, treatments, storage checks."""

from collections import defaultdict

from django.core.exceptions import ValidationError

from registry import choices
from registry.imports.sheets.append_only_sheets import AppendOnlySheet, number_field
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell, PartDateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell, YesNoCell
from registry.imports.sheets.plan import NEW, Problem
from registry.models import Harvest, LedgerEntry, Lot, StorageRecord, Treatment
from registry.selectors.lots.harvests import harvests_without_facts
from registry.services.lots.harvests import harvest_enter, harvest_facts_enter
from registry.services.lots.ledger import lot_split
from registry.services.lots.seed_tests import treatment_enter
from registry.services.lots.storage import storage_enter


class LotSplitSheet(AppendOnlySheet):
    kind = "lot_split"
    title = "Parts of lots"
    about = "What was moved from a lot into a part of it. The part is in the sheet of lots, with origin split and its parent lot."
    edit_action = "ledger.enter"
    model = LedgerEntry
    key = ("part", "on")
    told_apart = key
    changed_words = (
        "A split does not change once it is entered. Put the seeds or plants back on the page of the part, then enter the right split."
    )

    part = SheetField("Part", "lot", RecordCell(Lot), required=True, example="S19-MB-A-012-2")
    on = SheetField("Split on", "on", DateCell(), required=True, example="2019-11-04")
    nth = number_field()
    quantity = SheetField("Count (seeds or plants)", "quantity", NumberCell(1, whole=True), required=True, example=150)
    reason = SheetField("Reason", "reason", TextCell(200), example="moved to the second cold room")

    def stored_records(self):
        into_parts = {"kind": choices.LedgerKind.SPLIT_IN, "lot__origin": choices.LotOrigin.SPLIT}
        return super().stored_records().in_effect().filter(**into_parts).select_related("lot__parent")

    def add_row(self, values, actor, reason):
        part = values["part"]
        if part.origin != choices.LotOrigin.SPLIT or part.parent is None:
            raise ValidationError(
                {"part": "is not a part of another lot; give it the origin split and its parent lot in the sheet of lots"}
            )
        return lot_split(
            actor=actor, lot=part.parent, part=part, count=values["quantity"], on=values["on"], reason=values.get("reason", "")
        )


class HarvestSheet(AppendOnlySheet):
    kind = "harvest"
    title = "Pickings"
    about = (
        "The facts of each picking. With its entry number it belongs to that entry of the ledger, which has day, count and mass; "
        "without one the picking is entered in the ledger by this row, and needs a count."
    )
    edit_action = "ledger.enter"
    model = Harvest
    key = ("lot", "on")
    told_apart = ("lot", "on", "reference")
    changed_words = "A picking does not change once it is entered. Reverse its ledger entry and enter the right one."

    lot = SheetField("Lot", "entry__lot", RecordCell(Lot), required=True, example="S19-MB-A-012")
    on = SheetField("Picked on", "entry__on", DateCell(), required=True, example="2019-10-08")
    reference = SheetField("Entry number in the ledger", "entry__reference", TextCell(60), example="2019-14")
    nth = number_field()
    quantity = SheetField("Count (seeds)", "entry__quantity", NumberCell(1, whole=True), example=412)
    mass_g = SheetField("Mass (g)", "entry__mass_g", NumberCell(0), example=5150)
    picker = SheetField("Picked by", "picker", TextCell(80), required=True, example="A. Picker")
    fruits = SheetField("Fruits picked (count)", "fruits", NumberCell(0, whole=True), example=420)
    containers = SheetField("Containers (count)", "containers", NumberCell(1, 32_000, whole=True), example=2)
    labels = SheetField(
        "Labels inside and outside every container (yes/no)", "labels_inside_and_outside", YesNoCell(), example="yes"
    )  # fmt: skip
    holder = SheetField("Held by", "holder", TextCell(120), example="Example nursery")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().filter(entry__reversed_by=None).select_related("entry__lot__mother")

    def check_items(self, plan):
        super().check_items(plan)
        new = [item for item in plan.items if item.outcome == NEW]
        self.entries = defaultdict(list)
        lots = {item.values["lot"].pk for item in new}
        for entry in harvests_without_facts().filter(lot__in=lots):
            self.entries[entry.lot_id].append(entry)
        for item in new:
            if problem := self._wrong(item):
                self._add_problem(plan, Problem(item.row, self.header(problem[0]), str(item.values.get(problem[0], "")), problem[1]))

    def _entry(self, values):
        return next((e for e in self.entries[values["lot"].pk] if e.reference and e.reference == values.get("reference")), None)

    def _wrong(self, item):
        """(field, what is wrong) of a new row, or None."""
        values, entry = item.values, self._entry(item.values)
        if "reference" in values:
            if entry is None:
                return "reference", (
                    f"is not the number of a harvest of {values['lot'].code} that still lacks its facts; correct it, "
                    "load the ledger first, "
                    "or leave it blank and give the count"
                )
            for name, stored in (("on", entry.on), ("quantity", entry.quantity), ("mass_g", entry.mass_g)):
                if name in values and values[name] != stored:
                    return name, f"differs from entry {entry.reference} of the ledger, which has {stored}; correct the row"
            return None
        if "quantity" not in values:
            return "quantity", "is blank; without an entry number the row needs the count, which goes into the ledger"
        same_day = [e.reference for e in self.entries[values["lot"].pk] if e.on == values["on"] and e.reference]
        if same_day:
            return "reference", f"is blank, and the ledger has a harvest of that day under {', '.join(same_day)}; give that number"
        return None

    def add_row(self, values, actor, reason):
        entry = self._entry(values)
        lot, on, count, mass_g = (values.pop(name, None) for name in ("lot", "on", "quantity", "mass_g"))
        values.pop("reference", None)
        if "labels" in values:
            values["labels_inside_and_outside"] = values.pop("labels")
        if entry:
            return harvest_facts_enter(actor=actor, entry=entry, **values)
        return harvest_enter(actor=actor, lot=lot, on=on, count=count, mass_g=mass_g, **values)


class TreatmentSheet(AppendOnlySheet):
    kind = "treatment"
    title = "Treatments of lots"
    about = (
        "Hot water, surface disinfection, stratification, pesticides, as they were done. The label and the licence come first. "
        "A row that differs from the records completes that treatment, such as with its end."
    )
    edit_action = "treatment.enter"
    model = Treatment
    key = ("lot", "treatment_kind", "started_on")
    told_apart = key
    last_counts = True

    lot = SheetField("Lot", "lot", RecordCell(Lot), required=True, example="S19-MB-A-012")
    treatment_kind = SheetField("Treatment", "kind", ChoiceCell(choices.treatment_kinds), required=True, example="hot_water")
    started_on = SheetField("Started on", "started_on", PartDateCell(), required=True, example="2019-10-09")
    ended_on = SheetField("Ended on", "ended_on", PartDateCell(), example="2019-10-09")
    temperature_c = SheetField("Temperature (°C)", "temperature_c", NumberCell(), example=45)
    minutes = SheetField("Minutes", "minutes", NumberCell(0), example=20)
    thermometer = SheetField("Thermometer", "thermometer", TextCell(80), example="glass thermometer 3")
    product = SheetField("Product and dilution", "product", TextCell(160), example="")
    operator = SheetField("Done by", "operator", TextCell(80), required=True, example="A. Manager")
    licence = SheetField("Licence of the operator, where one is needed", "licence", TextCell(80), example="")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("lot")

    def add_row(self, values, actor, reason):
        return treatment_enter(actor=actor, kind=values.pop("treatment_kind"), **values)

    def correct_row(self, values, item, actor, reason):
        return self.add_row(self.merged(values, item), actor, reason)


class StorageSheet(AppendOnlySheet):
    kind = "storage"
    title = "Storage log"
    about = "Storage checks. What was discarded leaves the ledger here; leave the cell blank when the ledger has its own entry for it."
    edit_action = "storage.enter"
    model = StorageRecord
    key = ("lot", "on")
    told_apart = key
    changed_words = "A storage check does not change once it is entered. Enter what is new as another check of that day."

    lot = SheetField("Lot", "lot", RecordCell(Lot), required=True, example="S19-MB-A-012")
    on = SheetField("Checked on", "on", DateCell(), required=True, example="2020-02-10", was=("Looked at on",))
    nth = number_field()
    place = SheetField("Place", "place", TextCell(120), required=True, example="cold room 1")
    temperature_c = SheetField("Temperature (°C)", "temperature_c", NumberCell(-60, 60), example=3.5)
    feel = SheetField("Moisture by feel (dry/damp/wet)", "feel", ChoiceCell(choices.moisture_feels), example="damp")
    sprouted_percent = SheetField("Sprouted (%)", "sprouted_percent", NumberCell(0, 100), example=2)
    mouldy_percent = SheetField("Mouldy (%)", "mouldy_percent", NumberCell(0, 100), example=1)
    radicle_mm = SheetField("Radicle length (mm)", "radicle_mm", NumberCell(0), example=3)
    discarded = SheetField("Discarded (count)", "discarded", NumberCell(0, whole=True), example=4, was=("Thrown away (count)",))
    by = SheetField("Checked by", "by", TextCell(80), required=True, example="A. Manager", was=("Looked at by",))
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("lot", "entry__reversed_by")

    def current_value(self, record, name, field):
        if name == "discarded":
            return -record.entry.quantity if record.entry and not hasattr(record.entry, "reversed_by") else None
        return super().current_value(record, name, field)

    def differences(self, before, after):
        # a look at which nothing was thrown away may say so with 0
        return [name for name in super().differences(before, after) if name != "discarded" or (before.get(name) or 0) != after[name]]

    def dehydrate_discarded(self, record):
        value = self.current_value(record, "discarded", self.fields["discarded"])
        return "" if value is None else value

    def store_items(self, items, actor, reason, plan):
        # the newest check says where the lot is stored
        super().store_items(sorted(items, key=lambda item: item.values["on"]), actor, reason, plan)

    def add_row(self, values, actor, reason):
        return storage_enter(actor=actor, **values)
