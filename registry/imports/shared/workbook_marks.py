"""Rows, columns and cells that somebody hid or struck through in a workbook: they are read like the others, and the preview names them.

A hidden or struck-through row is often one that somebody meant to leave out, but a filter hides rows as well, so nothing is left out.
"""

import re
from itertools import islice
from xml.parsers import expat

from registry.calc.shared.screen import list_words
from registry.calc.sheets.key_ranges import key_ranges
from registry.imports.sheets.text import is_filled

__all__ = ["StruckCells", "hidden_notes"]

_HIDDEN = re.compile(rb"\shidden\s*=\s*[\"'](?:1|true)")
_PIECE, _OVERLAP = 1_000_000, 40
_LISTED, _CELLS_LISTED = 6, 3
_TRUE = ("1", "true")


def hidden_notes(sheet, table):
    """Sentences on the rows and columns of `table` that are hidden in the workbook, and on its sheet where that is.

    Parameters
    ----------
    sheet : read-only worksheet of openpyxl
    table : Table, as it was read of the sheet
    """
    rows, columns = _hidden(sheet, len(table.headers))
    places = [row - table.first_row for row in sorted(rows) if 0 <= row - table.first_row < len(table)]
    filled = [place + table.first_row for place, row in zip(places, table.at(places), strict=True) if any(map(is_filled, row))]
    headed = [column for column in columns if table.headers[column - 1]]
    notes = [] if sheet.sheet_state == "visible" else [f"Sheet '{sheet.title}' is hidden in the workbook; it is read all the same."]
    if filled:
        notes.append(_note(_rows(filled), len(filled), sheet, "hidden", "by a filter or by hand"))
    if headed:
        notes.append(_note(_columns(headed, table), len(headed), sheet, "hidden"))
    return notes


class StruckCells:
    """Watches the rows of a sheet as they are read, for cells whose whole text is struck through."""

    def __init__(self, sheet):
        self.sheet = sheet
        book = sheet.parent
        fonts = {number for number, font in enumerate(book._fonts) if font.strike}
        self.styles = {number for number, style in enumerate(book._cell_styles) if style.fontId in fonts}
        self.rows = []  # numbers of those in which every filled cell is struck through
        self.in_other_rows, self.struck = {}, {}  # {column: filled cells of the other rows}, {column: (struck ones, the first of them)}

    def watch(self, number, row):
        """Look at the cells of a data row."""
        if not self.styles:
            return
        filled = [cell for cell in row if is_filled(cell.value)]
        struck = [cell for cell in filled if cell._style_id in self.styles]
        if struck and len(struck) == len(filled):
            self.rows.append(number)
            return
        for cell in filled:
            self.in_other_rows[cell.column] = self.in_other_rows.get(cell.column, 0) + 1
        for cell in struck:
            count, first = self.struck.get(cell.column, (0, ()))
            self.struck[cell.column] = count + 1, (*first, (number, cell.column)) if len(first) < _CELLS_LISTED else first

    def notes(self, table):
        """Sentences on the rows, columns and cells of `table` that are struck through."""
        whole = [column for column, (count, _first) in sorted(self.struck.items()) if count > 1 and count == self.in_other_rows[column]]
        single = {column: found for column, found in self.struck.items() if column not in whole}
        notes = []
        if self.rows:
            notes.append(_note(_rows(self.rows), len(self.rows), self.sheet, "struck through"))
        if whole:
            notes.append(_note(_columns(whole, table), len(whole), self.sheet, "struck through"))
        if single:
            count = sum(count for count, _first in single.values())
            notes.append(_note(_cells(single, count), count, self.sheet, "struck through"))
        return notes


def _hidden(sheet, width):
    """(numbers of the hidden rows, those of the hidden columns up to `width` in order), both from 1, as the sheet's own part says."""
    with sheet._get_source() as part:
        if not _says_hidden(part):
            return set(), []
    rows, columns, last = set(), set(), 0  # columns: (first, last) of each range

    def start(tag, attributes):
        nonlocal last
        name = tag.rpartition(":")[2]
        is_hidden = attributes.get("hidden") in _TRUE
        if name == "row":
            last = int(float(attributes["r"])) if "r" in attributes else last + 1
            if is_hidden:
                rows.add(last)
        elif name == "col" and is_hidden:
            columns.add((int(attributes["min"]), int(attributes["max"])))

    # Document types and entities were refused before (`check_cost`), which also bounds how much there is to read.
    parser = expat.ParserCreate()
    parser.StartElementHandler = start
    with sheet._get_source() as part:
        parser.ParseFile(part)
    return rows, _in_ranges(columns, width)


def _in_ranges(ranges, width):
    """The numbers from 1 to `width` in ranges, of which a file may hold many thousands over each other."""
    numbers, beyond = [], 1
    for first, last in sorted(ranges):
        numbers += range(max(first, beyond), min(last, width) + 1)
        beyond = max(beyond, last + 1)
    return numbers


def _says_hidden(part):
    """Whether the text of a part says so of anything. Most do not; reading each as XML once more would take a tenth longer."""
    end = b""
    while piece := part.read(_PIECE):
        if _HIDDEN.search(end + piece):
            return True
        end = piece[-_OVERLAP:]
    return False


def _note(named, count, sheet, state, by=""):
    is_one = count == 1
    said = f"{named} of sheet '{sheet.title}' {'is' if is_one else 'are'} {state} in the workbook{f', {by}' if by else ''}"
    one, which = ("it is", "it if it is") if is_one else ("they are", "those that are")
    return f"{said}; {one} read like the others. Delete {which} not to be loaded."


def _rows(numbers):
    ranges = key_ranges(numbers)
    words = [f"{first}–{last}" if first < last else f"{first}" for first, last in ranges[:_LISTED]]
    more = sum(last - first + 1 for first, last in ranges[_LISTED:])
    return f"{'Row' if len(numbers) == 1 else 'Rows'} {_listed(words, more)}"


def _columns(numbers, table):
    from openpyxl.utils import get_column_letter

    named = [(get_column_letter(number), table.headers[number - 1]) for number in numbers[:_LISTED]]
    words = [f"{letter} ('{header}')" if header else letter for letter, header in named]
    return f"{'Column' if len(numbers) == 1 else 'Columns'} {_listed(words, len(numbers) - len(words))}"


def _cells(found, count):
    from openpyxl.utils import get_column_letter

    first = sorted(place for _count, places in found.values() for place in places)
    words = [f"{get_column_letter(column)}{row}" for row, column in islice(first, _CELLS_LISTED)]
    return f"{'Cell' if count == 1 else 'Cells'} {_listed(words, count - len(words))}"


def _listed(words, more):
    return list_words([*words, f"{more:,} more"] if more else words, "and")
