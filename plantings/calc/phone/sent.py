"""What a phone sends, once it has been read: a record of a tree, the count of a plot, cautions read."""

from dataclasses import dataclass
from uuid import UUID

__all__ = ["SentCautions", "SentCount", "SentHead", "SentRecord"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SentHead:
    """What every record of a phone has. `at_ms` is when it was made by the clock of the phone, `loaded_ms` when the phone fetched the round
    by the clock of the server, both in milliseconds since 1970 (UTC); `said` is the day the phone showed; `corrects` names the
    record that this one replaces."""

    uuid: UUID
    observer: str
    at_ms: int
    said: str
    loaded_ms: int | None
    corrects: UUID | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SentRecord(SentHead):
    """What was seen at a tree, as far as it can be read."""

    tree: int
    status: str
    cause: str
    values: dict[str, float | int | str]
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SentCount(SentHead):
    """What was counted on a plot, as far as it can be read."""

    plot: int
    alive: int
    dead: int
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SentCautions(SentHead):
    """That somebody read the cautions: the SHA-256 of the wording, the language it was in (blank from a page of before that was sent), and
    the versions of the programme's own ones, such as "TICKS 2"."""

    wording: str
    language: str
    versions: tuple[str, ...]
