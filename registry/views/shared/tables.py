"""Tables as the templates take them: columns that are declared, rows of cells."""

import datetime
from dataclasses import dataclass

from django.urls import reverse
from django.utils import timezone


@dataclass(frozen=True, slots=True)
class Link:
    """The page a cell leads to: a route, the dotted path to its key in the row, and the action needed to open it."""

    route: str
    key: str = "pk"
    may: str = ""

    def address(self, record, user):
        key = follow(record, self.key)
        return reverse(self.route, args=[key]) if key is not None and (not self.may or user.may(self.may)) else None


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: `value` is a dotted path or a function of the record; `kind` a word or a function; `url` a `Link` or a
    function of the record. Who may not do the action `may` does not see the column. `wide` marks the column with the most to say:
    it gets the width the others leave.

    Put what answers the question of the table right after the first column: a phone shows the first three or four.
    """

    label: str
    value: object
    align: str = "left"
    kind: object = None
    url: object = None
    may: str = ""
    wide: bool = False

    @property
    def look(self):
        """How the column is set: its alignment, and whether it is the wide one."""
        return f"{self.align} wide" if self.wide else self.align

    def shown_to(self, user):
        return not self.may or user.may(self.may)

    def cell(self, record, user=None):
        value = self.value(record) if callable(self.value) else follow(record, self.value)
        kind = self.kind(record) if callable(self.kind) else self.kind
        return value, self.look, self._address(record, user), kind

    def _address(self, record, user):
        if self.url is None:
            return None
        return self.url.address(record, user) if isinstance(self.url, Link) else self.url(record)


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


def follow(record, path):
    """The value at a dotted path from a record (a number is a place in a tuple); methods on the way are called. None where the way ends."""
    for name in path.split("."):
        if record is None:
            return None
        record = record[int(name)] if name.isdigit() else getattr(record, name)
        if callable(record):
            record = record()
    return record


def ledger_table(title, columns, records, *, unit="rows", empty="", note="", downloads=(), mark=None, user=None):
    """A table as the templates take it: the dict of one part of a record page."""
    rows = [Row([column.cell(record, user) for column in columns], mark(record) if mark else "") for record in records]
    return {
        "title": title,
        "note": note,
        "columns": [(str(number), column.label, column.look) for number, column in enumerate(columns)],
        "rows": rows,
        "count": len(rows),
        "unit": unit,
        "downloads": downloads,
        "empty": empty,
    }
