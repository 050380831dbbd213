"""Tables as the templates take them: columns that are declared, rows of cells."""

import datetime
from dataclasses import dataclass

from django.utils import timezone

from registry.calc.shared.screen import unit_words


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a list: `value` is a dotted path or a function of the record; `kind` a word or a function; `url` a function."""

    label: str
    value: object
    align: str = "left"
    kind: object = None
    url: object = None

    def cell(self, record):
        value = self.value(record) if callable(self.value) else _follow(record, self.value)
        kind = self.kind(record) if callable(self.kind) else self.kind
        return value, self.align, self.url(record) if self.url else None, kind


@dataclass(frozen=True, slots=True)
class Row:
    cells: list
    mark: str = ""


def as_cell(value):
    """A shown value as a cell of a sheet: numbers stay numbers, days and moments are ISO 8601, the rest is text.

    A moment is written as the clock of the programme showed it, with its offset, so that its day is the day on the page.
    """
    if isinstance(value, datetime.datetime) and timezone.is_aware(value):
        return timezone.localtime(value).isoformat()
    if isinstance(value, (datetime.date, datetime.datetime)):
        return value.isoformat()
    return value if isinstance(value, (int, float)) else "" if value is None else str(value)


def _follow(record, path):
    for name in path.split("."):
        record = getattr(record, name) if record is not None else None
        if callable(record):
            record = record()
    return record


def ledger_table(title, columns, records, *, unit="rows", empty="", note="", downloads=(), mark=None):
    """A table as the templates take it: the dict of one part of a record page."""
    rows = [Row([column.cell(record) for column in columns], mark(record) if mark else "") for record in records]
    return {
        "title": title,
        "note": note,
        "columns": [(str(number), column.label, column.align) for number, column in enumerate(columns)],
        "rows": rows,
        "count": len(rows),
        "unit": unit_words(len(rows), unit),
        "downloads": downloads,
        "empty": empty,
    }
