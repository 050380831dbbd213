"""Sheet of the partners."""

from registry import choices
from registry.imports.gate.code_cells import RegionCell
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.values import ChoiceCell, TextCell
from registry.imports.sheets.sheet import Sheet
from registry.models import Partner


class PartnerSheet(Sheet):
    kind = "partner"
    title = "Partners"
    about = "Landowners, nurseries, agencies and schools."
    edit_action = "partner.edit"
    model = Partner
    key = ("code",)

    code = SheetField("Partner", "code", TextCell(40), required=True, example="PT-03")
    name = SheetField("Name", "name", TextCell(120), required=True, example="Example Wood Trust")
    partner_kind = SheetField("Kind", "kind", ChoiceCell(choices.partner_kinds), required=True, example="landowner")
    region = SheetField("Country or subdivision (ISO 3166)", "region", RegionCell(), example="US-VT")
    county = SheetField("County", "county", TextCell(60), example="")
    contact_name = SheetField("Contact", "contact_name", TextCell(120), example="A. Receiver")
    email = SheetField("E-mail", "email", TextCell(254), example="a.receiver@example.org")
    phone = SheetField("Phone", "phone", TextCell(40), example="555-0100")
    address = SheetField("Address", "address", TextCell(), example="")
    consent_on = SheetField(
        "Consent to store contacts given on", "consent_on", DateCell(), example="2020-01-15", was=("Consent to keep contacts on",)
    )
    map_privacy = SheetField("Map privacy", "map_privacy", ChoiceCell(choices.map_privacies), example="general")
    note = SheetField("Note", "note", TextCell(), example="")
