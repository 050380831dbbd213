"""Writing sheets: templates, exports and returned sheets, as CSV or XLSX that no spreadsheet runs as a formula."""

import contextlib
import csv
import datetime
import io
from functools import partial
from itertools import chain

from django.db.models import QuerySet
from import_export.resources import Resource

from registry.calc.shared.part_dates import PartDate
from registry.calc.sheets.written_days import has_day, write_day
from registry.imports.sheets.plan import groups
from registry.imports.sheets.reading_options import GUESSED_DELIMITERS, ReadingOptions, SheetError
from registry.imports.sheets.table import TO_CORRECT
from registry.imports.sheets.text import safe_text
from registry.services.shared.garbage import few_collections
from registry.services.shared.progress import counted

_XLSX_CELL_MAX = 32_767  # characters (ECMA-376 leaves it open; what the programs take, from memory)
ROWS_OF_A_WORKBOOK = 1_048_576
_RECORDS_AT_ONCE = 2_000
CONTENT_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def write_rows(headers, rows, wanted, *, before=(), options=ReadingOptions()):
    """Bytes of a sheet with these headers and rows; `wanted` is "csv" or "xlsx".

    `before` are rows above the header, and `options` how the sheet is written, so that it is read the same way again.
    """
    buffer = io.BytesIO()
    write_rows_to(buffer, headers, rows, wanted, before=before, options=options)
    return buffer.getvalue()


def write_rows_to(target, headers, rows, wanted, *, before=(), options=ReadingOptions()):
    """Write a sheet to a binary file row by row, so that memory does not grow with it; otherwise as `write_rows`.

    Raises
    ------
    SheetError
        For another format, and for more rows than a workbook holds.
    """
    if wanted == "csv":
        _write_csv(target, [*before, headers], rows, options)
    elif wanted == "xlsx":
        _write_xlsx(target, [*before, headers], rows, options)
    else:
        raise SheetError(f"'{wanted}' is not a format Mastbook writes. Use csv or xlsx.")


def _write_csv(target, heads, rows, options):
    delimiter = options.delimiter or (";" if options.decimal == "," else ",")
    text = io.TextIOWrapper(target, encoding="utf-8-sig", newline="")
    try:
        if delimiter not in GUESSED_DELIMITERS:
            text.write(f"sep={delimiter}\r\n")
        writer = csv.writer(text, delimiter=delimiter)
        for row in chain(heads, rows):
            writer.writerow([_csv_cell(cell, options) for cell in row])
    finally:
        text.detach()  # what is written is in the file, which stays open


def _csv_cell(value, options):
    """A spreadsheet's own value written as this file declares its numbers and dates; a text as it is, and safe."""
    if isinstance(value, str):
        return safe_text(value)
    if isinstance(value, datetime.date):  # a moment, too: a cell of ours holds the day
        return write_day(value, next(filter(has_day, options.dates), options.dates[0]))
    if isinstance(value, float) and options.decimal == ",":
        return repr(value).replace(".", ",")
    return str(value).upper() if isinstance(value, bool) else value


def _write_xlsx(target, heads, rows, options):
    from openpyxl.workbook.child import INVALID_TITLE_REGEX

    with written_workbook(target) as book:
        # the layer of a map file may have a name that no sheet can have
        sheet = book.create_sheet(INVALID_TITLE_REGEX.sub(" ", options.sheet)[:31] or "Sheet 1")
        sheet.freeze_panes = f"A{len(heads) + 1}"
        for number, row in enumerate(chain(heads, rows), start=1):
            if number > ROWS_OF_A_WORKBOOK:
                raise SheetError(f"A workbook holds {ROWS_OF_A_WORKBOOK:,} rows, and there are more. Take the sheet as CSV.")
            sheet.append([workbook_cell(sheet, value) for value in row])


@contextlib.contextmanager
def written_workbook(target):
    """A workbook to write row by row, stored in the binary file `target` at the end.

    Where an error ends it before, its sheets are closed and their temporary files, which may be large, are removed.
    """
    import openpyxl

    book = openpyxl.Workbook(write_only=True)
    try:
        yield book
    except BaseException:
        with contextlib.suppress(Exception):  # the first error is the one to tell
            book.save(io.BytesIO())
        raise
    book.save(target)


def workbook_cell(sheet, value):
    """A number as it is; a text as text, whatever it begins with."""
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    if isinstance(value, PartDate):
        cell = WriteOnlyCell(sheet, value=value.first)
        cell.number_format = "yyyy-mm" if value.month else "yyyy"
        return cell
    if not isinstance(value, str):
        return value
    if len(value) > _XLSX_CELL_MAX:
        raise SheetError("A cell is longer than a workbook can hold, such as the outline of a site. Take the sheet as CSV.")
    cell = WriteOnlyCell(sheet, value=safe_text(ILLEGAL_CHARACTERS_RE.sub("", value)))
    cell.data_type = "s"
    return cell


def export_bytes(sheet_class, queryset, wanted, user=None):
    """A list of records as a sheet that the same sheet class reads back, without the columns that `user` may not see.

    Without a user it has only the columns that everybody may see who may see the records.
    """
    buffer = io.BytesIO()
    export_to(buffer, sheet_class, queryset, wanted, user)
    return buffer.getvalue()


@few_collections()
def export_to(target, sheet_class, queryset, wanted, user=None):
    """Write `export_bytes` to a binary file, record by record."""
    sheet = sheet_class()
    widgets = {name: field.widget for name, field in sheet_class.sheet_fields().items()}
    exported = {name: cell for name, cell in widgets.items() if cell.is_exported}
    shown = [name for name, cell in exported.items() if not cell.seen_by or (user is not None and user.may(cell.seen_by))]
    cells = [_cell_of(sheet, field) for field in sheet.get_export_fields(shown)]
    records = sheet.export_rows(queryset)
    if isinstance(records, QuerySet):
        records = counted(records.iterator(chunk_size=_RECORDS_AT_ONCE), "Writing the rows", count=queryset.count)
    rows = ([cell(record) for cell in cells] for record in records)
    write_rows_to(target, sheet.get_export_headers(shown), rows, wanted)


def _cell_of(sheet, field):
    """What a field of a sheet writes of a record. The library looks this up again for each cell, by the names of all fields."""
    if type(sheet).export_field is not Resource.export_field:  # the sheet reads some of its cells in a way of its own
        return partial(sheet.export_field, field)
    return getattr(sheet, field.get_dehydrate_method(sheet.get_field_name(field)), None) or field.export


def template_bytes(sheet_class, wanted):
    headers, example = sheet_class.template_rows()
    return write_rows(headers, [example], wanted)


def problems_bytes(table, plan, wanted="csv"):
    """The sheet as it was sent, with one more column that says what is wrong in each row; it can be corrected and sent again."""
    by_row = {}
    for group in groups(plan.problems):
        said = f"{group.column}: {group.message}" if group.column else group.message
        for place, row in enumerate(group.rows):
            by_row.setdefault(row, []).append(said if place else said + group.first_words())
    columns = [number for number, header in enumerate(table.headers) if header != TO_CORRECT]
    rows = (
        (*(row[number] for number in columns), "; ".join(by_row.get(at, []))) for at, row in enumerate(table.rows, start=table.first_row)
    )
    headers = [*(table.headers[number] for number in columns), TO_CORRECT]
    return write_rows(headers, rows, wanted, before=table.before, options=table.options)
