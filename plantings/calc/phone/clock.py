"""The day of a record that a phone sends: worked out from the difference between the two clocks at the moment of sending.

The clock of a phone may be wrong. What it showed is said in the note, where the day was worked out otherwise.
"""

import re

from plantings.calc.phone.sent import SentHead

__all__ = ["note_typed", "note_with_clock", "seen_ms"]

_CLOCK_NOTE = re.compile(r"\s*\[phone clock: [0-9]{4,6}-[0-9]{2}-[0-9]{2}\]$")


def seen_ms(record: SentHead, clock_ms: int, now_ms: int) -> int:
    """When a record was made, by the clock of the server.

    Parameters
    ----------
    record : SentHead
    clock_ms : int
        What the clock of the phone said when it sent the batch, in milliseconds since 1970.
    now_ms : int
        What the clock of the server says, in the same unit.

    Returns
    -------
    int
        Milliseconds since 1970. Never later than `now_ms`, and never before the phone fetched the round: outside of these the clock
        of the phone was changed between the record and the sending.

    Source
    ------
    Definition of this programme: what one clock is ahead of another is the same at the record and at the sending.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> seen_ms(SimpleNamespace(at_ms=9_000, loaded_ms=None), clock_ms=10_000, now_ms=5_000)
    4000
    """
    found = min(record.at_ms + now_ms - clock_ms, now_ms)
    return max(found, 0 if record.loaded_ms is None else min(record.loaded_ms, now_ms), 0)


def note_with_clock(note: str, said: str) -> str:
    """A note that also says which day the phone showed, for a record whose day was worked out otherwise.

    Source
    ------
    A wording: no source.

    Examples
    --------
    >>> note_with_clock("leaning", "2031-01-01")
    'leaning [phone clock: 2031-01-01]'
    """
    return f"{note} [phone clock: {said}]".strip()


def note_typed(note: str) -> str:
    """A note as it was typed: without what `note_with_clock` added.

    Source
    ------
    A wording: no source.

    Examples
    --------
    >>> note_typed("leaning [phone clock: 2031-01-01]")
    'leaning'
    """
    return _CLOCK_NOTE.sub("", note)
