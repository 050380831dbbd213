"""Tallies of groups of trees, round by round: sums over trees, so those of some trees can be added or taken away."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from plantings.calc.census.fate import ENDED
from plantings.calc.census.measurements import CANKER
from plantings.calc.census.planting_fates import History, fate_tally
from plantings.calc.survival.survival import Counts, counts_from_tally

_ENDED = np.array(list(ENDED.values()), np.uint8)


class TreeRecords(NamedTuple):
    """What the records of some trees say; each an array of shape (trees, rounds), rounds in time order.

    `status` are `Status` codes, `canker` the class, -1 where nobody looked, `cause` numbers in a list of causes.
    """

    status: NDArray[np.uint8]
    canker: NDArray[np.int8]
    cause: NDArray[np.uint8]


class GroupTallies(NamedTuple):
    """How many trees of each group; the first two axes of each array are groups and rounds.

    The last axis of `fate` and `fate_then` (see `History`) is `Fate`. `canker_assessed` and `cankered` have none. The last axis of `causes`
    is the cause in the record that ended a tree, counted at every round from which that tree is dead or removed by a record.
    """

    fate: NDArray[np.int64]
    fate_then: NDArray[np.int64]
    canker_assessed: NDArray[np.int64]
    cankered: NDArray[np.int64]
    causes: NDArray[np.int64]

    def less(self, other: "GroupTallies") -> "GroupTallies":
        """These tallies without those of `other`, of the same groups, rounds and causes."""
        return GroupTallies(*(mine - theirs for mine, theirs in zip(self, other, strict=True)))


def group_tallies(records: TreeRecords, history: History, group: NDArray[np.integer], groups: int, causes: int) -> GroupTallies:
    """The tallies of some trees.

    Parameters
    ----------
    records : TreeRecords
    history : History
        What `histories` makes of their status.
    group : integer array, shape (trees,)
        The group of each tree (its entry, say), 0 to groups - 1; -1 for a tree that counts nowhere, such as a replacement.
    groups, causes : int
        How many groups and causes there are.

    Returns
    -------
    GroupTallies

    Raises
    ------
    ValueError
        When `group` is not one number per tree, or a number is `groups` or more.

    Source
    ------
    Counting: arithmetic, no source.

    Examples
    --------
    >>> from plantings.calc.census.fate import Fate, Status
    >>> from plantings.calc.census.planting_fates import histories
    >>> status = np.array([[Status.A, Status.D], [Status.A, Status.A]], np.uint8)
    >>> records = TreeRecords(status, np.array([[0, -1], [0, 2]], np.int8), np.array([[0, 1], [0, 0]], np.uint8))
    >>> found = group_tallies(records, histories(status), np.array([0, 0]), groups=1, causes=2)
    >>> found.fate[0, :, Fate.ALIVE].tolist(), found.cankered[0].tolist(), found.causes[0].tolist()
    ([2, 1], [0, 1], [[0, 0], [0, 1]])
    """
    if group.shape != (len(records.status),):
        raise ValueError(f"group has shape {group.shape}: give one group number for each of the {len(records.status)} trees")
    counted = group >= 0
    group, fate, canker = group[counted], history.fate[counted], records.canker[counted]
    tree, number = np.nonzero(np.isin(fate, _ENDED))
    cause = records.cause[counted][tree, history.ended_by[counted][tree, number]]
    rounds = fate.shape[1]
    ended = np.bincount((group[tree] * rounds + number) * causes + cause, minlength=groups * rounds * causes)
    return GroupTallies(
        fate_tally(fate, group, groups),
        fate_tally(history.fate_then[counted], group, groups),
        _marked(canker >= 0, group, groups),
        _marked(canker > CANKER.nothing, group, groups),
        ended.reshape(groups, rounds, causes),
    )


def _marked(mark: NDArray[np.bool_], group: NDArray[np.integer], groups: int) -> NDArray[np.int64]:
    tree, number = np.nonzero(mark)
    rounds = mark.shape[1]
    return np.bincount(group[tree] * rounds + number, minlength=groups * rounds).reshape(groups, rounds)


def counts_of_groups(tallies: GroupTallies) -> dict[tuple[int, int], Counts]:
    """{(group, round): Counts}, without those that are zero throughout.

    Parameters
    ----------
    tallies : GroupTallies
        Of trees, or the difference of two.

    Returns
    -------
    dict of {(int, int): Counts}
        Trees; below zero where a difference takes some away.

    Source
    ------
    As `counts_from_tally`.

    Examples
    --------
    >>> from plantings.calc.census.fate import Status
    >>> from plantings.calc.census.planting_fates import histories
    >>> status = np.array([[Status.A, Status.D]], np.uint8)
    >>> nothing = np.zeros((1, 2), np.uint8)
    >>> found = group_tallies(TreeRecords(status, nothing.astype(np.int8) - 1, nothing), histories(status), np.array([0]), 2, 1)
    >>> {key: (counts.alive, counts.dead) for key, counts in counts_of_groups(found).items()}
    {(0, 0): (1, 0), (0, 1): (0, 1)}
    >>> counts_of_groups(found.less(found))
    {}
    """
    used = tallies.fate.any(axis=2) | tallies.fate_then.any(axis=2) | (tallies.canker_assessed != 0) | (tallies.cankered != 0)
    return {
        (group, number): counts_from_tally(
            tallies.fate[group, number].tolist(), tallies.fate_then[group, number].tolist(),
            tallies.canker_assessed[group, number], tallies.cankered[group, number],
        )
        for group, number in np.argwhere(used).tolist()
    }  # fmt: skip
