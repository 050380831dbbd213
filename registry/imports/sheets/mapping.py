"""How the columns of somebody's own sheet become ours: made once, saved by name, read from a JSON file by the command.

A mapping is a dict:

    {"columns": {"tag": "Plant_ID",                                        the column as it is
                 "planting": {"constant": "PL-01"},                        the same value in every row
                 "status": {"from": "Height", "values": {"": "D", "*": "A"}},   a stated rule: blank is D, else A
                 "site": {"from": "Plot", "after_last": "_", "values": {"FS": "Finzel"}}},
     "delimiter": "semicolon", "sheet": "2024", "header_row": 3, "decimal": ",", "dates": "DD.MM.YYYY",
     "unlisted_parents": {"taxon": "Juglans cinerea", "generation": "native"}}      of trees: parents without a row are founders like this

Fields that are not named take the column whose header is theirs, when there is one and `columns` is left out.
"""

import json
from dataclasses import dataclass

from registry.imports.sheets.table import SheetError
from registry.imports.sheets.text import cell_text

_SPEC_NAMES = {"columns", "delimiter", "sheet", "header_row", "decimal", "dates", "kind", "about", "unlisted_parents"}
_SOURCE_NAMES = {"from", "constant", "values", "after_last", "before_last"}


@dataclass(frozen=True, slots=True)
class Source:
    """Where the cells of one field come from: a column number or a constant, and a stated change on the way."""

    column: int | None
    header: str
    constant: object = ""
    values: dict | None = None
    after_last: str = ""
    before_last: str = ""

    @property
    def copies_column(self):
        """Whether cells are taken from a column as they are."""
        return self.column is not None and self.values is None and not self.after_last and not self.before_last

    def cell(self, row):
        """The cell of this field in a row of the sheet, after the stated change."""
        if self.column is None:
            return self.constant
        value = row[self.column]
        if self.copies_column:
            return value
        text = cell_text(value)
        if self.after_last:
            value = text = text.rpartition(self.after_last)[2]
        if self.before_last:
            value = text = text.rpartition(self.before_last)[0] or text
        if self.values is None:
            return value
        if text in self.values:
            return self.values[text]
        return self.values.get("*", value) if text else ""


def bind(fields, headers, spec):
    """Match the fields of a sheet class with the headers of a file.

    Returns {field name: Source}. Raises SheetError naming the field or header that does not fit.
    """
    unknown = set(spec) - _SPEC_NAMES
    if unknown:
        raise SheetError(
            f"The mapping has '{sorted(unknown)[0]}', which is not part of a mapping. Its parts are: {', '.join(sorted(_SPEC_NAMES))}."
        )
    columns = spec.get("columns")
    if not isinstance(columns, (dict, type(None))):
        raise SheetError('"columns" of the mapping is not an object. Write {"columns": {"our name": "their header"}}.')
    if not columns:
        return _by_header(fields, headers)
    wrong = sorted(set(columns) - set(fields))
    if wrong:
        raise SheetError(f"The mapping names the field '{wrong[0]}', which this sheet does not have. It has: {', '.join(fields)}.")
    return {name: _source(name, given, headers) for name, given in columns.items()}


def _by_header(fields, headers):
    known, earlier = {}, {}
    for name, field in fields.items():
        known[name.casefold()] = known[field.column_name.casefold()] = name
        earlier |= {header.casefold(): name for header in field.was}
    found = {}
    for names in (known, earlier):  # a header of today goes before one that a sheet had earlier
        for number, header in enumerate(headers):
            name = names.get(header.casefold())
            if name and name not in found:
                found[name] = Source(number, header)
    if not found:
        ours = ", ".join(field.column_name for field in fields.values())
        raise SheetError(f"None of the columns ({', '.join(headers)}) is one of ours ({ours}). Map your columns, or use the template.")
    return found


def missing_headers(spec, headers):
    """{field name: header} of what a mapping takes from columns the file does not have."""
    wanted = {name: given.get("from") if isinstance(given, dict) else given for name, given in (spec.get("columns") or {}).items()}
    return {name: header for name, header in wanted.items() if header and header not in headers}


def _source(name, given, headers):
    if isinstance(given, str):
        given = {"from": given}
    if not isinstance(given, dict) or set(given) - _SOURCE_NAMES or ("from" in given) == ("constant" in given):
        raise SheetError(f'The mapping of \'{name}\' is not understood. Give a column name, or "from" with a rule, or a "constant".')
    for part, value in given.items():
        fits = _is_rule(value) if part == "values" else _is_text_or_number(value) if part == "constant" else isinstance(value, str)
        if not fits:
            raise SheetError(f"The mapping of '{name}' has \"{part}\": {json.dumps(value)}. {_EXPECTED[part]}")
    if "constant" in given:
        return Source(None, "", constant=given["constant"])
    if given["from"] not in headers:
        raise SheetError(f"The mapping takes '{name}' from the column '{given['from']}', but the file has: {', '.join(headers)}.")
    return Source(headers.index(given["from"]), given["from"], **{part: value for part, value in given.items() if part != "from"})


def _is_text_or_number(value):
    return isinstance(value, (str, int, float))


def _is_rule(value):
    return isinstance(value, dict) and all(_is_text_or_number(ours) for ours in value.values())


_EXPECTED = {
    "from": "Write the header of their column as a text.",
    "constant": "Write the one value every row takes, as a text or a number.",
    "values": 'Write {"their value": "our value"}, with "" for a blank cell and "*" for anything else.',
    "after_last": "Write the character after which the value begins, as a text.",
    "before_last": "Write the character before which the value ends, as a text.",
}
