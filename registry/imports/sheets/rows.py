"""Rows to use: which rows of a file a mapping takes.

    [{"column": "Plot", "blank": false}, {"column": "Site", "is": ["Finzel", "Cranesville"]}, {"column": "Notes", "lacks": "exclude"}]

A row is used where all of them hold: "blank" true or false, "is" and "is_not" one of the values, "contains" and "lacks" a text in the
cell. Neither case nor surrounding spaces count.
"""

import json

from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.text import cell_text, header_text

_EXAMPLE = 'Write [{"column": "Plot", "blank": false}] or, in place of "blank", one of is, is_not, contains, lacks.'


def rows_used(numbered, headers, spec):
    """[(number in the sheet, row)] of those rows that hold anything and that the mapping uses. Raises SheetError."""
    numbered = [(number, row) for number, row in numbered if any(map(cell_text, row))]
    tests = [_test(condition, headers) for condition in _conditions(spec)]
    return [(number, row) for number, row in numbered if all(test(row) for test in tests)] if tests else numbered


def _conditions(spec):
    conditions = spec.get("rows", [])
    if not isinstance(conditions, list):
        raise SheetError(f'"rows" of the mapping is {json.dumps(conditions)}. {_EXAMPLE}')
    return conditions


def _test(condition, headers):
    if not isinstance(condition, dict) or len(condition) != 2 or not isinstance(condition.get("column"), str):
        raise SheetError(f'"rows" of the mapping has {json.dumps(condition)}. {_EXAMPLE}')
    header = header_text(condition["column"])
    if header not in headers:
        raise SheetError(f"The mapping uses rows by the column '{header}', but the file has: {', '.join(headers)}.")
    column = headers.index(header)
    [(name, wanted)] = [(name, wanted) for name, wanted in condition.items() if name != "column"]
    if name == "blank" and isinstance(wanted, bool):
        return lambda row: (not cell_text(row[column])) is wanted
    values = wanted if isinstance(wanted, list) else [wanted]
    if name not in _TESTS or not values or not all(type(value) in (str, int, float) for value in values):
        raise SheetError(f'"rows" of the mapping has {json.dumps(condition)}. {_EXAMPLE}')
    texts = {cell_text(value).casefold() for value in values}
    return lambda row: _TESTS[name](cell_text(row[column]).casefold(), texts)


_TESTS = {
    "is": lambda text, texts: text in texts,
    "is_not": lambda text, texts: text not in texts,
    "contains": lambda text, texts: any(part in text for part in texts),
    "lacks": lambda text, texts: not any(part in text for part in texts),
}
