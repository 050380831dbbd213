"""The fate of each tree at each census round, calculated from its complete history of records.

A record says what one visit saw. A fate says what is known of the tree at that round once every
later round has been read too: a tree seen alive in year five cannot have died in year three.
The definition is here twice: `fate_history` spells it out for one tree, `fates` does a complete
planting at once. Tests compare the two.
"""

from collections.abc import Sequence
from enum import IntEnum

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


SEEN_ALIVE = {Status.A: Fate.ALIVE, Status.AR: Fate.ALIVE_RESPROUT}
ENDED = {Status.D: Fate.DEAD, Status.RM: Fate.REMOVED, Status.RX: Fate.REMOVED_EXCLUDED}
OPEN = {
    Status.NONE: Fate.NOT_VISITED,
    Status.NV: Fate.NOT_VISITED,
    Status.NF: Fate.NOT_FOUND,
    Status.NL: Fate.NOT_LOCATED,
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
       record decides. A dead tree that is cleared away later stays dead.
    3. Not found at two adjacent rounds: presumed dead from the first of them on. A round in which
       nobody looked at the position breaks the run.
    4. Otherwise the record of this round: not found, not located or not visited.

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
    for record in records[first_unseen : this_round + 1]:
        if record in ENDED:
            return ENDED[record]

    for first in range(first_unseen, this_round + 1):
        if records[first : first + 2] == [Status.NF, Status.NF]:
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
    _check_status(status)
    # One contiguous row per round: the passes below walk round by round.
    by_round = np.ascontiguousarray(status.T)
    alive = _alive_by_round(by_round)
    return np.ascontiguousarray(_settle_unseen(by_round, alive).T)


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


def _settle_unseen(by_round: NDArray[np.uint8], alive: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Fill the rounds after the last sighting alive, walking forward in time."""
    settled = alive.copy()
    ended_records = _ENDED_BY_STATUS[by_round]
    open_records = _OPEN_BY_STATUS[by_round]
    not_found_twice = np.zeros(by_round.shape, bool)
    not_found_twice[:-1] = (by_round[:-1] == Status.NF) & (by_round[1:] == Status.NF)

    ended = np.zeros(by_round.shape[1], np.uint8)
    presumed = np.zeros(by_round.shape[1], bool)
    for number in range(len(by_round)):
        unseen = alive[number] == 0
        np.copyto(ended, ended_records[number], where=unseen & (ended == 0))
        presumed |= unseen & not_found_twice[number]
        unsettled = np.where(presumed, np.uint8(Fate.PRESUMED_DEAD), open_records[number])
        np.copyto(settled[number], np.where(ended, ended, unsettled), where=unseen)
    return settled


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
    int64 array, shape (groups, rounds, 10); the last axis is indexed by `Fate` (cell 0 stays 0).

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
