"""Sheets of the movements: shipments and receipts, one row for each lot in the box, and leftovers."""

from collections import defaultdict

from django.core.exceptions import ValidationError

from registry import choices
from registry.imports.cells import ChoiceCell, DateCell, NumberCell, RecordCell, RecordsCell, SheetField, TextCell
from registry.imports.plan import NEW
from registry.imports.sheet import Sheet
from registry.models import Authorization, Lot, Partner, ReceiptLine, Shipment, ShipmentLine
from registry.services.movements import receipt_enter, shipment_dispatch, shipment_line_set
from registry.services.records import record_save

_HEAD = ("receiver", "planned_on", "carrier", "handling", "note")


class BoxSheet(Sheet):
    """A sheet whose rows of one box are stored together."""

    def box_of(self, item):
        raise NotImplementedError

    def store_items(self, items, actor, reason, plan):
        boxes = defaultdict(list)
        for item in items:
            boxes[self.box_of(item)].append(item)
        for box in boxes.values():
            self.attempt(plan, box[0], lambda box=box: self.save_box(box, actor, reason))


class ShipmentSheet(BoxSheet):
    kind = "shipment"
    title = "Shipments"
    about = "One row for each lot in the box. A row with a dispatch date dispatches the shipment and draws the lots down."
    edit_action = "shipment.dispatch"
    model = ShipmentLine
    key = ("code", "lot", "form")

    code = SheetField("Shipment", "shipment__code", TextCell(40), required=True, example="SH-2020-07")
    receiver = SheetField("Receiver (partner)", "shipment__receiver", RecordCell(Partner), required=True, example="PT-03")
    planned_on = SheetField("Planned on", "shipment__planned_on", DateCell(), example="2020-04-06")
    dispatched_on = SheetField("Dispatched on", "shipment__dispatched_on", DateCell(), example="2020-04-07")
    carrier = SheetField("Carrier", "shipment__carrier", TextCell(80), example="own van")
    handling = SheetField("Handling line", "shipment__handling", TextCell(200), example="KEEP 1-4 C, DO NOT FREEZE")
    authorizations = SheetField("Papers", "shipment__authorizations", RecordsCell(Authorization), example="EX-PERMIT-1")
    lot = SheetField("Lot", "lot", RecordCell(Lot), required=True, example="P20-MB-A-012")
    form = SheetField("Form", "form", ChoiceCell(choices.material_forms), required=True, example="bareroot")
    quantity = SheetField("Quantity (seeds or plants)", "quantity", NumberCell(1, whole=True), required=True, example=60)
    note = SheetField("Note", "shipment__note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("shipment__receiver", "lot").prefetch_related("shipment__authorizations")

    def export_rows(self, queryset):
        return self.stored_records().filter(shipment__in=queryset.values("pk")) if queryset.model is Shipment else queryset

    def box_of(self, item):
        return item.values["code"]

    def save_box(self, box, actor, reason):
        head = box[0].values
        shipment = Shipment.objects.filter(code=head["code"]).first()
        if shipment is None or shipment.state == choices.ShipmentState.DRAFT:
            shipment = shipment or Shipment(code=head["code"])
            for name in _HEAD:
                if name in head:
                    setattr(shipment, name, head[name])
            record_save(actor=actor, obj=shipment, many={name: head[name] for name in ("authorizations",) if name in head}, reason=reason)
        for item in box:
            values = item.values
            shipment_line_set(actor=actor, shipment=shipment, lot=values["lot"], form=values["form"], quantity=values["quantity"])
        if "dispatched_on" in head:
            shipment_dispatch(actor=actor, shipment=shipment, on=head["dispatched_on"])


class ReceiptSheet(BoxSheet):
    kind = "receipt"
    title = "Receipts"
    about = "What arrived, one row for each lot in the box. What is short is not typed: it is what is in no receipt."
    edit_action = "receipt.enter"
    model = ReceiptLine
    key = ("shipment", "received_on", "lot", "form")

    shipment = SheetField("Shipment", "receipt__shipment", RecordCell(Shipment), required=True, example="SH-2020-07")
    received_on = SheetField("Received on", "receipt__received_on", DateCell(), required=True, example="2020-04-09")
    received_by = SheetField("Received by", "receipt__received_by", TextCell(120), required=True, example="A. Receiver")
    box_condition = SheetField("Box condition", "receipt__box_condition", ChoiceCell(choices.box_conditions), required=True, example="good")
    temperature_c = SheetField("Temperature in the box (°C)", "receipt__temperature_c", NumberCell(-60, 60), example=3.5)
    lot = SheetField("Lot", "line__lot", RecordCell(Lot), required=True, example="P20-MB-A-012")
    form = SheetField("Form", "line__form", ChoiceCell(choices.material_forms), required=True, example="bareroot")
    sound = SheetField("Sound (count)", "sound", NumberCell(0, whole=True), required=True, example=59)
    sprouted = SheetField("Sprouted (count)", "sprouted", NumberCell(0, whole=True), example=0)
    spoiled = SheetField("Spoiled (count)", "spoiled", NumberCell(0, whole=True), example=1)
    note = SheetField("Note", "receipt__note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("receipt__shipment", "line__lot")

    def export_rows(self, queryset):
        return self.stored_records().filter(receipt__shipment__in=queryset.values("pk")) if queryset.model is Shipment else queryset

    def box_of(self, item):
        return item.values["shipment"].pk, item.values["received_on"]

    def save_box(self, box, actor, reason):
        if any(item.outcome != NEW for item in box):
            raise ValidationError("A receipt is the receiver's own record and does not change. Enter what came later as another receipt.")
        head, counts = box[0].values, {}
        shipment = head["shipment"]
        for item in box:
            values = item.values
            line = shipment.lines.filter(lot=values["lot"], form=values["form"]).first()
            if line is None:
                raise ValidationError(f"Lot {values['lot'].code} ({values['form']}) is not in shipment {shipment.code}.")
            counts[line] = (values["sound"], values.get("sprouted", 0), values.get("spoiled", 0))
        receipt_enter(
            actor=actor, shipment=shipment, received_on=head["received_on"], received_by=head["received_by"],
            box_condition=head["box_condition"], temperature_c=head.get("temperature_c"), note=head.get("note", ""), counts=counts,
        )  # fmt: skip
