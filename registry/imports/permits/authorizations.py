"""The sheets of papers: the papers, their states, their versions."""

from registry import choices
from registry.imports.gate.code_cells import declared_columns
from registry.imports.sheets.append_only_sheets import StoredOnce
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import Authorization, AuthorizationStateRecord, AuthorizationVersion, Partner
from registry.selectors.permits.as_of import last_version
from registry.selectors.permits.covers import COVERS, LIMITS
from registry.services.permits.authorizations import (
    BEFORE_ALL,
    authorization_save,
    authorization_state_enter,
    authorization_version_enter,
)


class AuthorizationSheet(Sheet):
    kind = "authorization"
    title = "Papers"
    about = (
        "Permits, certificates, licences, notifications, consents, agreements. "
        "What a paper means is for its issuer to say: check with the local authority."
    )
    edit_action = "authorization.edit"
    model = Authorization
    key = ("code",)

    code = SheetField("Our reference", "code", TextCell(40), required=True, example="EX-PERMIT-1")
    paper_type = SheetField("Type", "type", ChoiceCell(choices.authorization_types), required=True, example="permit")
    title_text = SheetField("Title", "title", TextCell(160), required=True, example="Example permit (invented, not law)")
    issuer = SheetField("Issuer", "issuer", TextCell(160), required=True, example="Example plant office")
    issuer_reference = SheetField("Issuer's reference", "issuer_reference", TextCell(80), example="XX-2020-001")
    holder_body = SheetField("Holder (body)", "holder_body", TextCell(160), example="")
    holder_person = SheetField("Holder (person)", "holder_person", TextCell(120), example="")
    covers = SheetField(
        "What it covers, as written", "covers", TextCell(), required=True, example="planting of test material, example only"
    )
    conditions = SheetField("Conditions, as written", "conditions", TextCell(), example="")
    cap_quantity = SheetField("Quantity cap", "cap_quantity", NumberCell(1, whole=True), example=500)
    cap_unit = SheetField("Unit of the cap", "cap_unit", TextCell(20), example="plants")
    starts_on = SheetField("Starts", "starts_on", DateCell(), example="2020-01-01")
    ends_on = SheetField("Ends", "ends_on", DateCell(), example="2024-12-31")
    state = SheetField("State", "state", ChoiceCell(choices.authorization_states), example="in_force")
    partner = SheetField("Partner to the agreement", "partner", RecordCell(Partner), example="", was=("Partner it is made with",))
    second_contact = SheetField("Second contact", "second_contact", TextCell(160), example="")
    transferable = SheetField(
        "Continues when the holder leaves (yes/no)",
        "transferable",
        YesNoCell(),
        example="no",
        was=("Goes on when the holder leaves (yes/no)",),
    )
    one_consignment = SheetField("Holds for one consignment (yes/no)", "one_consignment", YesNoCell(), example="no")
    vars().update(declared_columns(COVERS, Authorization))
    basis = SheetField("Basis", "basis", TextCell(), example="", was=("What it rests on",))
    verified_on = SheetField("Last checked with the issuer on", "verified_on", DateCell(), example="")
    verified_by = SheetField("Checked by", "verified_by", TextCell(80), example="")
    review_by = SheetField("Ask again by", "review_by", DateCell(), example="", was=("To be asked again by",))
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("partner").prefetch_related("versions")

    def export_rows(self, queryset):
        return queryset.select_related("partner").prefetch_related("versions")

    def export_field(self, field, instance, **kwargs):
        if field.attribute in LIMITS:
            return field.widget.render(_covered(instance, field.attribute))
        return super().export_field(field, instance, **kwargs)

    def current_value(self, record, name, field):
        return _covered(record, name) if name in LIMITS else super().current_value(record, name, field)

    def save_row(self, values, item, actor, reason):
        paper = item.current or self.model()
        limits = {name: values.pop(name) for name in LIMITS if name in values}
        for name, value in values.items():
            setattr(paper, self.sheet_fields()[name].attribute, value)
        return authorization_save(actor=actor, paper=paper, limits=limits, reason=reason)


class AuthorizationStateSheet(StoredOnce, Sheet):
    kind = "authorization_state"
    title = "States of papers"
    about = "From which day a paper was in which state, one row for each change, past ones too. The sheet of papers has the last one only."
    action = "authorization.view"
    edit_action = "authorization.edit"
    model = AuthorizationStateRecord
    key = ("authorization", "on", "state")
    changed_words = "A state that was entered does not change. Enter another from the day it began."

    authorization = SheetField("Paper", "authorization", RecordCell(Authorization), required=True, example="EX-PERMIT-1")
    on = SheetField("From", "on", DateCell(), required=True, example="2022-03-01")
    state = SheetField("State", "state", ChoiceCell(choices.authorization_states), required=True, example="suspended")
    reason = SheetField("Why", "reason", TextCell(200), example="letter of 1 March 2022")

    def stored_records(self):
        return super().stored_records().select_related("authorization")

    def add_row(self, values, actor, reason):
        return authorization_state_enter(actor=actor, paper=values.pop("authorization"), **{"reason": reason} | values)


class AuthorizationVersionSheet(Sheet):
    kind = "authorization_version"
    title = "Versions of papers"
    about = (
        "What a paper said from a day on: as issued, and each amendment. A row says all of it: a blank cell sets no limit. The sheet of "
        "papers has the last version only."
    )
    action = "authorization.view"
    edit_action = "authorization.edit"
    model = AuthorizationVersion
    key = ("authorization", "from_on")

    authorization = SheetField("Paper", "authorization", RecordCell(Authorization), required=True, example="EX-PERMIT-1")
    from_on = SheetField("Says so from", "from_on", DateCell(), required=True, example="2023-01-01")
    starts_on = SheetField("Starts", "starts_on", DateCell(), example="2020-01-01")
    ends_on = SheetField("Ends", "ends_on", DateCell(), example="2026-12-31")
    covers = SheetField(
        "What it covers, as written", "covers", TextCell(), required=True, example="planting of test material, example only"
    )
    conditions = SheetField("Conditions, as written", "conditions", TextCell(), example="")
    cap_quantity = SheetField("Quantity cap", "cap_quantity", NumberCell(1, whole=True), example=700)
    cap_unit = SheetField("Unit of the cap", "cap_unit", TextCell(20), example="plants")
    vars().update(declared_columns(COVERS, AuthorizationVersion))
    reason = SheetField("What was amended and why", "reason", TextCell(200), example="amendment 1, letter of 12 December 2022")

    def stored_records(self):
        """What is on file, by paper and day; of two versions of one day the later one holds."""
        return super().stored_records().select_related("authorization").order_by("authorization", "number")

    def current_value(self, record, name, field):
        if name == "from_on":
            return _begins(record)
        value = super().current_value(record, name, field)
        return value or None if name in LIMITS else value

    def export_field(self, field, instance, **kwargs):
        return field.widget.render(_begins(instance)) if field.attribute == "from_on" else super().export_field(field, instance, **kwargs)

    def save_row(self, values, item, actor, reason):
        paper, from_on, why = values.pop("authorization"), values.pop("from_on"), values.pop("reason", "")
        return authorization_version_enter(actor=actor, paper=paper, says=values, from_on=from_on, reason=why or reason)


def _begins(version):
    """From when a version holds; of the first one, which holds from the beginning, the first day it was in force."""
    return version.from_on or version.starts_on or BEFORE_ALL


def _covered(paper, name):
    """What the last version of a paper says in one of its lists; None where it sets no limit."""
    version = last_version(paper.versions.all())
    return (getattr(version, name) if version else []) or None
