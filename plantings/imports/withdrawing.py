"""Withdrawing a load: what it stored is taken back by services; records that it changed get the cells they had before, as a sheet would."""

from django.core.exceptions import ValidationError

from plantings.imports.kinds import KINDS
from registry.imports.sheets.cells import RecordsCell
from registry.imports.sheets.plan import CHANGED, Item, Plan
from registry.imports.sheets.table import ReadingOptions
from registry.services.loads.taking_back import load_withdraw

__all__ = ["load_take_back"]


def load_take_back(*, actor, load, reason):
    """Withdraw a load as one. Raises ValidationError as `load_withdraw` does, and where a record cannot have its earlier cells again."""

    def restore(actor, why):
        _restore(actor, load, why)

    return load_withdraw(actor=actor, load=load, reason=reason, changed_model=KINDS[load.kind].model, restore=restore)


def _restore(actor, load, reason):
    sheet = KINDS[load.kind].with_own_columns()()
    options = ReadingOptions()
    records = sheet.stored_records().in_bulk([key for key, _cells in load.before])
    items = []
    for key, cells in load.before:
        record = records[key]
        values = {name: _value(sheet, name, cell, options) for name, cell in cells.items()}
        now = sheet.current_values(record, values)
        items.append(Item(key, (record.pk,), values, CHANGED, record, {name: (now[name], value) for name, value in values.items()}))
    plan = Plan(items=items, rows=len(items))
    sheet.store_items(items, actor, reason, plan)
    if plan.problems:
        raise ValidationError([f"{records[problem.row]}: {problem.message}" for problem in plan.problems])


def _value(sheet, name, cell, options):
    """The value of a cell as it was; a blank one clears what the load had written."""
    field = sheet.sheet_fields()[name]
    if cell != "":
        return field.widget.parser(options)(cell)
    if isinstance(field.widget, RecordsCell):
        return []
    column = sheet.model._meta.get_field(field.attribute.partition("__")[0])
    return "" if column.empty_strings_allowed and not column.null and not column.is_relation else None
