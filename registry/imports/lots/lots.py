"""Sheets of the lots: the lots, their ledger, the components of bulks."""

from django.core.exceptions import ValidationError

from registry import choices
from registry.calc.sheets.key_ranges import in_ranges
from registry.imports.pedigree.generations import GenerationMixin
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, GenerationCell, NumberCell, TextCell
from registry.imports.sheets.plan import CHANGED, Problem
from registry.imports.sheets.sheet import Sheet
from registry.models import LedgerEntry, Lot, LotComponent, PedigreeTree, PollenPool, Taxon
from registry.selectors.loads.loads import withdrawn_ranges
from registry.services.lots.ledger import ledger_enter, lot_bulk
from registry.services.pedigree.parents import lot_refuse_loop, lot_save

_NEVER_CHANGES = "differs from the stored entry; entries never change. Reverse it in the ledger and enter the right one under a new number"

_WITHDRAWN = (
    "is the number of an entry that was reversed when its load was withdrawn, and a number is never used twice. Give this row a new "
    "number, such as {}-2."
)
_CLOSED = " The lot was closed then: open it again on its page first."


class LotSheet(GenerationMixin, Sheet):
    kind = "lot"
    title = "Lots"
    about = "Seed and stock lots. Each has one origin: harvest (mother and year), sown (parent lot), bulk, or outside."
    edit_action = "lot.edit"
    model = Lot
    key = ("code",)

    code = SheetField("Lot", "code", TextCell(40), required=True, example="S19-MB-A-012")
    lot_kind = SheetField("Kind (seed/stock)", "kind", ChoiceCell(choices.lot_kinds), required=True, example="seed")
    taxon = SheetField("Binomial", "taxon", RecordCell(Taxon, by="name"), required=True, example="Juglans cinerea")
    origin = SheetField("Origin", "origin", ChoiceCell(choices.lot_origins), required=True, example="harvest")
    year = SheetField("Ripening or sowing year", "year", NumberCell(1900, 2200, whole=True), example=2019)
    mother = SheetField("Mother", "mother", RecordCell(PedigreeTree), example="MB-A-012")
    father = SheetField("Father", "father", RecordCell(PedigreeTree), example="")
    pollen_pool = SheetField("Pollen pool", "pollen_pool", RecordCell(PollenPool), example="POOL-A-2019")
    cross_type = SheetField("Cross type", "cross_type", ChoiceCell(choices.cross_types), example="open")
    generation = SheetField("Generation", "generation", GenerationCell(), example="B3F3")
    orchard_state = SheetField("Orchard state at flowering", "orchard_state", TextCell(120), example="before roguing of 2020")
    parent = SheetField("Parent lot", "parent", RecordCell(Lot, same_sheet=True), example="")
    outside_origin = SheetField("Outside origin", "outside_origin", TextCell(200), example="")
    declared_source = SheetField("Source of resistance as declared", "declared_source", TextCell(40), example="")
    declared_line = SheetField("Recurrent line as declared", "declared_line", TextCell(40), example="")
    storage_place = SheetField("Storage place", "storage_place", TextCell(120), example="cold room 1")
    use_by = SheetField("Use by", "use_by", DateCell(), example="2020-06-30")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("taxon", "mother", "father", "pollen_pool", "parent")

    def store_items(self, items, actor, reason, plan):
        super().store_items(items, actor, reason, plan)
        if plan.problems:
            return
        # rows are stored one by one, so only at the end can a loop be told
        moved = {item.key[0]: item for item in items if item.outcome == CHANGED and "parent" in item.changes}
        for lot in self.stored_records().filter(code__in=moved):
            self.attempt(plan, moved[lot.code], lambda lot=lot: lot_refuse_loop(lot))

    def save_record(self, record, many, actor, reason):
        return lot_save(actor=actor, lot=record, many=many, reason=reason, loops_later=True)


class LedgerSheet(Sheet):
    kind = "ledger"
    title = "Ledger entries"
    about = (
        "What came in and went out of a lot by hand. Shipments, plantings and bulking write their own lines. "
        "Your entry number tells entries apart."
    )
    edit_action = "ledger.enter"
    model = LedgerEntry
    key = ("lot", "reference")

    lot = SheetField("Lot", "lot", RecordCell(Lot), required=True, example="S19-MB-A-012")
    reference = SheetField("Entry number", "reference", TextCell(60), required=True, example="2019-14")
    entry = SheetField(
        "Entry", "kind", ChoiceCell(lambda: [pair for pair in choices.ledger_kinds() if pair[0] in choices.LEDGER_BY_HAND]),
        required=True, example="harvested",
    )  # fmt: skip
    quantity = SheetField("Quantity (seeds or plants, without sign)", "quantity", NumberCell(whole=True), required=True, example=412)
    on = SheetField("Date", "on", DateCell(), required=True, example="2019-10-08")
    mass_g = SheetField("Mass (g)", "mass_g", NumberCell(0), example=5150)
    counterpart = SheetField("Other lot", "counterpart", RecordCell(Lot), example="")
    reason = SheetField("Reason", "reason", TextCell(200), example="")

    def current_value(self, record, name, field):
        value = super().current_value(record, name, field)
        return abs(value) if name == "quantity" and record.kind != choices.LedgerKind.COUNTED else value

    def stored_records(self):
        return super().stored_records().select_related("lot", "counterpart")

    def get_queryset(self):
        return self.stored_records().exclude(reference="")

    def dehydrate_quantity(self, record):
        return self.current_value(record, "quantity", self.fields["quantity"])

    def check_items(self, plan):
        withdrawn = withdrawn_ranges(LedgerEntry)
        for item in plan.items:
            if item.current and in_ranges(withdrawn, item.current.pk):
                said = _WITHDRAWN.format(item.values["reference"]) + (_CLOSED if item.current.lot.closed_on else "")
                self._add_problem(plan, Problem(item.row, self.header("reference"), item.values["reference"], said))
            elif item.outcome == CHANGED:
                self._add_problem(plan, Problem(item.row, "", "", _NEVER_CHANGES))
            elif item.values.get("quantity") == 0:
                message = "is 0; enter how many, or leave the row out"
                self._add_problem(plan, Problem(item.row, self.header("quantity"), "0", message))

    def store_items(self, items, actor, reason, plan):
        # oldest first: a loss may be written above the gain that covers it
        super().store_items(sorted(items, key=lambda item: (item.values["on"], item.values["quantity"] < 0, item.row)), actor, reason, plan)

    def save_row(self, values, item, actor, reason):
        return ledger_enter(actor=actor, lot=values.pop("lot"), kind=values.pop("entry"), **values)


class LotComponentSheet(Sheet):
    kind = "lot_component"
    title = "Components of bulk lots"
    about = "Which lots went into a bulk, and how many seeds or plants of each."
    edit_action = "ledger.enter"
    model = LotComponent
    key = ("bulk", "component")

    bulk = SheetField("Bulk lot", "bulk", RecordCell(Lot), required=True, example="BULK-2019")
    component = SheetField("Component lot", "component", RecordCell(Lot), required=True, example="S19-MB-A-012")
    count = SheetField("Count (seeds or plants)", "count", NumberCell(1, whole=True), required=True, example=60)
    bulked_on = SheetField("Bulked on", "bulked_on", DateCell(), required=True, example="2019-10-20")
    reason = SheetField("Reason", "reason", TextCell(200), example="")

    def stored_records(self):
        return super().stored_records().select_related("bulk", "component")

    def save_row(self, values, item, actor, reason):
        if item.current:
            raise ValidationError(
                "A sheet cannot change a component that was mixed in. On the page of the bulk lot you can take it out or mix in more, "
                "as long as nothing has left the bulk."
            )
        return lot_bulk(
            actor=actor,
            bulk=values["bulk"],
            component=values["component"],
            count=values["count"],
            on=values["bulked_on"],
            reason=values.get("reason", ""),
        )
