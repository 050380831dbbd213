"""The order in which a crew walks a planting."""

import re
from collections.abc import Sequence


def _natural(code):
    """Sort key that puts block 2 before block 10."""
    return [(0, int(part), "") if part.isdecimal() else (1, 0, part) for part in re.split(r"(\d+)", code) if part]


def walk_numbers(places: Sequence[tuple[str, int | None, int | None]], serpentine: bool = True) -> list[int]:
    """Walk numbers, from 1, for trees at the given places.

    Parameters
    ----------
    places : sequence of (block code, row, position); row and position may both be None
    serpentine : bool
        Walk odd rows upwards and even rows back; otherwise every row from the same end.

    Returns
    -------
    list of int
        For every place, its turn. Trees without a position keep the order given, after those of the same block that have one.

    Source
    ------
    Common practice, no source: a serpentine walk from a marked start corner.

    Examples
    --------
    >>> walk_numbers([("1", 1, 1), ("1", 1, 2), ("1", 2, 1), ("1", 2, 2)])
    [1, 2, 4, 3]
    >>> walk_numbers([("10", None, None), ("2", None, None)])
    [2, 1]
    """

    def turn(index):
        block, row, position = places[index]
        if row is None:
            return (_natural(block), 1, 0, 0, index)
        back = serpentine and row % 2 == 0
        return (_natural(block), 0, row, -position if back else position, index)

    numbers = [0] * len(places)
    for number, index in enumerate(sorted(range(len(places)), key=turn), start=1):
        numbers[index] = number
    return numbers
