"""Reading a sheet somebody sends: CSV or XLSX, as it comes, into rows of cells; or one clear sentence why not."""

import csv
import re
from collections import Counter
from dataclasses import dataclass, field, replace
from itertools import islice

from registry.calc.shared.screen import amount_words
from registry.imports.shared.other_files import reader_of
from registry.imports.shared.packed_rows import PackedRows
from registry.imports.shared.workbook_marks import StruckCells, hidden_notes
from registry.imports.sheets.reading_options import GUESSED_DELIMITERS, MAX_COLUMNS, MAX_ROWS, ReadingOptions, SheetError, may_delimit
from registry.imports.sheets.text import cell_text, header_text, is_filled
from registry.imports.sheets.workbook import most_cells, open_workbook, workbook_row

MAX_BYTES = 50_000_000
_LINE_MAX, _CELLS_MAX, _BLANK_ROWS_MAX, _SHARED_MOST = 1_000_000, 50_000_000, 10_000, 50_000
_LINE = re.compile("[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")  # a line with its end, as a file opened with newline="" gives it; a copy of
# the text for `io.StringIO` would take four bytes for each sign
csv.field_size_limit(_LINE_MAX)  # the outline of a site is one long cell; a longer line is refused in words
TO_CORRECT = "What to correct"  # the column our returned sheets carry; no column of anybody's


@dataclass
class Table:
    """Header cells and data rows of one sheet; `first_row` is the sheet's own number of the first data row.

    `before` are the rows above the header, and `options` how the file turned out to be written.
    """

    headers: list
    rows: list
    first_row: int
    notes: list = field(default_factory=list)
    before: list = field(default_factory=list)
    options: ReadingOptions = ReadingOptions()

    # a sheet reads these three, of a table as of a Dataset of tablib
    def __len__(self):
        return len(self.rows)

    def __getitem__(self, place):
        return self.rows[place]

    def at(self, places):
        """The rows at these places, one by one."""
        return self.rows.at(places) if isinstance(self.rows, PackedRows) else map(self.rows.__getitem__, places)


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
            f"{filename} has {len(content) / 1e6:.0f} MB; the limit is {MAX_BYTES / 1e6:.0f} MB. "
            "Delete empty rows and pictures, or split the sheet."
        )
    if reader := reader_of(content):
        return reader.read(content, filename, options)
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


def sheet_names(content, filename):
    """Names of the sheets of an XLSX file, and of the layers of a map file; empty for a CSV."""
    if reader := reader_of(content):
        return reader.sheet_names(content, filename)
    if not content.startswith(b"PK"):
        return []
    return [sheet.title for sheet in open_workbook(content, filename).worksheets]


def _read_xlsx(content, filename, options):
    # a workbook may hold sheets of charts too, which have no cells
    sheets = {sheet.title: sheet for sheet in open_workbook(content, filename).worksheets}
    if not sheets:
        raise SheetError(f"{filename} has no sheet with cells, only charts. Send the sheet the charts were made from.")
    if options.sheet and options.sheet not in sheets:
        raise SheetError(f"{filename} has no sheet '{options.sheet}'. It has: {', '.join(sheets)}.")
    sheet = sheets[options.sheet] if options.sheet else next(iter(sheets.values()))
    notes = [] if options.sheet or len(sheets) == 1 else [f"Read the first sheet, '{sheet.title}', of {len(sheets)}."]
    sheet.reset_dimensions()
    struck = StruckCells(sheet)
    try:
        table = _table(
            _workbook_rows(sheet, filename, options.header_row, struck), filename, replace(options, sheet=sheet.title), notes,
            most_cells(len(content)),
        )  # fmt: skip
        notes += [*hidden_notes(sheet, table), *struck.notes(table)]
        return table
    except SheetError:
        raise
    except Exception as error:
        raise SheetError(
            f"{filename} is damaged inside sheet '{sheet.title}'. "
            "Open it in the program it was made with, save it again and send the new file."
        ) from error


def _workbook_rows(sheet, filename, header_row, struck):
    for number, row in enumerate(sheet.iter_rows(), start=1):
        is_data = number > header_row
        if is_data:
            struck.watch(number, row)
        yield workbook_row(row, filename, sheet.title, is_data)


def _read_csv(content, filename, options):
    text, declared = _declared(_decoded(content, filename))
    delimiter = options.delimiter or declared or _delimiter(text, filename, options.header_row)
    try:
        rows = csv.reader(_lines(text, filename), delimiter=delimiter, strict=True)
        return _table(_with_shared_texts(rows), filename, replace(options, delimiter=delimiter), [])
    except csv.Error as error:
        raise SheetError(
            f"{filename} cannot be read as CSV ({error}). Check for a quotation mark that is opened and never closed."
        ) from error


def _lines(text, filename):
    for number, found in enumerate(_LINE.finditer(text), start=1):
        line = found[0]
        if len(line) > _LINE_MAX:
            number_of = amount_words(len(line), "characters")
            raise SheetError(f"{filename}, line {number} has {number_of}: no row of a table is that long. Check what it holds.")
        yield line


def _declared(text):
    """The text without a first line such as sep=; and the delimiter it declares; a spreadsheet does not count it as a row."""
    found = re.match("sep=(.)\r?\n", text)
    return (text[found.end() :], found[1]) if found and may_delimit(found[1]) else (text, "")


def _decoded(content, filename):
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    elif b"\0" in content[:2000]:
        # text without a byte-order mark in UTF-16 has a zero in every other byte; anything else is not text
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
    raise SheetError(f"{filename} is not a text sheet: it holds bytes that no text has. Save it as CSV (UTF-8) or XLSX and send that.")


def _with_shared_texts(rows):
    """Rows of which equal cells are one text in memory: most of a long sheet repeats."""
    texts = {}
    for row in rows:
        if len(texts) > _SHARED_MOST:
            texts.clear()
        yield list(map(texts.setdefault, row, row))


def _delimiter(text, filename, header_row):
    """The sign that parts the header row into the most cells; one inside a quoted cell parts nothing."""

    def width(mark):
        try:
            return len(next(islice(csv.reader(_lines(text, filename), delimiter=mark), header_row - 1, None), ()))
        except csv.Error:
            return 0

    return max(GUESSED_DELIMITERS, key=width)


def _table(rows, filename, options, notes, cells_max=_CELLS_MAX):
    rows = enumerate(rows, start=1)
    before = [row for _number, row in islice(rows, options.header_row - 1)]
    header = next(rows, (0, ()))[1]
    if not any(is_filled(cell) for cell in header):
        raise SheetError(f"{filename} has no header in row {options.header_row}. Set which row holds the column names.")
    headers = checked_headers(header, filename)
    width, data, blank, cells = len(headers), PackedRows(), 0, 0
    empty = ("",) * width
    for number, row in rows:
        cells += len(row)
        if number > MAX_ROWS or cells > min(cells_max, _CELLS_MAX):
            most = f"{MAX_ROWS:,} rows" if number > MAX_ROWS else f"{min(cells_max, _CELLS_MAX):,} cells"
            raise SheetError(f"{filename} has more than {most}, blank ones included. Delete blank rows and columns, or split the sheet.")
        if not any(map(is_filled, row)):
            blank += 1
            continue
        if blank > _BLANK_ROWS_MAX:
            raise SheetError(f"{filename} has {amount_words(blank, 'blank rows')} above row {number}. Delete them and send it again.")
        if len(row) > width and any(is_filled(cell) for cell in row[width:]):
            beyond, cell = next((place, cell) for place, cell in enumerate(row[width:], start=width + 1) if is_filled(cell))
            raise SheetError(
                f"{filename}, row {number} has {len(row)} cells, but the header has {width}: cell {beyond} holds '{cell_text(cell)[:40]}', "
                "which is under no column name. Name that column, or check for a delimiter inside a text."
            )
        # blank rows between others keep the rows below at their own numbers; those at the end do not count
        for _ in range(blank):
            data.append(empty)
        blank = 0
        data.append(tuple(row[:width]) if len(row) >= width else (*row, *[""] * (width - len(row))))
    if not data:
        raise SheetError(f"{filename} has a header but no rows below it.")
    return Table(headers, data.plain(), options.header_row + 1, notes, before, options)


def checked_headers(row, filename):
    """The column names of a sheet as texts, without blank ones at the end. Raises SheetError for two that are the same."""
    headers = [header_text(cell) for cell in row]
    while headers and not headers[-1]:
        headers.pop()
    if len(headers) > MAX_COLUMNS:
        number = amount_words(len(headers), "columns")
        raise SheetError(f"{filename} has {number}; up to {MAX_COLUMNS:,} are read. Check whether this is a table.")
    doubled = sorted(header for header, count in Counter(headers).items() if header and count > 1)
    if doubled:
        raise SheetError(f"{filename} has the column '{doubled[0]}' twice. Rename one of them.")
    return headers
