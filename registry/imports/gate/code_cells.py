"""Cells that hold lists of codes, and the columns of the declared fields of rules and papers."""

from django.db import models

from registry.imports.sheets.cells.cell import Cell, CellError, SheetField
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.values import TextCell, YesNoCell
from registry.imports.sheets.sheet import Sheet
from registry.imports.sheets.text import cell_text
from registry.selectors.gate.code_lists import ANY_CODES, REGION_CODES

__all__ = ["CodesCell", "RegionCell", "declared_columns"]


class CodesCell(Cell):
    """A `CodeList` in one cell, with a semicolon or a comma between the codes."""

    is_text = True

    def __init__(self, codes=ANY_CODES):
        super().__init__()
        self.codes = codes

    def parser(self, options):
        text, read = TextCell().parser(options), self.codes.reader()

        def parse(value):
            try:
                return read(text(value))
            except CellError:
                raise
            except ValueError as error:
                raise CellError(f"cannot be read: {' '.join(error.args)}") from error

        return parse

    def render(self, value, obj=None, **kwargs):
        return self.codes.typed(value, "; ")


class RegionCell(Cell):
    """A country or subdivision by its ISO 3166 code, or with `WAY_CODES` a county in one."""

    is_text = True

    def __init__(self, codes=REGION_CODES):
        super().__init__()
        self.codes = codes

    def parser(self, options):
        read = CodesCell(self.codes).parser(options)
        return lambda value: "".join(read(cell_text(value))[:1])


def declared_columns(fields, model):
    """{name: column} of declared fields. A list of codes need not be a field of the record; the rest is read by the type it has there."""
    return {_sheet_name(field.name): _column(field, model) for field in fields}


def _sheet_name(name):
    """The name of a column in mapping files; a sheet has a title of its own."""
    return f"{name}_text" if hasattr(Sheet, name) else name


def _column(field, model):
    stored = None if field.codes else model._meta.get_field(field.name)
    required = stored is not None and not stored.blank and not stored.has_default()
    return SheetField(
        field.header or field.label, field.name, CodesCell(field.codes) if field.codes else _cell(stored), required=required,
        example=field.example, was=field.was,
    )  # fmt: skip


def _cell(stored):
    if isinstance(stored, models.DateField):
        return DateCell()
    return YesNoCell() if isinstance(stored, models.BooleanField) else TextCell(stored.max_length)
