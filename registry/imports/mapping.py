"""How the columns of somebody's own sheet become ours: made once, kept by name, read from a JSON file by the command.

A mapping is a dict:

    {"columns": {"tag": "Plant_ID",                                        the column as it stands
                 "planting": {"constant": "PL-01"},                        the same value in every row
                 "status": {"from": "Height", "values": {"": "D", "*": "A"}},   a stated rule: blank is D, else A
                 "site": {"from": "Plot", "after_last": "_", "values": {"FS": "Finzel"}}},
     "delimiter": "semicolon", "sheet": "2024", "header_row": 3, "decimal": ",", "dates": "DD.MM.YYYY"}

Fields that are not named take the column whose header is theirs, when there is one and `columns` is left out.
"""

from dataclasses import dataclass

from registry.imports.table import SheetError

_SPEC_NAMES = {"columns", "delimiter", "sheet", "header_row", "decimal", "dates", "kind", "about"}
_SOURCE_NAMES = {"from", "constant", "values", "after_last", "before_last"}


@dataclass(frozen=True, slots=True)
class Source:
    """Where the cells of one field come from: a column number or a constant, and a stated change on the way."""

    column: int | None
    header: str
    constant: str = ""
    values: dict | None = None
    after_last: str = ""
    before_last: str = ""

    @property
    def plain(self):
        return self.column is not None and self.values is None and not self.after_last and not self.before_last

    def cell(self, row):
        """The cell of this field in a row of the sheet, after the stated change."""
        if self.column is None:
            return self.constant
        value = row[self.column]
        if self.plain:
            return value
        text = "" if value is None else str(value).strip()
        if self.after_last:
            text = text.rpartition(self.after_last)[2]
        if self.before_last:
            text = text.rpartition(self.before_last)[0] or text
        if self.values is None:
            return text
        if text in self.values:
            return self.values[text]
        return self.values.get("*", text) if text else ""


def bind(fields, headers, spec):
    """Match the fields of a sheet class with the headers of a file.

    Returns {field name: Source}. Raises SheetError naming the field or header that does not fit.
    """
    unknown = set(spec) - _SPEC_NAMES
    if unknown:
        raise SheetError(f"The mapping has '{sorted(unknown)[0]}', which is not known. Known are: {', '.join(sorted(_SPEC_NAMES))}.")
    columns = spec.get("columns")
    if not columns:
        return _by_header(fields, headers)
    wrong = sorted(set(columns) - set(fields))
    if wrong:
        raise SheetError(f"The mapping names the field '{wrong[0]}', which this sheet does not have. It has: {', '.join(fields)}.")
    return {name: _source(name, given, headers) for name, given in columns.items()}


def _by_header(fields, headers):
    known = {}
    for name, field in fields.items():
        known[name.casefold()] = known[field.column_name.casefold()] = name
    found = {}
    for number, header in enumerate(headers):
        name = known.get(header.casefold())
        if name and name not in found:
            found[name] = Source(number, header)
    if not found:
        ours = ", ".join(field.column_name for field in fields.values())
        raise SheetError(f"None of the columns ({', '.join(headers)}) is one of ours ({ours}). Map your columns, or use the template.")
    return found


def _source(name, given, headers):
    if isinstance(given, str):
        given = {"from": given}
    if not isinstance(given, dict) or set(given) - _SOURCE_NAMES or ("from" in given) == ("constant" in given):
        raise SheetError(f'The mapping of \'{name}\' is not understood. Give a column name, or "from" with a rule, or a "constant".')
    if "constant" in given:
        return Source(None, "", constant=str(given["constant"]))
    if given["from"] not in headers:
        raise SheetError(f"The mapping takes '{name}' from the column '{given['from']}', but the file has: {', '.join(headers)}.")
    values = {str(key): value for key, value in given["values"].items()} if "values" in given else None
    return Source(
        headers.index(given["from"]), given["from"], values=values,
        after_last=given.get("after_last", ""), before_last=given.get("before_last", ""),
    )  # fmt: skip
