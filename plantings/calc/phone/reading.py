"""One record as a phone sends it, read without trust.

A phone may be old and its sender anybody. So every value is looked at before it becomes part of a row.
"""

import re
from collections.abc import Iterable
from uuid import UUID

from plantings.calc.census.measurements import MEASUREMENTS, Measurement
from plantings.calc.phone.clock import note_typed
from plantings.calc.phone.sent import SentCautions, SentCount, SentRecord
from plantings.calc.results import Finding
from registry.calc.shared.hidden_signs import HIDDEN_SIGN, hidden_sign
from registry.calc.shared.marked import gettext_noop

__all__ = [
    "OBSERVER_LENGTH_MAX",
    "UnreadableRecord",
    "read_cautions",
    "read_count",
    "read_record",
    "sent_uuid",
]

OBSERVER_LENGTH_MAX = 120  # the width of its column in the database
_TEXT_LENGTH_MAX = 10_000  # longer texts are refused unread; the rules of a row say what is too long
_NUMBER_MAX = 10**9
_KEY_MAX = 2**63 - 1
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_DAY = re.compile(r"[0-9]{4,6}-[0-9]{2}-[0-9]{2}")
_WORDING = re.compile(r"[0-9a-f]{64}")
_VERSIONS_MAX = 200
_HEAD = frozenset({"uuid", "observer", "at", "said", "loaded", "corrects"})
_NAMED = frozenset({"observer", "status", "cause", "language"})  # texts of one line
_NAMES = _HEAD | {"tree", "status", "cause", "values", "note"}


class UnreadableRecord(ValueError):
    """A record that cannot be taken as it came. `finding` says why, in words that can be translated."""

    def __init__(self, words: str, **values: object) -> None:
        self.finding = Finding("", "error", words, values)
        super().__init__(self.finding.message)


def read_record(sent: object, own: Iterable[Measurement] = ()) -> SentRecord:
    """Read one record of a batch.

    Parameters
    ----------
    sent : object
        Anything that JSON can say. A value of a measurement is a number or one of its codes; a blank is left out.
    own : iterable of Measurement
        The programme's own measurements that the round asks for.

    Raises
    ------
    UnreadableRecord
        When a part is missing, unknown, or of another kind than it must be.

    Source
    ------
    A form of our own: no source. Identifiers are those of RFC 9562, in small letters.

    Examples
    --------
    >>> read_record({"uuid": "not one"})
    Traceback (most recent call last):
    plantings.calc.phone.reading.UnreadableRecord: The identifier of this record cannot be read. Load the page of the census again.
    """
    head = _head(sent, _NAMES)
    return SentRecord(
        tree=_whole(sent, "tree", 1, _KEY_MAX),
        status=_text(sent, "status", 10),
        cause=_text(sent, "cause", 40),
        values=_values(sent.get("values", {}), {item.field: item for item in (*MEASUREMENTS, *own)}),
        note=_note(sent),
        **head,
    )


def read_count(sent: object) -> SentCount:
    """Read the count of a plot from a batch: anything that JSON can say.

    Raises
    ------
    UnreadableRecord
        As `read_record` does.

    Source
    ------
    A form of our own: no source.

    Examples
    --------
    >>> read_count({"uuid": "6ba7b810-9dad-41d1-80b4-00c04fd430c8", "plot": 3, "alive": 31, "dead": "four", "at": 0})
    Traceback (most recent call last):
    plantings.calc.phone.reading.UnreadableRecord: The part “dead” of this record cannot be read. Enter it again.
    """
    head = _head(sent, _HEAD | {"plot", "alive", "dead", "note"})
    return SentCount(
        plot=_whole(sent, "plot", 1, _KEY_MAX),
        alive=_whole(sent, "alive", 0, _NUMBER_MAX),
        dead=_whole(sent, "dead", 0, _NUMBER_MAX),
        note=_note(sent),
        **head,
    )


def read_cautions(sent: object) -> SentCautions:
    """Read from a batch that somebody read the cautions of a round: anything that JSON can say.

    Raises
    ------
    UnreadableRecord
        As `read_record` does, and without a name.

    Source
    ------
    A form of our own: no source.

    Examples
    --------
    >>> read_cautions({"uuid": "6ba7b810-9dad-41d1-80b4-00c04fd430c8", "wording": "short", "observer": "Mia", "at": 0})
    Traceback (most recent call last):
    plantings.calc.phone.reading.UnreadableRecord: The part “wording” of this record cannot be read. Enter it again.
    """
    head = _head(sent, _HEAD - {"corrects"} | {"wording", "language", "versions"})
    versions = sent.get("versions", [])
    if not isinstance(sent.get("wording"), str) or not _WORDING.fullmatch(sent["wording"]):
        raise _unreadable("wording")
    if (
        not isinstance(versions, list)
        or len(versions) > _VERSIONS_MAX
        or not all(isinstance(one, str) and len(one) <= 60 for one in versions)
    ):
        raise _unreadable("versions")
    language = _text(sent, "language", 7)
    if not head["observer"]:
        raise _unreadable("observer")
    return SentCautions(wording=sent["wording"], language=language, versions=tuple(sorted(set(versions))), **head)


def _head(sent: object, names: frozenset[str]) -> dict:
    """What every record of a batch has, of one that has no other parts than `names`."""
    uuid = sent_uuid(sent.get("uuid")) if isinstance(sent, dict) else None
    if uuid is None:
        raise UnreadableRecord(gettext_noop("The identifier of this record cannot be read. Load the page of the census again."))
    if unknown := sorted(map(str, set(sent) - names)):
        raise UnreadableRecord(
            gettext_noop("“%(name)s” is not a part of a record. Load the page of the census again."), name=unknown[0][:40]
        )
    corrects = None
    if sent.get("corrects") is not None and (corrects := sent_uuid(sent["corrects"])) is None:
        raise _unreadable("corrects")
    return {
        "uuid": uuid,
        "observer": _text(sent, "observer", OBSERVER_LENGTH_MAX).strip(),
        "at_ms": _whole(sent, "at", -_KEY_MAX, _KEY_MAX),
        "said": _day(sent.get("said", "")),
        "loaded_ms": None if sent.get("loaded") is None else _whole(sent, "loaded", -_KEY_MAX, _KEY_MAX),
        "corrects": corrects,
    }


def _note(sent: dict) -> str:
    return note_typed(_text(sent, "note", _TEXT_LENGTH_MAX).strip())


def sent_uuid(text: object) -> UUID | None:
    """An identifier as a phone writes it, or None when it is not one.

    Source
    ------
    RFC 9562, its text form in small letters.

    Examples
    --------
    >>> sent_uuid("not one") is None
    True
    """
    return UUID(text) if isinstance(text, str) and _UUID.fullmatch(text) else None


def _unreadable(name: str) -> UnreadableRecord:
    return UnreadableRecord(gettext_noop("The part “%(name)s” of this record cannot be read. Enter it again."), name=name)


def _whole(sent: dict, name: str, low: int, high: int) -> int:
    value = sent.get(name)
    if type(value) is not int or not low <= value <= high:
        raise _unreadable(name)
    return value


def _text(sent: dict, name: str, most: int) -> str:
    value = sent.get(name, "")
    if not isinstance(value, str) or len(value) > most or "\0" in value:
        raise _unreadable(name)
    try:
        value.encode()
    except UnicodeEncodeError:  # half of a pair of surrogates: no database stores it
        raise _unreadable(name) from None
    if found := hidden_sign(value, one_line=name in _NAMED):
        raise UnreadableRecord(HIDDEN_SIGN, **found)
    return value


def _day(value: object) -> str:
    return value if isinstance(value, str) and _DAY.fullmatch(value) else ""


def _values(sent: object, known: dict[str, Measurement]) -> dict[str, float | int | str]:
    if not isinstance(sent, dict):
        raise _unreadable("values")
    found = {}
    for name, value in sent.items():
        item = known.get(name)
        if item is None:
            raise UnreadableRecord(gettext_noop("“%(name)s” is not a measurement of the census."), name=name[:40])
        if value not in (None, ""):
            found[name] = _reading(item, value)
    return found


def _reading(item: Measurement, value: object) -> float | int | str:
    """A value as its column holds it. Whether it is within its list or range is for the rules of a row."""
    if item.is_word:
        if isinstance(value, str) and len(value) <= 40:
            return value
    elif type(value) in (int, float) and abs(value) <= _NUMBER_MAX:  # NaN is no such number
        if not item.is_whole:
            return float(value)
        if value == int(value):
            return int(value)
        raise UnreadableRecord(gettext_noop("%(label)s: %(value)s is not a whole number."), label=item.label, value=f"{value:g}")
    raise UnreadableRecord(gettext_noop("%(label)s cannot be read. Enter it again."), label=item.label)
