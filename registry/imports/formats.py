"""Writing sheets: templates, exports and returned sheets, as CSV or XLSX that no spreadsheet runs as a formula."""

import csv
import io

from django.http import HttpResponse

from registry.imports.table import SheetError

CONTENT_TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_FORMULA_STARTS = tuple("=+-@\t\r\n＝＋－＠")


def safe_text(value):
    """A text cell that a spreadsheet shows and does not run (OWASP, CSV Injection). Numbers stay numbers."""
    if isinstance(value, str) and value.startswith(_FORMULA_STARTS):
        return "'" + value
    return value


def write_rows(headers, rows, wanted):
    """Bytes of a sheet with these headers and rows; `wanted` is "csv" or "xlsx"."""
    if wanted == "csv":
        buffer = io.StringIO(newline="")
        writer = csv.writer(buffer)
        writer.writerow([safe_text(header) for header in headers])
        writer.writerows([safe_text(cell) for cell in row] for row in rows)
        return b"\xef\xbb\xbf" + buffer.getvalue().encode()
    if wanted == "xlsx":
        return _write_xlsx(headers, rows)
    raise SheetError(f"'{wanted}' is no format of ours. Ask for csv or xlsx.")


def _write_xlsx(headers, rows):
    import openpyxl
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Sheet 1")
    sheet.freeze_panes = "A2"

    def cell(value):
        if not isinstance(value, str):
            return value
        text = WriteOnlyCell(sheet, value=safe_text(ILLEGAL_CHARACTERS_RE.sub("", value)))
        text.data_type = "s"
        return text

    sheet.append([cell(header) for header in headers])
    for row in rows:
        sheet.append([cell(value) for value in row])
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def export_bytes(sheet_class, queryset, wanted):
    """A list of records as a sheet that the same sheet class reads back."""
    sheet = sheet_class()
    dataset = sheet.export(sheet.export_rows(queryset))
    return write_rows(dataset.headers, dataset[:], wanted)


def template_bytes(sheet_class, wanted):
    headers, example = sheet_class.template_rows()
    return write_rows(headers, [example], wanted)


def problems_bytes(table, plan, wanted="csv"):
    """The sheet as it was sent, with one more column that says what is wrong in each row."""
    by_row = {}
    for problem in plan.problems:
        by_row.setdefault(problem.row, []).append(f"{problem.column}: {problem.message}" if problem.column else problem.message)
    rows = [(*row, "; ".join(by_row.get(number, []))) for number, row in enumerate(table.rows, start=table.first_row)]
    return write_rows([*table.headers, "What to correct"], rows, wanted)


def download_response(sheet_class, queryset, wanted, user):
    response = HttpResponse(export_bytes(sheet_class, queryset, wanted), content_type=CONTENT_TYPES[wanted])
    response["Content-Disposition"] = f'attachment; filename="{sheet_class.kind}.{wanted}"'
    return response
