"""The rest of a sheet: the rows that a load set aside, as they were sent, each with its mark and what to correct."""

from registry.calc.sheets.rest_marks import read_rest_mark, rest_mark
from registry.imports.sheets.formats import write_rows
from registry.imports.sheets.plan import Problem, groups
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.table import TO_CORRECT, read_table
from registry.imports.sheets.text import cell_text

__all__ = ["FROM_NAMES", "marked_rows", "rest_bytes", "rest_load", "rest_read_by", "rest_spec"]

FROM_NAMES = frozenset(("file_name", "sheet_name"))  # parts of a mapping that read the name of a file


def rest_bytes(load, content, out, wanted):
    """The rows that are still out as a sheet (csv or xlsx) with the columns of the file: rows with the same fault follow each other.

    Parameters
    ----------
    content : bytes of the file that was loaded
    out : list of [row of the file, what to correct]
    """
    table = read_table(content, load.filename, ReadingOptions.from_spec(load.spec))
    columns = [number for number, header in enumerate(table.headers) if header != TO_CORRECT]
    rows = []
    for group in groups(Problem(row, "", "", words) for row, words in out):
        for place, number in enumerate(group.rows):
            cells = table.rows[number - table.first_row]
            words = f"{rest_mark(load.pk, number)}: {group.message}"
            rows.append((*(cells[column] for column in columns), words if place else words + group.first_words()))
    headers = [*(table.headers[number] for number in columns), TO_CORRECT]
    return write_rows(headers, rows, wanted, before=table.before, options=table.options)


def rest_spec(load):
    """The mapping a rest is read by: that of its load, with what the name of the first file gave."""
    return {name: value for name, value in load.spec.items() if name not in FROM_NAMES}


def rest_read_by(spec, earlier):
    """The mapping somebody gives for a rest, with what the name of the first file gave; without one, that of its load (`rest_spec`)."""
    if not spec or not earlier:
        return spec or earlier
    return {name: value for name, value in spec.items() if name not in FROM_NAMES} | {"set": earlier.get("set", {}) | spec.get("set", {})}


def marked_rows(table):
    """{row of this file: (key of a load, row of its file)} of the rows that carry a mark."""
    if TO_CORRECT not in table.headers:
        return {}
    column = table.headers.index(TO_CORRECT)
    found = {number: read_rest_mark(cell_text(row[column])) for number, row in enumerate(table.rows, start=table.first_row)}
    return {number: mark for number, mark in found.items() if mark}


def rest_load(content, filename):
    """The key of the load that a file is the rest of, as its first mark says; None for any other file."""
    try:
        marks = marked_rows(read_table(content, filename))
    except SheetError:
        return None
    return next((key for key, _row in marks.values()), None)
