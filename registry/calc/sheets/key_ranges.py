"""Keys of many records, written short: those of one load mostly follow each other."""

from collections.abc import Iterable, Iterator


def key_ranges(keys: Iterable[int]) -> list[list[int]]:
    """Keys as [[first, last], ...], in order, each key once.

    Source
    ------
    None: a form of our own.

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

    Source
    ------
    None: a form of our own.

    Examples
    --------
    >>> list(keys_in([[1, 3], [7, 7]]))
    [1, 2, 3, 7]
    """
    for first, last in ranges:
        yield from range(first, last + 1)
