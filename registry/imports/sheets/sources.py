"""Where the cells of one field come from, and what is changed on the way.

A column of ours takes one of

    "Height"                                                     their column
    {"from": "Height", …}                                        their column, changed
    {"constant": "PL-01"}                                        the same value in every row
    {"join": ["Plot", "Tree"], "with": "-", …}                   several, joined; blank when one of them is ("skip_blank": true: the rest)
    {"first_of": ["Height 2", "Height 1"], …}                    the first that is not blank
    {"given": "year", …}                                         from the name of the file or its sheet, or given with the file
    {"visit": "height", …}                                       what the visit names so

and these changes, in this order: "split" with "part" (from 1, or -1 for the last), "pattern" with "take", "after_last", "before_last",
"values" with "rest", "unit".
"""

import json

from registry.imports.sheets.changes import CHANGES, Changes
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.text import cell_text, header_text

_PLACES = ("from", "constant", "join", "first_of", "given", "visit")
_WITH_JOIN = {"with", "skip_blank"}
_DEEPEST = 4


class Source:
    """Where the cells of one field come from: a column, a constant, or several of these, and a stated change on the way."""

    __slots__ = ("change", "column", "columns", "constant", "gather", "header")

    def __init__(self, column, header, constant="", change=None, gather=None, columns=None):
        self.column, self.header, self.constant, self.change, self.gather = column, header, constant, change, gather
        self.columns = columns if columns is not None else () if column is None else (column,)

    @property
    def copies_column(self):
        """Whether cells are taken from a column as they are."""
        return self.column is not None and self.change is None

    def cell(self, row):
        """The cell of this field in a row of the sheet, after the stated change. Raises CellError."""
        value = self._given(row)
        return value if self.change is None else self.change(value)

    def said(self, row):
        """What the row itself says for this field, for a message about it."""
        if self.gather is None:
            return cell_text(self._given(row))
        return " | ".join(cell_text(row[column]) for column in self.columns)

    def _given(self, row):
        if self.gather is not None:
            return self.gather(row)
        return self.constant if self.column is None else row[self.column]


class SourceMaker:
    """Makes the sources of one visit of a file from what the mapping says."""

    def __init__(self, headers, spec, visit):
        self.headers, self.visit, self.decimal = headers, visit, spec.get("decimal") or "."
        self.given = spec.get("given") or {}
        if not isinstance(self.given, dict) or not all(_is_text_or_number(value) for value in self.given.values()):
            raise SheetError('"given" of the mapping is not a list of names and values. Write {"given": {"year": "2022"}}.')
        self._taken = set()

    def visit_columns(self):
        """Numbers of the columns that the fields take from the visit."""
        return tuple(sorted(self._taken))

    def source(self, name, given, header="", depth=0):
        """The source of a field; `header` is ours, whose unit a length is turned into."""
        if isinstance(given, str):
            given = {"from": given}
        places = [place for place in _PLACES if isinstance(given, dict) and place in given]
        allowed = {*places, *CHANGES} | (_WITH_JOIN if places == ["join"] else set())
        if len(places) != 1 or set(given) - allowed or depth > _DEEPEST:
            raise SheetError(
                f"The mapping of '{name}' is not understood. Give a column name, or one of {', '.join(_PLACES)}, and changes of it "
                f"({', '.join(CHANGES)})."
            )
        made = getattr(self, f"_{places[0]}")(name, given, depth)
        change = Changes.read(name, given, header, self.decimal)
        if change is None:
            return made
        if made.change is not None:
            change = _then(made.change, change)
        return Source(made.column, made.header, made.constant, change, made.gather, made.columns)

    def _from(self, name, given, depth):
        header = given["from"]
        if not isinstance(header, str):
            refuse(name, given, "from", "Write the header of their column as a text.")
        header = header_text(header)
        if header not in self.headers:
            raise SheetError(f"The mapping takes '{name}' from the column '{header}', but the file has: {', '.join(self.headers)}.")
        return Source(self.headers.index(header), header)

    def _constant(self, name, given, depth):
        if not _is_text_or_number(given["constant"]):
            refuse(name, given, "constant", "Write the one value every row takes, as a text or a number.")
        return Source(None, "", constant=given["constant"])

    def _given(self, name, given, depth):
        word = given["given"]
        if not isinstance(word, str) or word not in self.given:
            known = ", ".join(self.given) or "none"
            raise SheetError(
                f"The mapping takes '{name}' from {json.dumps(word)}, which nothing gives (known: {known}). Give it with --set {word}=…, "
                'under "given" of the mapping, or as a place of "file_name" or "sheet_name".'
            )
        return Source(None, "", constant=self.given[word])

    def _visit(self, name, given, depth):
        word = given["visit"]
        if not isinstance(word, str) or self.visit is None or word not in self.visit:
            known = ", ".join(self.visit or ()) or "none"
            raise SheetError(
                f"The mapping takes '{name}' from {json.dumps(word)} of the visit, and \"visits\" does not name it (known: {known})."
            )
        made = self.source(name, self.visit[word], depth=depth + 1)
        self._taken |= set(made.columns)
        return made

    def _parts(self, name, given, place, depth):
        listed = given[place]
        if not isinstance(listed, list) or not listed:
            refuse(name, given, place, 'Write a list of their columns, such as ["Plot", "Tree"].')
        return [self.source(name, part, depth=depth + 1) for part in listed]

    def _join(self, name, given, depth):
        parts, sign, skips = self._parts(name, given, "join", depth), given.get("with", ""), given.get("skip_blank", False)
        if not isinstance(sign, str):
            refuse(name, given, "with", "Write the sign between the parts as a text.")
        if not isinstance(skips, bool):
            refuse(name, given, "skip_blank", "Write true or false.")

        def gather(row):
            texts = [cell_text(part.cell(row)) for part in parts]
            filled = [text for text in texts if text]
            return sign.join(filled) if skips or len(filled) == len(texts) else ""

        return _gathered(parts, gather)

    def _first_of(self, name, given, depth):
        parts = self._parts(name, given, "first_of", depth)

        def gather(row):
            return next((value for part in parts if cell_text(value := part.cell(row))), "")

        return _gathered(parts, gather)


def _gathered(parts, gather):
    headers = dict.fromkeys(part.header for part in parts if part.header)
    columns = dict.fromkeys(column for part in parts for column in part.columns)
    return Source(None, " + ".join(headers), gather=gather, columns=tuple(columns))


def _then(first, second):
    return lambda value: second(first(value))


def headers_named(given, depth=0):
    """Every header that what a mapping says of one field names; nothing where it cannot be read."""
    if isinstance(given, str):
        return [header_text(given)]
    if not isinstance(given, dict) or depth > _DEEPEST:
        return []
    named = [header_text(given["from"])] if isinstance(given.get("from"), str) else []
    for place in ("join", "first_of"):
        parts = given.get(place)
        for part in parts if isinstance(parts, list) else ():
            named += headers_named(part, depth + 1)
    return named


def refuse(name, given, part, expected):
    """Raise SheetError for a part of what the mapping says of a field."""
    raise SheetError(f"The mapping of '{name}' has \"{part}\": {json.dumps(given[part])}. {expected}")


def _is_text_or_number(value):
    return isinstance(value, (str, int, float))
