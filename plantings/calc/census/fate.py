"""The fate of each tree at each census round, calculated from its complete history of records.

A record says what one visit saw. A fate says what is known of the tree at that round once every
later round has been read too: a tree seen alive in year five cannot have died in year three.
The definition is here twice: `fate_history` spells it out for one tree, `fates` does a complete
planting at once. Tests compare the two.
"""

from collections.abc import Sequence
from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray


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


def _fate_by_status(*groups: dict[Status, Fate]) -> NDArray[np.uint8]:
    table = np.zeros(len(Status), np.uint8)
    for group in groups:
        for status, fate in group.items():
            table[status] = fate
    return table


_SEEN_ALIVE_BY_STATUS = _fate_by_status(SEEN_ALIVE)
_ENDED_BY_STATUS = _fate_by_status(ENDED)
_OPEN_BY_STATUS = _fate_by_status(OPEN)


class History(NamedTuple):
    """What is known of every tree of a planting at every round; each an array of shape (trees, rounds).

    `fate` are `Fate` codes with hindsight, `fate_then` those from the records of this round and earlier ones alone. `ended_by` is the
    round, counted from 0, whose record says that the tree is dead or removed, and -1 where no record does.
    """

    fate: NDArray[np.uint8]
    fate_then: NDArray[np.uint8]
    ended_by: NDArray[np.int16]


def fates(status: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The fate of every tree of a planting at every round.

    Parameters
    ----------
    status : uint8 array, shape (trees, rounds)
        `Status` codes, rounds in time order; 0 where a round has no record of a tree.

    Returns
    -------
    uint8 array, shape (trees, rounds), of `Fate` codes.

    Raises
    ------
    ValueError
        When the array is not two-dimensional or not uint8, or a cell holds no `Status` code (the
        message counts such cells and points at the first).

    Notes
    -----
    The definition is that of `fate_history`. No tree or no round gives an empty array. The cost
    grows with trees x rounds; no Python step is taken per tree.

    Source
    ------
    As `fate_history`.

    Examples
    --------
    >>> fates(np.array([[1, 4, 4], [1, 3, 2]], np.uint8)).tolist()
    [[1, 4, 4], [1, 2, 2]]
    """
    return histories(status).fate


def histories(status: NDArray[np.uint8]) -> History:
    """The fates of every tree of a planting at every round, as known now and as known then, and which record ended each.

    Parameters
    ----------
    status : uint8 array, shape (trees, rounds)
        As for `fates`.

    Returns
    -------
    History

    Raises
    ------
    ValueError
        As for `fates`.

    Source
    ------
    As `fate_history`.

    Examples
    --------
    >>> found = histories(np.array([[1, 5, 1, 3]], np.uint8))
    >>> found.fate.tolist(), found.fate_then.tolist(), found.ended_by.tolist()
    ([[1, 1, 1, 3]], [[1, 6, 1, 3]], [[-1, -1, -1, 3]])
    """
    _check_status(status)
    # One contiguous row per round: the passes below walk round by round.
    by_round = np.ascontiguousarray(status.T)
    alive = _alive_by_round(by_round)
    fate, ended_by = _settle_unseen(by_round, alive)
    return History(*(np.ascontiguousarray(array.T) for array in (fate, _as_known_then(by_round), ended_by)))


def _check_status(status: NDArray[np.uint8]) -> None:
    if status.ndim != 2:
        raise ValueError(f"status has {status.ndim} dimension(s): give one row per tree and one column per round")
    if status.dtype != np.uint8:
        raise ValueError(f"status holds {status.dtype}: give Status codes as uint8")
    if status.size and status.max() >= len(Status):
        wrong = np.argwhere(status >= len(Status))
        tree, number = wrong[0]
        raise ValueError(
            f"{len(wrong)} cell(s) hold no Status code, first in tree row {tree}, round column {number}: "
            f"{status[tree, number]}. Codes run from 0 to {len(Status) - 1}"
        )


def _alive_by_round(by_round: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """ALIVE or ALIVE_RESPROUT where the tree was seen alive at this or a later round, else 0."""
    alive = _SEEN_ALIVE_BY_STATUS[by_round]
    for number in range(len(alive) - 2, -1, -1):
        np.copyto(alive[number], alive[number + 1], where=alive[number] == 0)
    return alive


def _settle_unseen(by_round: NDArray[np.uint8], alive: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], NDArray[np.int16]]:
    """The rounds after the last sighting alive filled in, walking forward in time; and the round whose record ended each tree."""
    settled = alive.copy()
    ended_by = np.full(by_round.shape, -1, np.int16)
    ended_records = _ENDED_BY_STATUS[by_round]
    open_records = _OPEN_BY_STATUS[by_round]
    not_found_for_good = _not_found_twice(by_round)

    ended = np.zeros(by_round.shape[1], np.uint8)
    last = np.full(by_round.shape[1], -1, np.int16)
    presumed = np.zeros(by_round.shape[1], bool)
    for number in range(len(by_round)):
        unseen = alive[number] == 0
        ends_now = unseen & (ended == 0) & (ended_records[number] != 0)
        cleared_away = ends_now & presumed & (by_round[number] != Status.D)
        np.copyto(ended, ended_records[number], where=ends_now)
        np.copyto(ended, np.uint8(Fate.PRESUMED_DEAD), where=cleared_away)
        np.copyto(last, np.int16(number), where=ends_now & ~cleared_away)
        presumed |= unseen & not_found_for_good[number]
        unsettled = np.where(presumed, np.uint8(Fate.PRESUMED_DEAD), open_records[number])
        np.copyto(settled[number], np.where(ended, ended, unsettled), where=unseen)
        np.copyto(ended_by[number], last, where=unseen)
    return settled, ended_by


def _not_found_twice(by_round: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Where a run of two rounds without the tree begins, unless the tree was seen in an unclear state after the run."""
    twice = np.zeros(by_round.shape, bool)
    twice[:-1] = (by_round[:-1] == Status.NF) & (by_round[1:] == Status.NF)
    seen_later = np.zeros(by_round.shape[1], bool)
    for number in range(len(by_round) - 3, -1, -1):
        seen_later |= by_round[number + 2] == Status.SU
        twice[number] &= ~seen_later
    return twice


def _as_known_then(by_round: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """At each round what its record and those before it say: `fates` of the rounds up to it, at the last of them."""
    known = np.empty_like(by_round)
    ended = np.zeros(by_round.shape[1], np.uint8)
    presumed, cleared_away = np.zeros((2, by_round.shape[1]), bool)
    for number, records in enumerate(by_round):
        alive, ends = _SEEN_ALIVE_BY_STATUS[records], _ENDED_BY_STATUS[records]
        if number:
            presumed |= (records == Status.NF) & (by_round[number - 1] == Status.NF) & (ended == 0)
        seen = (alive != 0) | (records == Status.SU)
        presumed &= ~seen
        cleared_away &= ~seen
        ended[alive != 0] = 0
        ends_now = (ended == 0) & (ends != 0)
        cleared_away |= ends_now & presumed & (records != Status.D)
        np.copyto(ended, ends, where=ends_now)
        presumed_dead = cleared_away | (presumed & (ended == 0))
        settled = np.where(ended, ended, _OPEN_BY_STATUS[records])
        known[number] = np.where(alive, alive, np.where(presumed_dead, np.uint8(Fate.PRESUMED_DEAD), settled))
    return known


def fate_tally(fate: NDArray[np.uint8], group: NDArray[np.integer], groups: int) -> NDArray[np.int64]:
    """How many trees of each group have each fate, round by round.

    Parameters
    ----------
    fate : uint8 array, shape (trees, rounds)
        `Fate` codes as `fates` returns them.
    group : integer array, shape (trees,)
        The group of each tree (its entry, say), 0 to groups - 1.
    groups : int
        How many groups there are; a group without trees gives zeros.

    Returns
    -------
    int64 array, shape (groups, rounds, 11); the last axis is indexed by `Fate` (cell 0 stays 0).

    Raises
    ------
    ValueError
        When `group` is not one number per tree, or a number lies outside 0 to groups - 1.

    Source
    ------
    Counting: arithmetic, no source.

    Examples
    --------
    >>> tally = fate_tally(fates(np.array([[1, 3], [1, 1]], np.uint8)), np.array([0, 0]), 1)
    >>> int(tally[0, 1, Fate.ALIVE]), int(tally[0, 1, Fate.DEAD])
    (1, 1)
    """
    trees, rounds = fate.shape
    if group.shape != (trees,):
        raise ValueError(f"group has shape {group.shape}: give one group number for each of the {trees} trees")
    if trees and not (group.min() >= 0 and group.max() < groups):
        raise ValueError(f"group numbers run from {group.min()} to {group.max()}: they must lie in 0 to {groups - 1}")
    width = max(Fate) + 1
    cell = (group[:, None].astype(np.int64) * rounds + np.arange(rounds)) * width + fate
    return np.bincount(cell.ravel(), minlength=groups * rounds * width).reshape(groups, rounds, width)
