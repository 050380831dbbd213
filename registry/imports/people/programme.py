"""Sheet of the programme's settings."""

from registry import choices
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.values import ChoiceCell, NameCell, TextCell
from registry.imports.sheets.plan import Problem
from registry.imports.sheets.sheet import Sheet
from registry.models import ProgrammeSetting
from registry.selectors.people.programme import parse_setting
from registry.services.people.programme import programme_setting_save


class ProgrammeSettingSheet(Sheet):
    kind = "programme_setting"
    title = "Settings of the programme"
    about = (
        "The programme's own data: name, address, floors of diversity, days, rules. "
        "Where it sets none, the default is used and marked as such."
    )
    edit_action = "setting.edit"
    model = ProgrammeSetting
    key = ("setting",)

    setting = SheetField("Setting", "key", ChoiceCell(choices.programme_settings), required=True, example="mothers_per_line")
    value = SheetField("Value", "value", TextCell(200), required=True, example=2)
    owner = SheetField("Set by", "owner", NameCell(80), required=True, example="B. Lead")
    set_on = SheetField("Set on", "set_on", DateCell(), required=True, example="2026-01-15")
    basis = SheetField("Basis", "basis", TextCell(200), example="example, common practice, no source", was=("What it rests on",))

    def check_items(self, plan):
        for item in plan.items:
            if "value" not in item.values:
                continue
            try:
                parse_setting(item.values["setting"], item.values["value"])
            except ValueError as error:
                self._add_problem(plan, Problem(item.row, self.header("value"), item.values["value"], str(error)))

    def save_row(self, values, item, actor, reason):
        fields = self.sheet_fields()
        stored = {name: self.current_value(item.current, name, fields[name]) for name in fields} if item.current else {}
        values = {name: value for name, value in (stored | values).items() if value is not None}
        return programme_setting_save(actor=actor, key=values.pop("setting"), **values)
