"""What was received and not planted: how many of it are still held."""

from collections.abc import Iterable


def still_held(reports: Iterable[tuple[bool, int]], unsettled: int | None = None) -> int:
    """How many seeds or plants of a shipment line are still held, by what was reported of it.

    Parameters
    ----------
    reports : iterable of (bool, int), in the order of time
        Whether it says "still held" or else that they were returned or destroyed, and how many.
    unsettled : int or None
        Received usable and neither planted, returned nor destroyed: no more can be held. None where that is not known.

    Returns
    -------
    int, 0 or more

    Notes
    -----
    What is returned or destroyed after a report of held ones was among them; before it, it was not. Of two reports of held ones the
    larger counts, since both may be of the same ones.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> still_held([(True, 10), (False, 4)]), still_held([(False, 4), (True, 10)]), still_held([(True, 10)], unsettled=3)
    (6, 10, 3)
    """
    held = 0
    for is_held, count in reports:
        held = max(held, count) if is_held else max(0, held - count)
    return held if unsettled is None else max(0, min(held, unsettled))
