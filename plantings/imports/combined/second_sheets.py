"""Columns from a second sheet, joined by a key: the points of the plots, say, that another file has.

    "second_sheets": {"plots": {"file": "plot_coordinates.csv", "by": {"Replication": "Plot"}}}

gives each row of the sheet the cells of the row of plot_coordinates.csv whose Plot is its Replication, under the names "plots.POINT_X" and
so on. Without "file" it is another sheet of the same workbook, named by "sheet". A row without a partner takes blank cells. Case and blanks
around a key do not count.
"""

import json

from registry.calc.shared.screen import amount_words
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.table import Table, read_table
from registry.imports.sheets.text import cell_text, header_text

__all__ = ["SECOND_FILES", "SECOND_SHEETS", "joined", "second_files"]

SECOND_SHEETS = "second_sheets"
SECOND_FILES = "second_files"  # of an upload, which was sent with them: {name: key of its upload}
_EXAMPLE = '{"second_sheets": {"plots": {"file": "plots.csv", "by": {"column of this sheet": "column of that one"}}}}'
_READING = ("sheet", "header_row", "delimiter", "crs")


def second_files(spec):
    """Names of the files that the second sheets of a mapping are in. Raises SheetError."""
    return list(dict.fromkeys(second["file"] for second in _declared(spec).values() if "file" in second))


def joined(table, spec, content, filename, files):
    """A table with the columns of its second sheets, and what to note about rows without a partner.

    Parameters
    ----------
    table : Table of the first sheet
    content, filename : of the file it was read from
    files : {name: bytes} of the second files

    Returns
    -------
    (Table, list of str). Raises SheetError.
    """
    notes, headers, rows = [], list(table.headers), table.rows
    for name, second in _declared(spec).items():
        columns, found, said = _read(name, second, content, filename, files)
        notes += [f"Second sheet “{name}”: {note}" for note in said]
        added = [f"{name}.{header}" for header in columns]
        if doubled := sorted(set(headers) & set(added)):
            raise SheetError(f"The sheet has a column '{doubled[0]}' of its own. Give the second sheet '{name}' another name.")
        keys = _columns(table.headers, second["by"], filename)
        blank, alone, wider = ("",) * len(columns), 0, []
        for row in rows:
            key = _key(row, keys)
            partner = found.get(key, blank)
            alone += partner is blank and any(map(cell_text, row))
            wider.append((*row, *partner))
        rows, headers = wider, headers + added
        if alone:
            notes.append(f"{amount_words(alone, 'rows')} without a partner in “{name}”: their cells from it are blank.")
    return Table(headers, rows, table.first_row, table.notes, table.before, table.options), notes


def _declared(spec):
    second = spec.get(SECOND_SHEETS, {})
    fits = isinstance(second, dict) and all(isinstance(one, dict) and _fits(one) for one in second.values())
    if not fits:
        raise SheetError(f'"{SECOND_SHEETS}" of the mapping is {json.dumps(second)[:200]}. Write {_EXAMPLE}.')
    return second


def _fits(one):
    by = one.get("by")
    return (
        set(one) <= {"file", "by", *_READING}
        and isinstance(one.get("file", ""), str)
        and ("file" in one or "sheet" in one)
        and isinstance(by, dict)
        and bool(by)
        and all(isinstance(header, str) for header in by.values())
    )


def _read(name, second, content, filename, files):
    """(headers, {key: row}, notes) of a second sheet."""
    source = second.get("file", filename)
    if "file" in second and source not in files:
        raise SheetError(f"The second sheet “{name}” is in {source}, which was not sent. Send it with the first one.")
    reading = ReadingOptions.from_spec({part: second[part] for part in _READING if part in second})
    table = read_table(files[source] if "file" in second else content, source, reading)
    keys = _columns(table.headers, dict.fromkeys(second["by"].values()), source)
    found, rows = {}, {}
    for number, row in enumerate(table.rows, start=table.first_row):
        key = _key(row, keys)
        if not any(key):
            continue
        if key in found and found[key] != row:
            raise SheetError(f"{source}, rows {rows[key]} and {number} are both “{', '.join(key)}” and differ. Remove one of them.")
        found[key], rows[key] = row, number
    more = [column for column in range(len(table.headers)) if column not in keys]  # the key itself is in the first sheet
    partners = {key: tuple(row[column] for column in more) for key, row in found.items()}
    return [table.headers[column] for column in more], partners, table.notes


def _columns(headers, names, source):
    names = [header_text(name) for name in names]
    for header in names:
        if header not in headers:
            raise SheetError(f'"{SECOND_SHEETS}" of the mapping joins by “{header}”, but {source} has: {", ".join(headers)}.')
    return [headers.index(header) for header in names]


def _key(row, columns):
    return tuple(cell_text(row[column]).casefold() for column in columns)
