"""Sheet of the leftovers: what was received and not planted."""

from django.core.exceptions import ValidationError

from plantings.services.supply import leftover_enter
from registry import choices
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell
from registry.imports.sheets.sheet import Sheet
from registry.models import Leftover, Lot, Shipment


class LeftoverSheet(Sheet):
    kind = "leftover"
    title = "Leftovers"
    about = "What was received and not planted, and what became of it. What was returned is back in the lot's ledger."
    edit_action = "leftover.enter"
    model = Leftover
    key = ("shipment", "lot", "form", "outcome", "on")

    shipment = SheetField("Shipment", "line__shipment", RecordCell(Shipment), required=True, example="SH-2020-07")
    lot = SheetField("Lot", "line__lot", RecordCell(Lot), required=True, example="P20-MB-A-012")
    form = SheetField("Form", "line__form", ChoiceCell(choices.material_forms), required=True, example="bareroot")
    outcome = SheetField(
        "Outcome", "outcome", ChoiceCell(choices.leftover_outcomes), required=True, example="returned", was=("What became of it",)
    )
    on = SheetField("Date", "on", DateCell(), required=True, example="2020-04-21")
    count = SheetField("Count (seeds or plants)", "count", NumberCell(1, whole=True), required=True, example=3)
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().in_effect().select_related("line__shipment", "line__lot")

    def export_rows(self, queryset):
        return self.stored_records().filter(line__shipment__in=queryset.values("pk")) if queryset.model is Shipment else queryset

    def save_row(self, values, item, actor, reason):
        if item.current:
            raise ValidationError("A leftover on file does not change. Take it back on the page of the shipment, then enter the right one.")
        shipment, lot, form = values.pop("shipment"), values.pop("lot"), values.pop("form")
        line = shipment.lines.filter(lot=lot, form=form).first()
        if line is None:
            raise ValidationError(f"Lot {lot.code} ({form}) is not in shipment {shipment.code}.")
        return leftover_enter(actor=actor, line=line, **values)
