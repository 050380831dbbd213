"""The fate of each tree at each census round, calculated from its complete history of records.

A record says what one visit saw. A fate says what is known of the tree at that round once every
later round has been read too: a tree seen alive in year five cannot have died in year three.
`fate_history` spells the definition out for one tree; `planting_fates.py` does a complete planting
at once. Tests compare the two.
"""

from collections.abc import Sequence
from enum import IntEnum


class Status(IntEnum):
    """What one record says; `NONE` where the round has no record of the tree."""

    NONE = 0
    A = 1  # alive, original stem
    AR = 2  # alive by resprout
    D = 3  # dead, remains seen
    NF = 4  # position found, no tree
    NL = 5  # position not located
    NV = 6  # not visited
    RM = 7  # removed for a biological reason
    RX = 8  # removed for any other reason
    SU = 9  # seen, but whether it lives is unclear


class Fate(IntEnum):
    """What is known of a tree at a round, with hindsight. There is no code 0."""

    ALIVE = 1
    ALIVE_RESPROUT = 2
    DEAD = 3
    PRESUMED_DEAD = 4
    NOT_FOUND = 5
    NOT_LOCATED = 6
    NOT_VISITED = 7
    REMOVED = 8  # stays in the denominator
    REMOVED_EXCLUDED = 9  # leaves the denominator
    UNCLEAR = 10


SEEN_ALIVE = {Status.A: Fate.ALIVE, Status.AR: Fate.ALIVE_RESPROUT}
ENDED = {Status.D: Fate.DEAD, Status.RM: Fate.REMOVED, Status.RX: Fate.REMOVED_EXCLUDED}
OPEN = {
    Status.NONE: Fate.NOT_VISITED,
    Status.NV: Fate.NOT_VISITED,
    Status.NF: Fate.NOT_FOUND,
    Status.NL: Fate.NOT_LOCATED,
    Status.SU: Fate.UNCLEAR,
}


def fate_history(statuses: Sequence[int]) -> list[Fate]:
    """The fate of one tree at each of its rounds: the definition, in plain steps.

    Parameters
    ----------
    statuses : sequence of Status (or their integer codes)
        One record per round, in time order.

    Returns
    -------
    list of Fate, one per round.

    Raises
    ------
    ValueError
        When a code is not a `Status`.

    Notes
    -----
    In this order, the first that applies:

    1. Seen alive at this or a later round: alive. It is alive by resprout when the record of this
       round, or failing that the nearest later sighting, says so.
    2. Dead or removed at this or an earlier round, after the last sighting alive: the first such
       record decides. A dead tree that is cleared away later stays dead, and so does one presumed dead.
    3. Not found at two adjacent rounds: presumed dead from the first of them on. A round in which
       nobody looked at the position breaks the run; a tree seen later, clear or not, undoes it.
    4. Otherwise the record of this round: not found, seen but state unclear, not located or not visited.

    Source
    ------
    Common practice of permanent plots, no source; the rule itself is a definition of this programme, printed beside its figures.

    Examples
    --------
    >>> [fate.name for fate in fate_history([Status.A, Status.NF, Status.NF, Status.NV])]
    ['ALIVE', 'PRESUMED_DEAD', 'PRESUMED_DEAD', 'PRESUMED_DEAD']
    >>> [fate.name for fate in fate_history([Status.A, Status.D, Status.AR, Status.NF])]
    ['ALIVE', 'ALIVE_RESPROUT', 'ALIVE_RESPROUT', 'NOT_FOUND']
    """
    records = [Status(status) for status in statuses]
    return [_fate_at(records, this_round) for this_round in range(len(records))]


def _fate_at(records: list[Status], this_round: int) -> Fate:
    for record in records[this_round:]:
        if record in SEEN_ALIVE:
            return SEEN_ALIVE[record]

    sightings = [number for number, record in enumerate(records) if record in SEEN_ALIVE]
    first_unseen = sightings[-1] + 1 if sightings else 0
    runs = (first for first in range(first_unseen, this_round + 1) if records[first : first + 2] == [Status.NF, Status.NF])
    presumed_from = next((first for first in runs if Status.SU not in records[first + 2 :]), None)
    for number, record in enumerate(records[first_unseen : this_round + 1], first_unseen):
        if record in ENDED:
            cleared_away = record != Status.D and presumed_from is not None and presumed_from < number
            return Fate.PRESUMED_DEAD if cleared_away else ENDED[record]
    if presumed_from is not None:
        return Fate.PRESUMED_DEAD

    return OPEN[records[this_round]]
