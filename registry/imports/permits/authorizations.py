"""Sheet of the papers: permits, certificates, agreements."""

from registry import choices
from registry.imports.gate.rules import CodesCell, activity_codes, form_codes, place_codes
from registry.imports.sheets.cells import ChoiceCell, DateCell, NumberCell, RecordCell, SheetField, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import Authorization, Partner
from registry.services.permits.authorizations import LIMITS, authorization_save


class AuthorizationSheet(Sheet):
    kind = "authorization"
    title = "Papers"
    about = (
        "Permits, certificates, licences, notifications, consents, agreements. "
        "What they allow is what the paper says: check with the local authority."
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
    partner = SheetField("Partner it is made with", "partner", RecordCell(Partner), example="")
    second_contact = SheetField("Second contact", "second_contact", TextCell(160), example="")
    transferable = SheetField("Goes on when the holder leaves (yes/no)", "transferable", YesNoCell(), example="no")
    activities = SheetField("Covers activities", "activities", activity_codes(), example="dispatch; establish")
    classes = SheetField("Covers material classes", "classes", CodesCell(), example="")
    forms = SheetField("Covers forms", "forms", form_codes(), example="seed; bareroot")
    taxa = SheetField("Covers species or genera", "taxa", CodesCell(), example="Juglans")
    lots = SheetField("Covers lots", "lots", CodesCell(), example="")
    origins = SheetField("Covers from places", "origins", place_codes(), example="")
    destinations = SheetField("Covers to places", "destinations", place_codes(), example="US-VT")
    sites = SheetField("Covers sites", "sites", CodesCell(), example="")
    under = SheetField("Issued under the rules", "under", CodesCell(), example="")
    basis = SheetField("What it rests on", "basis", TextCell(), example="")
    verified_on = SheetField("Last checked with the issuer on", "verified_on", DateCell(), example="")
    verified_by = SheetField("Checked by", "verified_by", TextCell(80), example="")
    review_by = SheetField("To be asked again by", "review_by", DateCell(), example="")
    note = SheetField("Note", "note", TextCell(), example="")

    def stored_records(self):
        return super().stored_records().select_related("partner").prefetch_related("versions")

    def current_value(self, record, name, field):
        if name in LIMITS:
            versions = list(record.versions.all())
            return (getattr(versions[-1], name) if versions else []) or None
        return super().current_value(record, name, field)

    def save_row(self, values, item, actor, reason):
        paper = item.current or self.model()
        limits = {name: values.pop(name) for name in LIMITS if name in values}
        for name, value in values.items():
            setattr(paper, self.sheet_fields()[name].attribute, value)
        return authorization_save(actor=actor, paper=paper, limits=limits, reason=reason)
