"""One cell of the folder of `export_book`: a value of a column as text, and the text as the value again. Each is exact.

Days are ISO 8601, with the year or the month alone where no more is known, moments ISO 8601 in UTC with microseconds, yes and no are true
and false, lists and nested values are JSON with sorted keys, numbers have a point and no separator. An empty cell is an empty text in a
column of text, and no value in any other.
"""

import json
import re
import uuid
from datetime import UTC, date, datetime
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from django.db import models

from registry.calc.shared.part_dates import read_some_date
from registry.models.shared.part_date_field import PartDateField

__all__ = ["CellFault", "cell_reader", "cell_writer", "field_kind"]

_WHOLE = re.compile(r"-?(0|[1-9][0-9]*)")
_MOMENT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_REMEMBERED = 4_096  # days, moments and the like are the same in many rows


class CellFault(ValueError):
    """Why a cell cannot be read, in words."""


def field_kind(field) -> str:
    """What a column holds: text, whole, number, decimal, yes_no, day, part_day, moment, uuid or json."""
    if field.related_model:
        field = field.target_field
    for types, kind in _KINDS:
        if isinstance(field, types):
            return kind
    raise TypeError(f"{field}: say in book_cells how a column of this kind is written to the folder of export_book")


_KINDS = (
    (models.DateTimeField, "moment"),
    (models.DateField, "day"),
    (PartDateField, "part_day"),
    (models.BooleanField, "yes_no"),
    (models.DecimalField, "decimal"),
    (models.FloatField, "number"),
    (models.IntegerField, "whole"),
    (models.JSONField, "json"),
    (models.UUIDField, "uuid"),
    ((models.CharField, models.TextField, models.FileField), "text"),
)


def cell_writer(field):
    """The function that writes a value of a column as text; None where the value is that text already."""
    return _WRITERS[field_kind(field)]


def cell_reader(field):
    """The function that reads the text of a cell as the value of a column. It raises `CellFault`."""
    kind = field_kind(field)
    if kind == "text":
        return _text
    read = _READERS[kind]
    if kind in _FEW:
        read = lru_cache(_REMEMBERED)(read)

    def value(text):
        if text == "":
            if field.null:
                return None
            raise CellFault("it is empty, and every row has one")
        try:
            return read(text)
        except (ValueError, InvalidOperation, RecursionError) as error:
            raise CellFault(f"“{text[:60]}” is not {_IN_WORDS[kind]}") from error

    return value


def _write_json(value):
    if value is None:
        return ""
    text = json.dumps(value, sort_keys=True, ensure_ascii=False)
    try:
        text.encode()
    except UnicodeEncodeError:  # half of a pair of code units, which UTF-8 cannot write
        return json.dumps(value, sort_keys=True)
    return text


def _write_moment(value):
    return "" if value is None else f"{value.astimezone(UTC).replace(tzinfo=None).isoformat(timespec='microseconds')}Z"


def _write_yes_no(value):
    return "" if value is None else "true" if value else "false"


_WRITERS = {
    "text": None,
    "whole": None,  # the writer of CSV does this, None as an empty cell included
    "uuid": None,
    "number": lambda value: "" if value is None else repr(float(value)),
    "decimal": lambda value: "" if value is None else f"{value:f}",
    "yes_no": _write_yes_no,
    "day": lambda value: "" if value is None else value.isoformat(),
    "part_day": lambda value: "" if value is None else value.isoformat(),
    "moment": _write_moment,
    "json": _write_json,
}


def _text(text):
    return text


def _whole(text):
    if not _WHOLE.fullmatch(text):
        raise ValueError
    return int(text)


def _number(text):
    value = float(text)
    if repr(value) != text:
        raise ValueError
    return value


def _decimal(text):
    value = Decimal(text)
    if f"{value:f}" != text:
        raise ValueError
    return value


def _day(text):
    if not _DAY.fullmatch(text):
        raise ValueError
    return date.fromisoformat(text)


def _moment(text):
    if not _MOMENT.fullmatch(text):
        raise ValueError
    return datetime.fromisoformat(text)


def _json(text):
    return json.loads(text, parse_constant=_no_constant)


def _no_constant(word):
    raise ValueError(word)


def _yes_no(text):
    if text not in {"true", "false"}:
        raise ValueError
    return text == "true"


_READERS = {
    "whole": _whole,
    "number": _number,
    "decimal": _decimal,
    "yes_no": _yes_no,
    "day": _day,
    "part_day": read_some_date,
    "moment": _moment,
    "uuid": uuid.UUID,
    "json": _json,
}
_FEW = {"decimal", "day", "part_day", "moment"}
_IN_WORDS = {
    "whole": "a whole number",
    "number": "a number",
    "decimal": "a decimal number",
    "yes_no": "true or false",
    "day": "a day such as 2026-10-12",
    "part_day": "a day such as 2026-10-12, a month such as 2026-10 or a year",
    "moment": "a moment such as 2026-10-12T14:30:00.000000Z",
    "uuid": "an identifier of 36 characters",
    "json": "JSON",
}
