"""Fates on a counted plot, where trees are counted and not tagged."""

from collections.abc import Sequence

from plantings.calc.survival.survival import Counts

# Seeds or plants of one plot, at most: a digit too many is a slip, and the sums of a planting stay within 32 bits.
COUNT_OF_A_PLOT_MOST = 1_000_000


def plot_counts(planted: int, records: Sequence[tuple[int, int] | None]) -> list[Counts]:
    """Counts of one counted plot at each of its rounds.

    Parameters
    ----------
    planted : int
        Seeds or plants the plot began with.
    records : sequence of (alive, dead) or None
        One per round in time order; None where nobody counted.

    Returns
    -------
    list of Counts
        One per round.

    Raises
    ------
    ValueError
        When a count exceeds what was planted.

    Notes
    -----
    The rule of `fate.fates`, as far as counts can carry it: as many as live at a later round lived at this one; the dead stay dead; the
    rest of a counted plot is "not found", of an uncounted one "not visited". Without hindsight a counted plot says what was counted, an
    uncounted one only who had died before. No plant is presumed dead: without tags nobody can tell
    which one was missed twice.

    Source
    ------
    Common practice, no source.

    Examples
    --------
    >>> [first, second] = plot_counts(10, [(6, 1), (7, 2)])
    >>> first.alive, first.dead, first.not_found, second.dead
    (7, 1, 2, 2)
    """
    for record in records:
        if record and (min(record) < 0 or sum(record) > planted):
            raise ValueError(f"{record[0]} alive and {record[1]} dead do not fit {planted} planted")
    result, dead = [], 0
    for number, record in enumerate(records):
        alive = max((later[0] for later in records[number:] if later), default=0)
        dead = max(dead, record[1] if record else 0)
        dead_now = min(dead, planted - alive)
        rest = {"not_found" if record else "not_visited": planted - alive - dead_now}
        then = (record[0], planted) if record else (0, dead)
        result.append(Counts(planted=planted, alive=alive, dead=dead_now, alive_then=then[0], assessed_then=then[1], **rest))
    return result
