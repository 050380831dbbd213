"""Sheet of the cautions."""

import re

from registry import choices
from registry.imports.gate.code_cells import CodesCell
from registry.imports.sheets.append_only_sheets import StoredOnce
from registry.imports.sheets.cells.cell import CellError, SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell, TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.models import CautionText
from registry.services.safety.cautions import caution_add


class MonthsCell(CodesCell):
    """Numbers of months in one cell, with a semicolon between them."""

    def parser(self, options):
        codes = super().parser(options)

        def parse(value):
            months = []
            for word in codes(value):
                if not re.fullmatch("[0-9]{1,2}", word) or not 1 <= int(word) <= 12:
                    raise CellError(f"names “{word}”, which is not a month; write numbers from 1 to 12 with a semicolon between them")
                months.append(int(word))
            return sorted(months)

        return parse

    def render(self, value, obj=None, **kwargs):
        return "; ".join(str(month) for month in value or [])


class CautionSheet(StoredOnce, Sheet):
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
    text = SheetField(
        "Usual caution", "text", TextCell(), required=True, example="Light-coloured long sleeves and pants. Check all over the same day."
    )
    decider = SheetField(
        "Decided locally by", "decider", TextCell(120), required=True, example="the person, their doctor", was=("Decides locally",)
    )
    hazard_fr = SheetField("Hazard (French)", "hazard_fr", TextCell(80), example="Tiques")
    text_fr = SheetField(
        "Usual caution (French)", "text_fr", TextCell(),
        example="Manches longues et pantalon de couleur claire. S’examiner entièrement le jour même.",
    )  # fmt: skip
    decider_fr = SheetField("Decided locally by (French)", "decider_fr", TextCell(120), example="la personne, son médecin")
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
