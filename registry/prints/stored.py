"""A print as text that is stored and read back: canonical JSON, so that equal prints have equal hashes."""

import dataclasses
import json

from registry.calc.shared import shapes
from registry.calc.shared.part_dates import SomeDate, read_some_date
from registry.prints import document
from registry.prints.document import Document

__all__ = ["canonical_json", "document_value", "read_document"]

_IS = "is"  # names the class of a value, such as "Table"
_DATE = "day"


def canonical_json(value: object) -> str:
    """Plain values as JSON with sorted keys, without spaces, in Unicode.

    Source
    ------
    The form of RFC 8785 for texts and whole numbers (from memory); other numbers are written as Python does.

    Examples
    --------
    >>> canonical_json({"b": [1, "é"], "a": None})
    '{"a":null,"b":[1,"é"]}'
    """
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def document_value(printed: Document) -> dict:
    """A document as values that JSON takes."""
    return _plain(printed)


def read_document(value: dict) -> Document:
    """The document of `document_value`; of a later version of this program, without the fields that version left out."""
    return _read(value)


def _plain(value):
    if dataclasses.is_dataclass(value):
        fields = {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
        return {_IS: type(value).__name__} | fields
    if isinstance(value, (tuple, list)):
        return [_plain(item) for item in value]
    if isinstance(value, SomeDate):
        return {_IS: _DATE, _DATE: value.isoformat()}
    return str(value) if isinstance(value, str) else value


def _read(value):
    if isinstance(value, list):
        return tuple(_read(item) for item in value)
    if not isinstance(value, dict):
        return value
    if value[_IS] == _DATE:
        return read_some_date(value[_DATE])
    kind = getattr(document, value[_IS], None) or getattr(shapes, value[_IS])
    known = {field.name for field in dataclasses.fields(kind)}
    return kind(**{name: _read(item) for name, item in value.items() if name in known})
