"""What an answer of the read-only interface is made of: the one declaration that its values and its OpenAPI description come from.

Source
------
Definition of this programme; names of types and formats: OpenAPI Specification 3.1.1 and JSON Schema 2020-12.
"""

import math
from collections.abc import Callable
from typing import NamedTuple

from registry.calc.shared.part_dates import SomeDate

TEXT, WHOLE, NUMBER, YES_NO, DAY, PART_DATE, MOMENT = "text", "whole", "number", "yes_no", "day", "part_date", "moment"
SCHEMAS = {
    TEXT: {"type": "string"},
    WHOLE: {"type": "integer"},
    NUMBER: {"type": "number"},
    YES_NO: {"type": "boolean"},
    DAY: {"type": "string", "format": "date"},
    PART_DATE: {"type": "string", "pattern": "^[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?$"},
    MOMENT: {"type": "string", "format": "date-time"},
}


class Field(NamedTuple):
    """One value of a shape.

    `type` is one of the above or a Shape. `read` is the name of an attribute, dotted where it is one of an attribute, or a function of
    (row, whole answer); "" is the name of the field. `many` makes a list of it; `codes`
    and `measured_in`, the unit, are blank where it has none.
    `null` says that it may be missing; a number always may, since not every figure can be told.
    """

    name: str
    type: "str | Shape"
    meaning: str
    read: "str | Callable" = ""
    measured_in: str = ""
    codes: tuple[str, ...] = ()
    many: bool = False
    null: bool = False

    def value(self, row: object, answer: object) -> object:
        found = self.read(row, answer) if callable(self.read) else _follow(row, self.read or self.name)
        if found is None:
            return None
        one = self.type.values if isinstance(self.type, Shape) else _plain
        return [one(part, answer) for part in found] if self.many else one(found, answer)


class Shape(NamedTuple):
    """An object of an answer: its name in the description, what it is, and its fields."""

    name: str
    meaning: str
    fields: tuple[Field, ...]

    def values(self, row: object, answer: object = None) -> dict[str, object]:
        """The object as plain values; `answer` is what it is a part of, for fields that need it."""
        return {field.name: field.value(row, answer) for field in self.fields}


def _follow(row, path):
    for name in path.split("."):
        if row is None:
            return None
        row = row.get(name) if isinstance(row, dict) else getattr(row, name)
    return row


def _plain(value, _answer):
    """A value as JSON has it: no infinity and no NaN, days and moments as ISO 8601."""
    if isinstance(value, bool | int):
        return value
    if isinstance(value, SomeDate):  # a moment is one too
        return value.isoformat()
    if hasattr(value, "dtype"):
        value = value.item()
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return str(value) if isinstance(value, str) else value
