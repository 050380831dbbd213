"""The mark that a row of a rest carries: which load set it aside, and in which row of that file it was.

Source
------
A definition of this programme.
"""

import re

_MARK = re.compile(r"\s*Load ([0-9]{1,12}), row ([0-9]{1,9})(?![0-9])")


def rest_mark(load: int, row: int) -> str:
    """The mark as it begins the cell "What to correct" of a row.

    Parameters
    ----------
    load : int
        Number of the load.
    row : int
        Number of the row in its file, from 1.

    Examples
    --------
    >>> rest_mark(12, 34)
    'Load 12, row 34'
    """
    return f"Load {load}, row {row}"


def read_rest_mark(text: str) -> tuple[int, int] | None:
    """The load and the row that a cell begins with.

    Returns
    -------
    tuple of int, or None
        Number of the load and of the row; None for a text without a mark.

    Examples
    --------
    >>> read_rest_mark("Load 12, row 34: Status: is blank"), read_rest_mark("is blank")
    ((12, 34), None)
    """
    found = _MARK.match(text)
    return (int(found[1]), int(found[2])) if found else None
