"""Sheets of the cautions and of what landowners sign."""

import re

from django.core.exceptions import ValidationError

from registry import choices
from registry.imports.gate.code_cells import CodesCell
from registry.imports.sheets.cells import CellError, ChoiceCell, DateCell, NumberCell, RecordCell, SheetField, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import AgreementSignature, AgreementText, Authorization, CautionText
from registry.services.land.agreements import agreement_sign, agreement_text_add
from registry.services.safety.cautions import caution_add


class MonthsCell(CodesCell):
    """Numbers of months in one cell, with a semicolon between them."""

    def parser(self, options):
        codes = super().parser(options)

        def parse(value):
            months = []
            for word in codes(value):
                if not re.fullmatch("[0-9]{1,2}", word) or not 1 <= int(word) <= 12:
                    raise CellError(f"names “{word}”, which is no month; write numbers from 1 to 12 with a semicolon between them")
                months.append(int(word))
            return sorted(months)

        return parse

    def render(self, value, obj=None, **kwargs):
        return "; ".join(str(month) for month in value or [])


class _WrittenOnce:
    """A row that is in the book stays as it is: what it says was read or signed by somebody."""

    changed_words = ""

    def save_row(self, values, item, actor, reason):
        if item.current:
            raise ValidationError({next(iter(item.changes)): f"differs from the book. {self.changed_words}"})
        return self.add_row(values, actor, reason)


class CautionSheet(_WrittenOnce, Sheet):
    kind = "caution"
    title = "Cautions"
    about = "Usual cautions by task, season and site, each version in a row of its own. None of them says that something is allowed."
    action = "caution.view"
    edit_action = "caution.edit"
    model = CautionText
    key = ("code", "version")
    changed_words = "A changed wording is a new version: give it the next number."

    code = SheetField("Caution", "code", TextCell(40), required=True, example="TICKS")
    version = SheetField("Version", "version", NumberCell(1, 1000, whole=True), required=True, example=1)
    task = SheetField("Task", "task", ChoiceCell(choices.caution_tasks), required=True, example="any")
    hazard = SheetField("Hazard", "hazard", TextCell(80), required=True, example="Ticks")
    text = SheetField("Usual caution", "text", TextCell(), required=True, example="Long light clothes. Check all over the same day.")
    decider = SheetField("Decides locally", "decider", TextCell(120), required=True, example="the person, their doctor")
    months = SheetField("Months (numbers)", "months", MonthsCell(), example="4; 5; 6; 7; 8; 9; 10")
    site_codes = SheetField("Sites", "site_codes", CodesCell(), example="")
    source = SheetField("Source", "source", TextCell(300), required=True, example="common practice, no source")
    in_use_from = SheetField("In use from", "in_use_from", DateCell(), required=True, example="2026-01-01")
    withdrawn = SheetField("Withdrawn by this version (yes/no)", "withdrawn", YesNoCell(), example="no")

    def current_value(self, record, name, field):
        value = super().current_value(record, name, field)
        return None if value == [] else value

    def add_row(self, values, actor, reason):
        return caution_add(actor=actor, reason=reason, **values)

    def store_items(self, items, actor, reason, plan):
        # versions of one caution build on each other, in whatever order the sheet has them
        super().store_items(sorted(items, key=lambda item: item.key), actor, reason, plan)


class AgreementTextSheet(_WrittenOnce, Sheet):
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


class AgreementSignatureSheet(_WrittenOnce, Sheet):
    kind = "agreement_signature"
    title = "Signatures of agreements"
    about = "Who signed which wording of a landowner agreement, when and how."
    action = "authorization.view"
    edit_action = "authorization.edit"
    model = AgreementSignature
    key = ("authorization", "text_title", "text_version", "signed_by")
    changed_words = "A signature, once entered, stays as it is."

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
            raise ValidationError({"text_version": f"There is no version {version} of “{title}” in the book. Enter the wording first."})
        return agreement_sign(actor=actor, text=text, reason=reason, **values)
