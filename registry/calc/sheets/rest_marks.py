"""The mark that a row of a rest carries: which load set it aside, and in which row of that file it was."""

import re

_MARK = re.compile(r"\s*Load ([0-9]{1,12}), row ([0-9]{1,9})(?![0-9])")


def rest_mark(load: int, row: int) -> str:
    """The mark as it begins the cell "What to correct" of a row.

    Source
    ------
    None: a form of our own.

    Examples
    --------
    >>> rest_mark(12, 34)
    'Load 12, row 34'
    """
    return f"Load {load}, row {row}"


def read_rest_mark(text: str) -> tuple[int, int] | None:
    """(load, row) of a cell that begins with a mark; None for any other text.

    Source
    ------
    None: a form of our own.

    Examples
    --------
    >>> read_rest_mark("Load 12, row 34: Status: is blank"), read_rest_mark("is blank")
    ((12, 34), None)
    """
    found = _MARK.match(text)
    return (int(found[1]), int(found[2])) if found else None
