"""Writing sheets: templates, exports and returned sheets, as CSV or XLSX that no spreadsheet runs as a formula."""

import contextlib
import csv
import datetime
import io
from itertools import chain

from django.http import HttpResponse

from registry.calc.shared.part_dates import PartDate
from registry.calc.sheets.written_days import has_day, write_day
from registry.imports.sheets.plan import groups
from registry.imports.sheets.reading_options import GUESSED_DELIMITERS, ReadingOptions, SheetError
from registry.imports.sheets.table import TO_CORRECT
from registry.imports.sheets.text import safe_text

_XLSX_CELL_MAX = 32_767  # characters (ECMA-376 leaves it open; what the programs take, from memory)
CONTENT_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def write_rows(headers, rows, wanted, *, before=(), options=ReadingOptions()):
    """Bytes of a sheet with these headers and rows; `wanted` is "csv" or "xlsx".

    `before` are rows above the header, and `options` how the sheet is written, so that it is read the same way again.
    """
    if wanted == "csv":
        return _write_csv([*before, headers], rows, options)
    if wanted == "xlsx":
        return _write_xlsx([*before, headers], rows, options)
    raise SheetError(f"'{wanted}' is not a format Mastbook writes. Use csv or xlsx.")


def _write_csv(heads, rows, options):
    delimiter = options.delimiter or (";" if options.decimal == "," else ",")
    buffer = io.StringIO(newline="")
    if delimiter not in GUESSED_DELIMITERS:
        buffer.write(f"sep={delimiter}\r\n")
    writer = csv.writer(buffer, delimiter=delimiter)
    for row in chain(heads, rows):
        writer.writerow([_csv_cell(cell, options) for cell in row])
    return b"\xef\xbb\xbf" + buffer.getvalue().encode()


def _csv_cell(value, options):
    """A spreadsheet's own value written as this file declares its numbers and dates; a text as it is, and safe."""
    if isinstance(value, str):
        return safe_text(value)
    if isinstance(value, datetime.date):  # a moment, too: a cell of ours holds the day
        return write_day(value, next(filter(has_day, options.dates), options.dates[0]))
    if isinstance(value, float) and options.decimal == ",":
        return repr(value).replace(".", ",")
    return str(value).upper() if isinstance(value, bool) else value


def _write_xlsx(heads, rows, options):
    from openpyxl.workbook.child import INVALID_TITLE_REGEX

    buffer = io.BytesIO()
    with written_workbook(buffer) as book:
        # the layer of a map file may have a name that no sheet can have
        sheet = book.create_sheet(INVALID_TITLE_REGEX.sub(" ", options.sheet)[:31] or "Sheet 1")
        sheet.freeze_panes = f"A{len(heads) + 1}"
        for row in chain(heads, rows):
            sheet.append([workbook_cell(sheet, value) for value in row])
    return buffer.getvalue()


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
    sheet = sheet_class()
    cells = {name: field.widget for name, field in sheet_class.sheet_fields().items()}
    exported = {name: cell for name, cell in cells.items() if cell.is_exported}
    shown = [name for name, cell in exported.items() if not cell.seen_by or (user is not None and user.may(cell.seen_by))]
    dataset = sheet.export(sheet.export_rows(queryset), export_fields=shown)
    return write_rows(dataset.headers, dataset[:], wanted)


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


def download_response(sheet_class, queryset, wanted, user):
    response = HttpResponse(export_bytes(sheet_class, queryset, wanted, user), content_type=CONTENT_TYPES[wanted])
    response["Content-Disposition"] = f'attachment; filename="{sheet_class.kind}.{wanted}"'
    return response
