"""The sections of a permit file about what was sent: each line of a shipment, and what its receiver reported."""

from plantings.views.permit_file.material_sections import number_column
from registry.calc.shared.screen import amount_words
from registry.choices import MaterialForm, ShipmentState
from registry.prints.permit_file import FileColumn, FileSection

_FORMS, _STATES = dict(MaterialForm.choices), dict(ShipmentState.choices)


def shipments_section(file):
    lines = file.items.lines
    rows = tuple(
        (line.shipment, _STATES.get(line.state, line.state), line.dispatched_on, line.receiver, line.region, line.lot,
         _FORMS.get(line.form, line.form), line.unit, line.quantity, line.received if line.arrived else None,
         line.spoiled if line.arrived else None,
         line.short if line.arrived else None, line.planted, line.returned, line.destroyed, line.held, _left_words(line))
        for line in lines
    )  # fmt: skip
    columns = (
        FileColumn("Shipment", 1.4, "code"), FileColumn("State", 1.1), FileColumn("Left on", 1.1, "date"), FileColumn("To", 1.6),
        FileColumn("Region", only="file"), FileColumn("Lot", 1.5, "code"), FileColumn("Form", only="file"), FileColumn("Unit", 0.8),
        number_column("In it", 0.6), number_column("Received", 1), number_column("Spoiled", only="file"), number_column("Short"),
        number_column("Planted", 0.8),
        number_column("Returned", only="file"), number_column("Destroyed", only="file"), number_column("Held", only="file"),
        FileColumn("Spoiled and left over", 1.6, only="read"),
    )  # fmt: skip
    return FileSection(
        "shipments", "Shipments, line by line", columns, rows,
        note=f"{amount_words(file.shipments, 'shipments')}. “Received” is blank until there is a receipt.",
        empty="No shipments under this paper.", route="shipment_detail", keys=tuple(line.shipment_pk for line in lines),
    )  # fmt: skip


def _left_words(line):
    parts = (
        ("spoiled", line.spoiled),
        ("returned", line.returned),
        ("destroyed", line.destroyed),
        ("held", line.held),
        ("unreported", line.unreported),
    )
    return ", ".join(f"{word} {count:,}" for word, count in parts if count)


def receipts_section(file):
    rows = tuple(
        (receipt.shipment.code, receipt.received_on, receipt.received_by, receipt.get_box_condition_display(),
         _degrees(receipt.temperature_c),
         receipt.sound or 0, receipt.sprouted or 0, receipt.spoiled or 0, str(receipt.entered_by), receipt.note)
        for receipt in file.receipts
    )  # fmt: skip
    return FileSection(
        "receipts", "Receipts",
        (FileColumn("Shipment", 1.4, "code"), FileColumn("Received on", 1.1, "date"), FileColumn("By", 1.4), FileColumn("Box", 0.9),
         FileColumn("°C", 0.5), number_column("Sound"), number_column("Sprouted", 0.8), number_column("Spoiled"),
         FileColumn("Entered by", 1.2),
         FileColumn("Note", 1.6)),
        rows, note="For the entire shipment, with all its lots.", empty="No receipts.", route="receipt_detail",
        keys=tuple(receipt.pk for receipt in file.receipts),
    )  # fmt: skip


def _degrees(value):
    return "" if value is None else f"{value:g}"
