"""The fates of all trees of a planting at once, as arrays: the definition of `fate_history`, without a Python step for each tree."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plantings.calc.census.fate import ENDED, OPEN, SEEN_ALIVE, Fate, Status


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
