"""Which census rounds are results, and which are still progress."""

from typing import NamedTuple

COMPLETE_PERCENT = 80
OPEN, THIN = "open", "thin"


class Progress(NamedTuple):
    """How far one round of a planting is: for its planted trees, or for its sown seed.

    `countable` are the test and check positions less those removed for non-biological reasons, `assessed` those of them whose state is
    known, `unsettled` those nobody has visited yet, and `ended` those known to be dead or removed since an earlier round. The seeds of a
    counted plot are assessed once it is counted.
    """

    countable: int
    assessed: int
    unsettled: int
    ended: int = 0

    @property
    def looked_for(self) -> int:
        """Positions that were not dead or removed before, of which a complete round has most."""
        return self.countable - self.ended

    @property
    def seen(self) -> int:
        """Those of them that are assessed."""
        return self.assessed - self.ended


def why_not_complete(progress: Progress, window_closed: bool, percent: int = COMPLETE_PERCENT) -> str:
    """`OPEN` or `THIN` of a round that is not a result, "" of a complete one.

    Parameters
    ----------
    progress : Progress
    window_closed : bool
        Whether the last day of the round has passed.
    percent : int, 1 to 100
        Of the countable positions, how many must be assessed.

    Notes
    -----
    The share is taken of the positions that were not dead or removed before. Where most trees are dead, a visit that nobody made would
    otherwise count as complete, and read as if the last ones had died.

    Source
    ------
    Definition of this programme: a round half entered would read as mostly dead or mostly alive, by who was visited first.

    Examples
    --------
    >>> why_not_complete(Progress(195, 80, 115), window_closed=False), why_not_complete(Progress(195, 80, 115), window_closed=True)
    ('open', 'thin')
    >>> why_not_complete(Progress(195, 156, 39), window_closed=True), why_not_complete(Progress(40, 40, 0), window_closed=False)
    ('', '')
    """
    if not window_closed and progress.unsettled:
        return OPEN
    return THIN if 100 * progress.seen < percent * progress.looked_for else ""
