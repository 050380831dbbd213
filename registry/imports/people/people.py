"""Sheet of the people who have an account."""

from registry import choices
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import Partner, Person
from registry.services.people.people import person_save


class PersonSheet(Sheet):
    kind = "person"
    title = "People"
    about = "Accounts, one role each. A sheet never holds a password: each person sets their own with the mailed link."
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
    first_name = SheetField("First name", "first_name", TextCell(150), required=True, example="Alex")
    last_name = SheetField("Last name", "last_name", TextCell(150), required=True, example="Receiver")
    email = SheetField("E-mail", "email", TextCell(254), required=True, example="a.receiver@example.org")
    phone = SheetField("Phone", "phone", TextCell(40), example="")
    role = SheetField("Role", "role", ChoiceCell(choices.role_choices), required=True, example="landowner")
    partner = SheetField("Partner", "partner", RecordCell(Partner), example="PT-03")
    is_active = SheetField("Active (yes/no)", "is_active", YesNoCell(), example="yes")
    left_on = SheetField("Left on", "left_on", DateCell(), example="")
    language = SheetField("Language", "language", ChoiceCell(choices.language_choices), example="fr")

    def stored_records(self):
        return super().stored_records().select_related("partner")

    def save_record(self, record, many, actor, reason):
        return person_save(actor=actor, person=record)
