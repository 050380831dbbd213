"""Sheets of what landowners sign: the wordings, the signatures."""

from django.core.exceptions import ValidationError

from registry import choices
from registry.imports.sheets.append_only_sheets import StoredOnce
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import ChoiceCell, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import AgreementSignature, AgreementText, Authorization
from registry.services.land.agreements import agreement_sign, agreement_text_add


class AgreementTextSheet(StoredOnce, Sheet):
    kind = "agreement_text"
    title = "Wordings of agreements"
    about = "What landowners sign, by title and version. A changed wording is a new version."
    action = "authorization.view"
    edit_action = "authorization.edit"
    model = AgreementText
    key = ("title_text", "version")
    changed_words = "A changed wording is a new version: give it a version of its own."

    title_text = SheetField("Title", "title", TextCell(160), required=True, example="Example planting agreement (invented, not law)")
    version = SheetField("Version", "version", TextCell(20), required=True, example="2020")
    body = SheetField("Wording", "body", TextCell(), required=True, example="The programme plants and measures trees on the parcel.")
    is_example = SheetField("Example, not law (yes/no)", "is_example", YesNoCell(), example="yes")

    def add_row(self, values, actor, reason):
        values["title"] = values.pop("title_text")
        return agreement_text_add(actor=actor, **values)


class AgreementSignatureSheet(StoredOnce, Sheet):
    kind = "agreement_signature"
    title = "Signatures of agreements"
    about = "Who signed which wording of a landowner agreement, when and how."
    action = "authorization.view"
    edit_action = "authorization.edit"
    model = AgreementSignature
    key = ("authorization", "text_title", "text_version", "signed_by")
    changed_words = "A signature that was entered cannot be changed."

    authorization = SheetField("Paper", "authorization", RecordCell(Authorization), required=True, example="EX-AGREEMENT-1")
    text_title = SheetField(
        "Title of the wording", "text__title", TextCell(160), required=True, example="Example planting agreement (invented, not law)"
    )
    text_version = SheetField("Version of the wording", "text__version", TextCell(20), required=True, example="2020")
    signed_by = SheetField("Signed by", "signed_by", TextCell(120), required=True, example="A. Receiver")
    signed_on = SheetField("Signed on", "signed_on", DateCell(), required=True, example="2020-01-15")
    how = SheetField("How", "how", ChoiceCell(choices.signed_hows), example="paper")

    def stored_records(self):
        return super().stored_records().select_related("authorization", "text")

    def add_row(self, values, actor, reason):
        title, version = values.pop("text_title"), values.pop("text_version")
        text = AgreementText.objects.filter(title=title, version=version).first()
        if text is None:
            raise ValidationError({"text_version": f"Version {version} of “{title}” is not on file. Enter the wording first."})
        return agreement_sign(actor=actor, text=text, reason=reason, **values)
