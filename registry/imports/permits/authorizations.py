"""The sheet of papers."""

from registry import choices
from registry.imports.gate.code_cells import declared_columns
from registry.imports.sheets.cells import ChoiceCell, DateCell, NumberCell, RecordCell, SheetField, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import Authorization, Partner
from registry.selectors.permits.covers import COVERS, LIMITS
from registry.services.permits.authorizations import authorization_save


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


def _covered(paper, name):
    """What the last version of a paper says in one of its lists; None where it sets no limit."""
    versions = list(paper.versions.all())
    return (getattr(versions[-1], name) if versions else []) or None
