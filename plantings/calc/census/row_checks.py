"""The checks of many rows of one round: a row of which every part was in a sound row before is sound too.

`check_row` judges a row part by part: its day, each reading, its cause and the length of its note, each with the status, and sizes with
the day. So whoever found nothing in one row has found nothing in its parts, and of a long sheet few rows have a part that is new.
"""

from collections.abc import Callable
from operator import attrgetter, contains

from plantings.calc.census.measurements import FIELDS
from plantings.calc.census.rows import SeenRow
from plantings.calc.census.rules import NOTE_LENGTH_MAX
from plantings.calc.results import CLEAN, Finding
from registry.calc.shared.part_dates import SomeDate

__all__ = ["RowChecks"]

_get_parts = attrgetter("cause", *FIELDS)
_NUMBER_OF_PARTS = 1 + len(FIELDS)
_MOST = 100_000


class RowChecks:
    """Judges the rows of one round, each as if it were alone.

    Parameters
    ----------
    judge : function of a SeenRow and its day of planting
        Gives the findings of a row, by `check_row` with the window, limits and protocol of the round. Only what it found nothing in is
        remembered, so every sentence about a row is its own.

    Examples
    --------
    >>> checks = RowChecks(lambda row, planted_on: (row.status,) if row.cause == "?" else ())
    >>> [checks.findings(SeenRow(status="D", observed_on=None, cause=cause), None) for cause in ("", "?", "")]
    [(), ('D',), ()]
    """

    def __init__(self, judge: Callable[[SeenRow, SomeDate | None], tuple[Finding, ...]]):
        self._judge = judge
        self._sound: dict[tuple, tuple[set, ...]] = {}
        self._size = 0

    def findings(self, row: SeenRow, planted_on: SomeDate | None) -> tuple[Finding, ...]:
        """What `judge` says of a row.

        Parameters
        ----------
        row : SeenRow
        planted_on : date, PartDate or None
            The day its tree was planted.

        Returns
        -------
        tuple of Finding
            `CLEAN` where there is nothing to say.
        """
        if row.own_values or (row.note and len(row.note) > NOTE_LENGTH_MAX):
            return self._judge(row, planted_on)  # kinds of values that no column limits
        parts = _get_parts(row)
        sound = self._sound.get((row.status, row.observed_on, planted_on))
        try:
            if sound is not None and all(map(contains, sound, parts)):
                return CLEAN
            found = self._judge(row, planted_on)
            if not found:
                self._remember((row.status, row.observed_on, planted_on), parts)
            return found
        except TypeError:  # a value that no set can hold
            return self._judge(row, planted_on)

    def _remember(self, key: tuple, parts: tuple) -> None:
        if self._size > _MOST:
            self._sound.clear()
            self._size = 0
        for part, seen in zip(parts, self._sound.setdefault(key, tuple(set() for _ in range(_NUMBER_OF_PARTS))), strict=True):
            if part not in seen:
                seen.add(part)
                self._size += 1
