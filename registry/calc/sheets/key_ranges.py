"""Keys of many records, written short: those of one load mostly follow each other.

Source
------
A definition of this programme.
"""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence


def key_ranges(keys: Iterable[int]) -> list[list[int]]:
    """Keys as ranges, in order, each key once.

    Parameters
    ----------
    keys : iterable of int
        Keys of records, in any order.

    Returns
    -------
    list of [first, last]
        Both ends belong to the range.

    Examples
    --------
    >>> key_ranges([3, 1, 2, 7, 7])
    [[1, 3], [7, 7]]
    """
    ranges = []
    for key in sorted(set(keys)):
        if ranges and ranges[-1][1] == key - 1:
            ranges[-1][1] = key
        else:
            ranges.append([key, key])
    return ranges


def keys_in(ranges: Iterable[Iterable[int]]) -> Iterator[int]:
    """The keys of ranges again.

    Parameters
    ----------
    ranges : iterable of [first, last]
        As `key_ranges` gives them, keys of records.

    Returns
    -------
    iterator of int
        Keys in the order of the ranges.

    Examples
    --------
    >>> list(keys_in([[1, 3], [7, 7]]))
    [1, 2, 3, 7]
    """
    for first, last in ranges:
        yield from range(first, last + 1)


def in_ranges(ranges: Sequence[Sequence[int]], key: int) -> bool:
    """Whether one of the ranges has a key.

    Parameters
    ----------
    ranges : sequence of [first, last]
        Sorted, none of them over another, keys of records.
    key : int
        Of a record.

    Returns
    -------
    bool
        True where a range has it.

    Examples
    --------
    >>> in_ranges([[1, 3], [7, 7]], 3), in_ranges([[1, 3], [7, 7]], 5)
    (True, False)
    """
    place = bisect_right(ranges, key, key=lambda pair: pair[0])
    return place > 0 and key <= ranges[place - 1][1]
