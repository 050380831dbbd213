"""The hashes of append-only rows: how one is made, and under which names audit entries hold them.

An entry has them under `HASHES` among its changes: {"authorizationversion 12": hash}, and of rows stored by the thousand
{"observation": {"rows": how many, "sum": sum of their hashes}}. A column added to such a table later must be
blank or null in old rows: blanks are left out of the hash.
"""

import json
import math
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import lru_cache
from types import NoneType
from uuid import UUID

from django.apps import apps

from registry.calc.audit.chain import canonical_text, text_sha256
from registry.models.append_only import AppendOnly
from registry.models.audit import stored_name

__all__ = ["HASHES", "OLDER", "HashSum", "append_only_models", "json_value", "record_hashes", "row_name", "sum_words"]

HASHES = "records kept"  # as entries have always named it; no field has this name
OLDER = "older rows of"  # with the name of a type: how many rows older versions stored without a hash, and the sum of their hashes
_CHUNK = 500
_SHARED, _SHARED_MOST = frozenset({str, int, NoneType, date, datetime}), 10_000  # 1, 1.0 and True, or 0.0 and -0.0, would be one
_SUMS_TO = 2**256
_BLANK = (None, "", [], {})


def append_only_models():
    """The record types whose rows never change, the audit trail among them."""
    return [model for model in apps.get_models() if issubclass(model, AppendOnly)]


def row_name(model, pk):
    return f"{stored_name(model)} {pk}"


def record_hashes(queryset, most=None):
    """(pk, SHA-256 of all its columns) of each record, as a stream; many-to-many links are not in it.

    Of at most `most` records, where the caller knows that. A few come in one answer: a cursor on the server of PostgreSQL is opened, read
    until it is empty and closed, and a batch of a phone would hold its locks for four answers instead of one.
    """
    fields = sorted(queryset.model._meta.concrete_fields, key=lambda field: field.attname)
    compiler = queryset.order_by("pk").values_list("pk", *(field.attname for field in fields)).query.get_compiler(queryset.db)
    columns = ()
    for rows in compiler.execute_sql(chunked_fetch=most is None or most > _CHUNK, chunk_size=_CHUNK):
        if not columns:
            converters = compiler.get_converters([column for column, *_rest in compiler.select])
            given = [converters.get(place, ((), None)) for place in range(1, len(fields) + 1)]
            columns = [_Column(field, compiler.connection, *each) for field, each in zip(fields, given, strict=True)]
        keys, *values = zip(*rows, strict=True)
        written = [texts for column, given in zip(columns, values, strict=True) if (texts := column.texts(given))]
        for pk, texts in zip(keys, zip(*written, strict=True), strict=True):
            yield pk, text_sha256("", f"{{{','.join(filter(None, texts))}}}")


class _Column:
    """A column of many rows as it goes into their hashes: its name and `_written`, or "" for a blank.

    What the rows of a load share, such as a day, a status or a stamp, is read and written once.
    """

    def __init__(self, field, connection, converters, expression):
        self.head, self.converters, self.given_to = f"{json.dumps(field.attname)}:", converters, (expression, connection)
        self.known = {}
        self.is_hex = field.get_internal_type() == "UUIDField" and not connection.features.has_native_uuid_field

    def texts(self, values):
        """The texts of the values that the database gave; nothing where all of them are blank."""
        kinds = set(map(type, values))
        if self.is_hex and kinds == {str} and set(map(len, values)) == {32}:
            return [f'{self.head}"{value[:8]}-{value[8:12]}-{value[12:16]}-{value[16:20]}-{value[20:]}"' for value in values]
        if kinds == {int} and not self.converters:
            return [f"{self.head}{value}" for value in values]
        if not kinds <= _SHARED:
            return [self._text(value) for value in values]
        if len(self.known) > _SHARED_MOST:
            self.known.clear()
        different = set(values)
        self.known |= {value: self._text(value) for value in different - self.known.keys()}
        return [self.known[value] for value in values] if any(self.known[value] for value in different) else ()

    def _text(self, value):
        for converter in self.converters:
            value = converter(value, *self.given_to)
        text = _written(value)
        return self.head + text if text else ""


def _written(value):
    """The `json_value` of a column as `canonical_text`, "" for a blank."""
    writer = _WRITERS.get(type(value))
    if writer is not None:
        return writer(value)
    return "" if value in _BLANK else canonical_text(json_value(value))


def sum_words(hashes):
    """Hashes as one: their sum, which does not depend on their order and to which those of later rows are added."""
    return f"{sum(int(sha256, 16) for sha256 in hashes) % _SUMS_TO:064x}"


@dataclass(slots=True)
class HashSum:
    """How many rows, and their hashes as `sum_words` adds them: two of equal rows are equal, and none takes memory for each row."""

    rows: int = 0
    total: int = 0

    def add(self, sha256, rows=1):
        """Add the hash of a row, or the sum of those of several."""
        self.rows += rows
        self.total = (self.total + int(sha256, 16)) % _SUMS_TO


def json_value(value):
    """A column as it goes into a hash or an entry; equal values give equal text on both databases."""
    if value is None:
        return None
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return value if isinstance(value, (str, int, float, list, dict)) else str(value)


@lru_cache(maxsize=1_000)  # rows that came together have one day and one stamp
def _moment_written(value):
    return f'"{json_value(value)}"'


# types that most columns have, as `_written` would write them, without a look at any other
_WRITERS = {
    NoneType: lambda value: "",
    str: lambda value: json.encoder.encode_basestring_ascii(value) if value else "",
    int: int.__repr__,
    date: _moment_written,
    datetime: _moment_written,
    UUID: lambda value: f'"{value}"',
    float: lambda value: float.__repr__(value) if math.isfinite(value) else canonical_text(value),
}
