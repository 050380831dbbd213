"""Questions, facts and answers to plain JSON and back, so that a stored determination can be answered again years later.

Source
------
Definition of this programme for all functions here. The text is JSON (RFC 8259).
"""

import json
from dataclasses import MISSING, fields, is_dataclass
from datetime import date
from functools import cache
from types import NoneType, UnionType
from typing import Any, get_args, get_origin, get_type_hints

from registry.compliance.gate.answers import Answer
from registry.compliance.gate.facts import Facts, Question

FORMAT = 1  # raised when a field changes its meaning; fields added with a default do not raise it
KINDS = {"question": Question, "facts": Facts, "answer": Answer}
_PLAIN = (str, int, bool)
_BEFORE = {"question": {"edition": 3}}  # questions did not name their edition before edition 4


def to_json(value: Question | Facts | Answer) -> dict[str, Any]:
    """A question, facts or an answer as plain JSON values, with their kind and the number of the format.

    Raises
    ------
    TypeError
        When it is something else.

    Examples
    --------
    >>> to_json(Facts())
    {'format': 1, 'kind': 'facts', 'requirements': [], 'papers': []}
    """
    kind = next((name for name, made_of in KINDS.items() if type(value) is made_of), None)
    if kind is None:
        raise TypeError(f"{type(value).__name__} has no stored form. Give a Question, Facts or an Answer.")
    return {"format": FORMAT, "kind": kind} | _json_value(value)


def from_json(stored: dict[str, Any]) -> Question | Facts | Answer:
    """What `to_json` made a record of.

    Parameters
    ----------
    stored : dict
        Fields that are absent take their defaults, as in records older than the field.

    Raises
    ------
    ValueError
        When the format is newer than this one, or a field is unknown, absent without a default, or of another type;
        the message says where.

    Examples
    --------
    >>> from_json({"format": 1, "kind": "question", "activity": "dispatch", "on": "2026-04-01"}).on
    datetime.date(2026, 4, 1)
    """
    if not isinstance(stored, dict) or stored.get("kind") not in KINDS:
        raise ValueError(f"A stored record names its kind: {', '.join(KINDS)}.")
    if stored.get("format") != FORMAT:
        raise ValueError(
            f"The record is of format {stored.get('format')}; this edition reads format {FORMAT}. Use the edition that wrote it."
        )
    body = _BEFORE.get(stored["kind"], {}) | {name: value for name, value in stored.items() if name not in ("format", "kind")}
    return _read(KINDS[stored["kind"]], body, stored["kind"])


def dumps(value: Question | Facts | Answer) -> str:
    """The record as text that is the same for the same value.

    Raises
    ------
    TypeError
        As for `to_json`.

    Examples
    --------
    >>> loads(dumps(Facts())) == Facts()
    True
    """
    return json.dumps(to_json(value), ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def loads(text: str) -> Question | Facts | Answer:
    """What `dumps` wrote.

    Raises
    ------
    ValueError
        When it is not JSON, or `from_json` cannot read it.
    """
    return from_json(json.loads(text))


def _json_value(value: Any) -> Any:
    if is_dataclass(value):
        return {one.name: _json_value(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, tuple):
        return [_json_value(one) for one in value]
    return value.isoformat() if isinstance(value, date) else value


@cache
def _shape(made_of: type) -> tuple[dict[str, Any], frozenset[str]]:
    hints = get_type_hints(made_of)
    needed = frozenset(one.name for one in fields(made_of) if one.default is MISSING and one.default_factory is MISSING)
    return hints, needed


def _read(wanted: Any, value: Any, where: str) -> Any:
    if get_origin(wanted) is UnionType:
        if value is None:
            return None
        wanted = next(one for one in get_args(wanted) if one is not NoneType)
    if is_dataclass(wanted):
        return _read_fields(wanted, value, where)
    if get_origin(wanted) is tuple:
        if not isinstance(value, list):
            raise ValueError(f"{where}: give a list, not {value!r}.")
        inner = get_args(wanted)[0]
        return tuple(_read(inner, one, f"{where}[{place}]") for place, one in enumerate(value))
    if wanted is date:
        return _read_day(value, where)
    if wanted not in _PLAIN or type(value) is not wanted:
        raise ValueError(f"{where}: give {wanted.__name__}, not {value!r}.")
    return value


def _read_fields(wanted: type, value: Any, where: str) -> Any:
    hints, needed = _shape(wanted)
    if not isinstance(value, dict):
        raise ValueError(f"{where}: give fields, not {value!r}.")
    unknown, absent = sorted(value.keys() - hints.keys()), sorted(needed - value.keys())
    if unknown or absent:
        faults = [f"field “{name}” is not known" for name in unknown] + [f"field “{name}” is absent" for name in absent]
        raise ValueError(f"{where}: {'; '.join(faults)}.")
    return wanted(**{name: _read(hints[name], one, f"{where}.{name}") for name, one in value.items()})


def _read_day(value: Any, where: str) -> date:
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError):
        raise ValueError(f"{where}: give a day such as 2026-10-12, not {value!r}.") from None
