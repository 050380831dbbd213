"""The parts of a long walk: a phone fetches a large planting block by block."""

from collections.abc import Sequence
from itertools import groupby
from typing import NamedTuple

__all__ = ["PART_TREES_MOST", "WalkPart", "walk_parts"]

PART_TREES_MOST = 500  # about 100 kB with last year's readings


class WalkPart(NamedTuple):
    """A stretch of the walk: trees `start` up to, not including, `stop`, counted from 0 in walk order.

    `first` and `last` are the blocks of its first and last tree; `piece` is 0, or the number from 1 of the piece of a block that is too
    large for one part. `key` names the part among those of its walk.
    """

    key: str
    start: int
    stop: int
    first: str
    last: str
    piece: int


def walk_parts(blocks: Sequence[str], most: int) -> list[WalkPart]:
    """Cut a walk between blocks, and a block only where it alone is too large.

    Parameters
    ----------
    blocks : sequence of str
        The block of each tree in walk order, "" for none.
    most : int
        The most trees of a part.

    Returns
    -------
    list of WalkPart
        In walk order; together they hold every tree once.

    Source
    ------
    A rule of our own: no source.

    Examples
    --------
    >>> [(part.key, part.start, part.stop) for part in walk_parts("AABBBCCCCCCC", most=5)]
    [('A/1', 0, 5), ('C/1', 5, 10), ('C/2', 10, 12)]
    >>> walk_parts("AABBB", most=5)[0].last
    'B'
    """
    cuts, start, end = [], 0, 0  # start: where the open part begins; end: what is in parts or in the open one
    for _block, run in groupby(blocks):
        size = len(list(run))
        if end > start and end + size - start > most:
            cuts.append((start, end, 0))
            start = end
        end += size
        if size > most:
            starts = range(start, end, most)
            cuts += [(piece, min(piece + most, end), number) for number, piece in enumerate(starts, 1)]
            start = end
    if end > start:
        cuts.append((start, end, 0))
    parts, begun = [], {}
    for start, stop, piece in cuts:
        first = blocks[start]
        begun[first] = begun.get(first, 0) + 1
        parts.append(WalkPart(f"{first}/{begun[first]}", start, stop, first, blocks[stop - 1], piece))
    return parts
