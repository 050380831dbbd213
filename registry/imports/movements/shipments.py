"""Sheets of the movements: shipments and receipts, one row for each lot in the box."""

from collections import defaultdict

from django.core.exceptions import ValidationError

from registry import choices
from registry.imports.gate.code_cells import CodesCell, RegionCell
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import RecordCell, RecordsCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell
from registry.imports.sheets.plan import NEW, Problem
from registry.imports.sheets.sheet import Sheet, comparable
from registry.models import Authorization, Lot, Partner, ReceiptLine, Shipment, ShipmentLine
from registry.selectors.gate.code_lists import PAPER_CODES, WAY_CODES
from registry.services.gate.determinations import GateStopped
from registry.services.movements.shipments import receipt_enter, shipment_dispatch, shipment_line_set
from registry.services.shared.records import record_save

_STOPPED = (
    "A sheet cannot override the stop. Get what is missing, or leave “Dispatched on” blank to load it as a draft, and dispatch it on its "
    "page, where the lead can decide."
)


class BoxSheet(Sheet):
    """A sheet whose rows of one box are stored together. `head` names what a row says of the box."""

    head = ()
    aside_refused = "The rows of one box are stored together: without a wrong one the box would be short"

    def box_of(self, item):
        raise NotImplementedError

    def check_items(self, plan):
        said = defaultdict(dict)
        for item in plan.items:
            for name in self.head:
                if name not in item.values:
                    continue
                first = said[self.box_of(item)].setdefault(name, item)
                if comparable(first.values[name]) != comparable(item.values[name]):
                    message = f"contradicts row {first.row}, which says '{first.values[name]}' of the same box; remove the wrong one"
                    self._add_problem(plan, Problem(item.row, self.header(name), str(item.values[name]), message))

    def head_of(self, box):
        """What the rows of one box say of it; a row that leaves a cell blank says nothing."""
        return {name: item.values[name] for item in box for name in self.head if name in item.values}

    def store_items(self, items, actor, reason, plan):
        boxes = defaultdict(list)
        for item in items:
            boxes[self.box_of(item)].append(item)
        for box in boxes.values():
            self.attempt(plan, box[0], lambda box=box: self.save_box(box, actor, reason))


class ShipmentSheet(BoxSheet):
    kind = "shipment"
    title = "Shipments"
    about = "One row for each lot in the box. A row with a dispatch date dispatches the shipment and lowers the balances of its lots."
    edit_action = "shipment.dispatch"
    model = ShipmentLine
    key = ("code", "lot", "form")
    head = (
        "receiver", "planned_on", "arrives_on", "dispatched_on", "receiving_person", "site_code", "origin_region", "transit_regions",
        "done_by", "carrier", "handling", "authorizations", "note",
    )  # fmt: skip

    code = SheetField("Shipment", "shipment__code", TextCell(40), required=True, example="SH-2020-07")
    receiver = SheetField("Receiver (partner)", "shipment__receiver", RecordCell(Partner), required=True, example="PT-03")
    planned_on = SheetField("Planned on", "shipment__planned_on", DateCell(), example="2020-04-06")
    arrives_on = SheetField("Expected to arrive on", "shipment__arrives_on", DateCell(), example="2020-04-08")
    dispatched_on = SheetField("Dispatched on", "shipment__dispatched_on", DateCell(), example="2020-04-07")
    receiving_person = SheetField(
        "Person who receives it", "shipment__receiving_person", TextCell(120), example="A. Receiver", was=("Person who takes it in",)
    )
    site_code = SheetField("For the site", "shipment__site_code", TextCell(40), example="ST-04")
    origin_region = SheetField("Leaves from (ISO 3166)", "shipment__origin_region", RegionCell(WAY_CODES), example="US-VT")
    transit_regions = SheetField("By way of (ISO 3166)", "shipment__transit_regions", CodesCell(WAY_CODES), example="")
    done_by = SheetField("Who sends it", "shipment__done_by", CodesCell(), example="")
    carrier = SheetField("Carrier", "shipment__carrier", TextCell(80), example="own van")
    handling = SheetField("Handling line", "shipment__handling", TextCell(200), example="KEEP 1-4 C, DO NOT FREEZE")
    authorizations = SheetField("Papers", "shipment__authorizations", RecordsCell(Authorization), example="EX-PERMIT-1")
    lot = SheetField("Lot", "lot", RecordCell(Lot), required=True, example="P20-MB-A-012")
    form = SheetField("Form", "form", ChoiceCell(choices.material_forms), required=True, example="bareroot")
    quantity = SheetField("Quantity (seeds or plants)", "quantity", NumberCell(1, whole=True), required=True, example=60)
    draw_on = SheetField("Goes under the capped papers", "draw_on", CodesCell(PAPER_CODES), example="")
    note = SheetField("Note", "shipment__note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("shipment__receiver", "lot").prefetch_related("shipment__authorizations")

    def export_rows(self, queryset):
        return self.stored_records().filter(shipment__in=queryset.values("pk")) if queryset.model is Shipment else queryset

    def box_of(self, item):
        return item.values["code"]

    def save_box(self, box, actor, reason):
        head, code = self.head_of(box), box[0].values["code"]
        dispatched_on = head.pop("dispatched_on", None)
        many = {"authorizations": head.pop("authorizations")} if "authorizations" in head else {}
        shipment = Shipment.objects.filter(code=code).first()
        if shipment is None or shipment.state == choices.ShipmentState.DRAFT:
            shipment = shipment or Shipment(code=code)
            for name, value in head.items():
                setattr(shipment, name, value)
            record_save(actor=actor, obj=shipment, many=many, reason=reason)
        for item in box:
            values = item.values
            said = {name: values[name] for name in ("lot", "form", "quantity", "draw_on") if name in values}
            if "quantity" not in said:  # only a line on file may leave it out, and keeps its own
                said["quantity"] = item.current.quantity
            shipment_line_set(actor=actor, shipment=shipment, **said)
        if dispatched_on:
            self._dispatch(shipment, dispatched_on, actor)

    @staticmethod
    def _dispatch(shipment, on, actor):
        try:
            shipment_dispatch(actor=actor, shipment=shipment, on=on, recorded=True)
        except GateStopped as stop:
            _asked, *why = stop.message_dict["override_reason"]
            raise ValidationError({"dispatched_on": f"Shipment {shipment.code} is stopped. {' '.join(why)} {_STOPPED}"}) from stop


class ReceiptSheet(BoxSheet):
    kind = "receipt"
    title = "Receipts"
    about = (
        "What arrived, one row for each lot in the box; write 0 where none were sprouted or spoiled. "
        "Do not enter what is short: it is calculated."
    )
    edit_action = "receipt.enter"
    model = ReceiptLine
    key = ("shipment", "received_on", "lot", "form")
    head = ("received_by", "box_condition", "temperature_c", "note")

    shipment = SheetField("Shipment", "receipt__shipment", RecordCell(Shipment), required=True, example="SH-2020-07")
    received_on = SheetField("Received on", "receipt__received_on", DateCell(), required=True, example="2020-04-09")
    received_by = SheetField("Received by", "receipt__received_by", TextCell(120), required=True, example="A. Receiver")
    box_condition = SheetField("Box condition", "receipt__box_condition", ChoiceCell(choices.box_conditions), required=True, example="good")
    temperature_c = SheetField("Temperature in the box (°C)", "receipt__temperature_c", NumberCell(-60, 60), example=3.5)
    lot = SheetField("Lot", "line__lot", RecordCell(Lot), required=True, example="P20-MB-A-012")
    form = SheetField("Form", "line__form", ChoiceCell(choices.material_forms), required=True, example="bareroot")
    sound = SheetField("Sound (count)", "sound", NumberCell(0, whole=True), required=True, example=59)
    sprouted = SheetField("Sprouted (count)", "sprouted", NumberCell(0, whole=True), required=True, example=0)
    spoiled = SheetField("Spoiled (count)", "spoiled", NumberCell(0, whole=True), required=True, example=1)
    note = SheetField("Note", "receipt__note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().in_effect().select_related("receipt__shipment", "line__lot")

    def export_rows(self, queryset):
        return self.stored_records().filter(receipt__shipment__in=queryset.values("pk")) if queryset.model is Shipment else queryset

    def box_of(self, item):
        return item.values["shipment"].pk, item.values["received_on"]

    def save_box(self, box, actor, reason):
        if any(item.outcome != NEW for item in box):
            raise ValidationError("A receipt is the receiver's own record and does not change. Enter what came later as another receipt.")
        shipment, received_on, counts = box[0].values["shipment"], box[0].values["received_on"], {}
        for item in box:
            values = item.values
            line = shipment.lines.filter(lot=values["lot"], form=values["form"]).first()
            if line is None:
                raise ValidationError(f"Lot {values['lot'].code} ({values['form']}) is not in shipment {shipment.code}.")
            counts[line] = (values["sound"], values["sprouted"], values["spoiled"])
        receipt_enter(actor=actor, shipment=shipment, received_on=received_on, counts=counts, **self.head_of(box))
