"""Withdrawing a load: what it stored is taken back by services; records that it changed get the cells they had before, as a sheet would."""

from django.core.exceptions import FieldDoesNotExist, ValidationError
from django.db.models import JSONField

from plantings.imports.kinds import KINDS
from registry.imports.sheets.cells.records import RecordsCell
from registry.imports.sheets.plan import CHANGED, Item, Plan
from registry.imports.sheets.reading_options import ReadingOptions
from registry.selectors.loads.resting import hindrances
from registry.services.loads.taking_back import load_withdraw

__all__ = ["changed_records", "load_hindrances", "load_take_back"]


def changed_records(load):
    """[(model, {key: names of the columns})] of the records that a load changed, kind by kind in load order."""
    found = []
    for sheet, lines in _changed(load):
        fields = sheet.sheet_fields()
        found.append((sheet.model, {key: {_column(fields[name]) for name in cells if name in fields} for key, cells in lines}))
    return found


def load_hindrances(load):
    """Why a load cannot be withdrawn, as `hindrances` says it."""
    return hindrances(load, changed_records(load))


def _changed(load):
    """[(sheet, what it changed)] in load order."""
    by_kind = load.before_by_kind
    return [(KINDS[kind].with_own_columns()(), by_kind[kind]) for kind in KINDS if kind in by_kind]


def load_take_back(*, actor, load, reason):
    """Withdraw a load as one. Raises ValidationError as `load_withdraw` does, and where a record cannot have its earlier cells again."""

    def restore(actor, why):
        _restore(actor, load, why)

    return load_withdraw(actor=actor, load=load, reason=reason, changed=changed_records(load), restore=restore)


def _restore(actor, load, reason):
    for sheet, lines in reversed(_changed(load)):  # a later kind may have changed what an earlier one did
        _restore_kind(actor, sheet, lines, reason)


def _restore_kind(actor, sheet, lines, reason):
    options = ReadingOptions()
    records = sheet.stored_records().in_bulk([key for key, _cells in lines])
    items = []
    for key, cells in lines:
        record = records[key]
        values = {name: _value(sheet, name, cell, options) for name, cell in cells.items()}
        now = sheet.current_values(record, values)
        items.append(Item(key, (record.pk,), values, CHANGED, record, {name: (now[name], value) for name, value in values.items()}))
    plan = Plan(items=items, rows=len(items))
    sheet.gives_back = True
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
    try:
        column = sheet.model._meta.get_field(_column(field))
    except FieldDoesNotExist:  # several columns in one cell, such as a generation
        return None
    if isinstance(column, JSONField):  # codes in one cell
        return column.get_default()
    return "" if column.empty_strings_allowed and not column.null and not column.is_relation else None


def _column(field):
    """The column of its record that a field of a sheet writes."""
    return field.attribute.partition("__")[0]
