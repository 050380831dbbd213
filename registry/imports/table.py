"""Reading a sheet somebody sends: CSV or XLSX, as it comes, into rows of cells; or one clear sentence why not."""

import csv
import io
import zipfile
from dataclasses import dataclass, field

import tablib

MAX_BYTES = 50_000_000
_UNPACKED_MAX_BYTES = 400_000_000
_DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t"}


class SheetError(ValueError):
    """The file as a whole cannot be read. The text says what it is and what to do."""


@dataclass(frozen=True)
class ReadingOptions:
    """How the user says the file is written. Nothing here is guessed silently except encoding and delimiter."""

    delimiter: str = ""
    sheet: str = ""
    header_row: int = 1
    decimal: str = "."
    dates: str = "YYYY-MM-DD"
    codes_in_sheet: frozenset = frozenset()

    @classmethod
    def from_spec(cls, spec):
        options = {name: spec[name] for name in ("delimiter", "sheet", "header_row", "decimal", "dates") if spec.get(name)}
        options["delimiter"] = _DELIMITERS.get(options.get("delimiter", ""), options.get("delimiter", ""))
        if options.get("decimal", ".") not in {".", ","}:
            raise SheetError(f"The decimal sign is '{options['decimal']}'. Declare '.' or ','.")
        return cls(**options)


@dataclass
class Table:
    """Header cells and data rows of one sheet; `first_row` is the sheet's own number of the first data row."""

    headers: list
    rows: list
    first_row: int
    notes: list = field(default_factory=list)

    def dataset(self):
        return tablib.Dataset(*self.rows, headers=self.headers)


def read_table(content, filename, options=ReadingOptions()):
    """The rows of an uploaded file.

    Parameters
    ----------
    content : bytes
    filename : str, only for messages
    options : ReadingOptions

    Raises
    ------
    SheetError
    """
    if not content:
        raise SheetError(f"{filename} is empty. Save the sheet again and send the new file.")
    if len(content) > MAX_BYTES:
        raise SheetError(
            f"{filename} has {len(content) / 1e6:.0f} MB; sheets of up to {MAX_BYTES / 1e6:.0f} MB are read. "
            "Delete empty rows and pictures, or split the sheet."
        )
    wrong = _wrong_kind(content)
    if wrong:
        raise SheetError(f"{filename} is {wrong}. Save it as CSV or XLSX and send that.")
    if content.startswith(b"PK"):
        return _read_xlsx(content, filename, options)
    return _read_csv(content, filename, options)


def _wrong_kind(content):
    kinds = {
        b"\xd0\xcf\x11\xe0": "an old-style Excel file (.xls)",
        b"%PDF": "a PDF",
        b"\x89PNG": "a picture",
        b"\xff\xd8\xff": "a picture",
        b"\x1f\x8b": "a packed file (gzip)",
        b"SQLite format 3": "a database",
        b"<!DOCTYPE": "a web page",
        b"<html": "a web page",
    }
    return next((name for start, name in kinds.items() if content.startswith(start)), "")


def sheet_names(content):
    """Names of the sheets of an XLSX file; empty for a CSV."""
    if not content.startswith(b"PK"):
        return []
    return _workbook(content, "the file").sheetnames


def _workbook(content, filename):
    import openpyxl

    damaged = SheetError(
        f"{filename} looks like XLSX but is damaged and cannot be opened. Open it where it was made, save it again and send the new file."
    )
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            names = archive.namelist()
            unpacked = sum(item.file_size for item in archive.infolist())
    except (zipfile.BadZipFile, NotImplementedError, OSError, ValueError) as error:
        raise damaged from error
    if unpacked > _UNPACKED_MAX_BYTES:
        raise SheetError(f"{filename} unpacks to {unpacked / 1e6:.0f} MB. Delete empty rows and formats, or split the sheet.")
    if not any(name.startswith("xl/") for name in names):
        raise SheetError(f"{filename} is a packed file, but no XLSX workbook. Save it as CSV or XLSX and send that.")
    try:
        return openpyxl.load_workbook(io.BytesIO(content), read_only=True)
    except Exception as error:  # openpyxl raises whatever its XML parser meets in a damaged file
        raise damaged from error


def _read_xlsx(content, filename, options):
    book = _workbook(content, filename)
    if options.sheet and options.sheet not in book.sheetnames:
        raise SheetError(f"{filename} has no sheet '{options.sheet}'. It has: {', '.join(book.sheetnames)}.")
    sheet = book[options.sheet] if options.sheet else book.worksheets[0]
    sheet.reset_dimensions()
    try:
        rows = [_xlsx_row(number, row, filename, sheet.title) for number, row in enumerate(sheet.iter_rows(), start=1)]
    except SheetError:
        raise
    except Exception as error:
        raise SheetError(
            f"{filename} is damaged inside sheet '{sheet.title}'. Save it again where it was made and send the new file."
        ) from error
    notes = [] if options.sheet or len(book.sheetnames) == 1 else [f"Read the first sheet, '{sheet.title}', of {len(book.sheetnames)}."]
    return _table(rows, filename, options, notes)


def _xlsx_row(number, row, filename, sheet):
    for cell in row:
        if cell.data_type == "f":
            raise SheetError(
                f"{filename}, sheet '{sheet}', cell {cell.coordinate} holds a formula. "
                f"Copy the sheet and paste it as values, then send that."
            )
        if cell.data_type == "e":
            raise SheetError(
                f"{filename}, sheet '{sheet}', cell {cell.coordinate} holds the error {cell.value}. Correct it and send the file again."
            )
    return [cell.value for cell in row]


def _read_csv(content, filename, options):
    text = _decoded(content, filename)
    delimiter = options.delimiter or _delimiter(text, options.header_row)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        raise SheetError(
            f"{filename} cannot be read as CSV ({error}). Look for a quotation mark that is opened and never closed."
        ) from error
    return _table(rows, filename, options, [])


def _decoded(content, filename):
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    elif b"\0" in content[:2000]:
        # text without a byte-order mark in UTF-16 has a zero in every other byte; anything else is no text
        even, odd = content[:2000:2].count(0), content[1:2000:2].count(0)
        encodings = ["utf-16-le"] if odd and not even else ["utf-16-be"] if even and not odd else []
    else:
        encodings = ["utf-8-sig", "cp1252"]
    for encoding in encodings:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise SheetError(f"{filename} is not a text sheet: it holds bytes no table has. Save it as CSV (UTF-8) or XLSX and send that.")


def _delimiter(text, header_row):
    lines = text.splitlines()
    header = lines[header_row - 1] if len(lines) >= header_row else ""
    counts = {mark: header.count(mark) for mark in _DELIMITERS.values()}
    return max(counts, key=counts.get)


def _table(rows, filename, options, notes):
    at = options.header_row - 1
    if at < 0 or len(rows) <= at or not any(_filled(cell) for cell in rows[at]):
        raise SheetError(f"{filename} has no header in row {options.header_row}. Say which row holds the column names.")
    headers = ["" if cell is None else str(cell).strip() for cell in rows[at]]
    while headers and not headers[-1]:
        headers.pop()
    doubled = sorted({header for header in headers if header and headers.count(header) > 1})
    if doubled:
        raise SheetError(f"{filename} has the column '{doubled[0]}' twice. Rename one of them.")
    width, data = len(headers), []
    for number, row in enumerate(rows[at + 1 :], start=at + 2):
        if len(row) > width and any(_filled(cell) for cell in row[width:]):
            raise SheetError(
                f"{filename}, row {number} has {len(row)} cells, but the header has {width}. Look for a delimiter inside a text."
            )
        data.append(tuple(row[:width]) if len(row) >= width else (*row, *[""] * (width - len(row))))
    while data and not any(_filled(cell) for cell in data[-1]):
        data.pop()
    if not data:
        raise SheetError(f"{filename} has a header but no rows below it.")
    return Table(headers, data, options.header_row + 1, notes)


def _filled(cell):
    return cell is not None and cell != "" and (not isinstance(cell, str) or bool(cell.strip()))
