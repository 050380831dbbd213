"""A workbook that somebody sends: what it may cost to read, opening it, and what its cells show.

A file of a few kB can unpack to hundreds of MB, or to millions of empty cells.
"""

import datetime
import io
import re
import zipfile
import zlib
from contextlib import suppress
from functools import lru_cache
from zipfile import BadZipFile

from registry.calc.shared.part_dates import PartDate
from registry.imports.sheets.reading_options import SheetError

# A cell of a real sheet takes about four tags and three packed octets (measured on sheets of 1,000 to 200,000 rows, openpyxl).
_TAGS_ANYWAY, _TAGS_PER_OCTET = 50_000, 6
_OCTETS_ANYWAY, _OCTETS_PER_OCTET = 20_000_000, 100
_CELLS_ANYWAY, _CELLS_PER_OCTET = 1_000_000, 20
UNPACKED_MAX_BYTES = 400_000_000
_SHEETS_MOST = 1_000  # each costs a fifth of a millisecond to open, with nothing in it (measured)
_PIECE = 1_000_000

# in a number format: text in quotes, an escaped sign, a condition or a language in brackets, a blank of some width, a filling
_NO_CODE = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]|_.|\*.')

DAMAGE = (BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError)


class CostsTooMuch(Exception):
    """The workbook holds far more than its size allows for; the message is the end of a sentence about the file."""


def check_cost(archive, packed):
    """Look through the parts of a workbook, an open ZIP of `packed` octets, without reading them as XML.

    Raises CostsTooMuch; one of DAMAGE where a part cannot be unpacked.
    """
    unpacked = sum(item.file_size for item in archive.infolist())
    if unpacked > min(UNPACKED_MAX_BYTES, _OCTETS_ANYWAY + _OCTETS_PER_OCTET * packed):
        raise CostsTooMuch(f"unpacks to {unpacked / 1e6:.0f} MB. Delete empty rows and formats, or split the sheet.")
    tags, sheets, most = 0, 0, _TAGS_ANYWAY + _TAGS_PER_OCTET * packed
    for item in archive.infolist():
        # a part of any name can be named as a sheet, so pictures are looked through too; those in SVG may declare a document type
        is_picture = "media/" in item.filename.lower()
        with archive.open(item) as part:
            end = b""
            while piece := part.read(_PIECE):
                tags += piece.count(b"<")
                sheets += piece.count(b"sheetId=")  # of the list of sheets; nothing else is named so
                if sheets > _SHEETS_MOST:
                    raise CostsTooMuch(f"has more than {_SHEETS_MOST:,} sheets. Copy the one to load into a new workbook.")
                if tags > most:
                    raise CostsTooMuch(
                        "holds far more empty cells, rows or parts than its size allows for. Copy the filled cells into a new workbook."
                    )
                if not is_picture and (b"<!DOCTYPE" in end + piece or b"<!ENTITY" in end + piece):
                    raise CostsTooMuch("declares XML entities, which no spreadsheet does. Save it again in a spreadsheet program.")
                end = piece[-10:]


def most_cells(packed):
    """How many cells, blank ones included, are read of a file of `packed` octets."""
    return _CELLS_ANYWAY + _CELLS_PER_OCTET * packed


def day_as_shown(moment, number_format):
    """The day of a cell; a PartDate where its number format shows a month or a year alone. Who types “May 2019” into a spreadsheet gets the
    first of May, which nobody said."""
    what = _date_shown(number_format)
    return PartDate(moment.year, moment.month if what == "month" else None) if what else moment


@lru_cache(maxsize=256)
def _date_shown(number_format):
    """Either "month" or "year"; "" for a format that shows a day, a time or no date."""
    codes = set(_NO_CODE.sub("", number_format.partition(";")[0]).lower())
    if "y" not in codes or codes & {"d", "h", "s"}:
        return ""
    return "month" if "m" in codes else "year"


def open_workbook(content, filename):
    """The workbook of a file, read only. Raises SheetError."""
    seems = "has no map file in it, or is" if filename.lower().endswith(".zip") else "looks like XLSX but is"
    damaged = SheetError(f"{filename} {seems} damaged. Open it in the program it was made with, save it again and send the new file.")
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            names = archive.namelist()
            check_cost(archive, len(content))
    except CostsTooMuch as error:
        raise SheetError(f"{filename} {error}") from error
    except DAMAGE as error:
        raise damaged from error
    if not any(name.startswith("xl/") for name in names):
        raise SheetError(f"{filename} is a ZIP file, but not an XLSX workbook. Save it as CSV or XLSX and send that.")
    try:
        return _opened(content)
    except Exception as error:  # openpyxl raises whatever its XML parser meets in a damaged file
        raise damaged from error


def _opened(content):
    from openpyxl.reader.excel import ExcelReader

    class Reader(ExcelReader):
        def read_chartsheet(self, sheet, rel):
            # openpyxl stumbles over a chart sheet without a chart, after it has noted the sheet
            with suppress(AttributeError):
                super().read_chartsheet(sheet, rel)

    reader = Reader(io.BytesIO(content), read_only=True)
    reader.read()
    return reader.wb


def workbook_row(row, filename, sheet, is_data):
    """The values of a row of cells. Raises SheetError for a formula or an error of the spreadsheet."""
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
    return [_cell_value(cell) for cell in row] if is_data else [cell.value for cell in row]


def _cell_value(cell):
    return day_as_shown(cell.value, cell.number_format) if isinstance(cell.value, datetime.datetime) else cell.value
