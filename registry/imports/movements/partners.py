"""Sheets of partners and people."""

from registry import choices
from registry.imports.gate.code_cells import RegionCell
from registry.imports.sheets.cells import ChoiceCell, DateCell, RecordCell, SheetField, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import Partner, Person
from registry.services.people.people import person_save


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
    consent_on = SheetField("Consent to keep contacts on", "consent_on", DateCell(), example="2020-01-15")
    map_privacy = SheetField("Map privacy", "map_privacy", ChoiceCell(choices.map_privacies), example="general")
    note = SheetField("Note", "note", TextCell(), example="")


class PersonSheet(Sheet):
    kind = "person"
    title = "People"
    about = "Accounts, one role each. No password is ever in a sheet: everybody sets their own by the mailed link."
    action = "person.edit"
    edit_action = "person.edit"
    model = Person
    key = ("username",)

    username = SheetField(
        "Sign-in name",
        "username",
        TextCell(150, r"[\w.@+-]+", "may hold letters, digits and . @ + - _ only"),
        required=True,
        example="a.receiver",
    )
    first_name = SheetField("First name", "first_name", TextCell(150), example="Alex")
    last_name = SheetField("Last name", "last_name", TextCell(150), example="Receiver")
    email = SheetField("E-mail", "email", TextCell(254), required=True, example="a.receiver@example.org")
    phone = SheetField("Phone", "phone", TextCell(40), example="")
    role = SheetField("Role", "role", ChoiceCell(choices.role_choices), required=True, example="landowner")
    partner = SheetField("Partner", "partner", RecordCell(Partner), example="PT-03")
    is_active = SheetField("Active (yes/no)", "is_active", YesNoCell(), example="yes")
    left_on = SheetField("Left on", "left_on", DateCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("partner")

    def save_record(self, record, many, actor, reason):
        return person_save(actor=actor, person=record)
