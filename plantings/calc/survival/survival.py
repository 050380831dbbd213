"""Survival of a group of trees at a round, from counts of fates: the figure every screen shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import add, sub
from typing import NamedTuple

from plantings.calc.census.fate import Fate
from plantings.calc.results import Interval
from plantings.calc.survival.proportions import NO_TREES, wilson
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.worded import worded

COUNT_LEADS_BELOW = 10
NOT_ASSESSED = gettext_noop("not assessed")


class Counts(NamedTuple):
    """How many trees of a group have each fate at one round. `Counts()` is zero.

    `planted` counts trees planted as test or check (no buffer, filler or replacement), or seeds sown, and equals
    the sum of the fates. `resprout` is a part of `alive`, `cankered` a part of `canker_assessed`.
    `removed` (biological reasons) stays in the denominator, `removed_excluded` leaves it.
    `alive_then` of `assessed_then` is what the records up to this round said, without hindsight.
    """

    planted: int = 0
    alive: int = 0
    resprout: int = 0
    dead: int = 0
    presumed_dead: int = 0
    not_found: int = 0
    unclear: int = 0
    not_located: int = 0
    not_visited: int = 0
    removed: int = 0
    removed_excluded: int = 0
    alive_then: int = 0
    assessed_then: int = 0
    canker_assessed: int = 0
    cankered: int = 0

    def __add__(self, other: "Counts") -> "Counts":
        if not isinstance(other, Counts):  # a plain tuple would be appended
            raise TypeError(f"Counts can only be added to Counts, not to {type(other).__name__}")
        return Counts(*map(add, self, other))

    def __sub__(self, other: "Counts") -> "Counts":
        return Counts(*map(sub, self, other))

    @property
    def countable(self) -> int:
        """Planted less removed for non-biological reasons: what the band is taken over."""
        return self.planted - self.removed_excluded

    @property
    def ended(self) -> int:
        """Known or presumed to be dead, or removed and still counted."""
        return self.dead + self.presumed_dead + self.removed

    @property
    def assessed(self) -> int:
        """Those whose state is known, or whose position was found empty: the denominator of survival."""
        return self.countable - self.not_visited - self.not_located - self.unclear


class Survival(NamedTuple):
    """Survival of a group at a round. `share` and `interval` are None where `reason` says why.

    `n` are the trees assessed, `countable` all planted less those removed for non-biological reasons. The band runs from "every
    unaccounted tree is dead" to "every unaccounted tree is alive" over `countable`; it is None only when that is 0.
    """

    n: int
    countable: int
    alive: int
    share: float | None
    interval: Interval | None
    band_low: float | None
    band_high: float | None
    unaccounted: int
    count_leads: bool
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Pressure:
    """Canker incidence of a group: cankered of assessed. None and a reason when none was assessed.

    `holds` is False where an interval over several sites may be too narrow.
    """

    assessed: int
    cankered: int
    share: float | None
    interval: Interval | None
    reason: str = ""
    holds: bool = True


def counts_from_tally(tally: Sequence[int], then: Sequence[int] | None = None, canker_assessed: int = 0, cankered: int = 0) -> Counts:
    """Counts of one group at one round from one row of `fate_tally`.

    Parameters
    ----------
    tally : sequence of int, length 11
        Trees by `Fate` code; cell 0 is not used.
    then : sequence of int, length 11, or None
        The same without hindsight; None where both are alike.
    canker_assessed, cankered : int
        Trees whose cankers were looked for at this round, and those that had any.

    Returns
    -------
    Counts of plain Python integers, ready to be stored.

    Raises
    ------
    ValueError
        When the row does not have one cell per `Fate` code.

    Source
    ------
    Definition of this programme: the fates of `plantings.calc.census.fate`.

    Examples
    --------
    >>> counts_from_tally([0, 6, 1, 2, 0, 0, 0, 0, 0, 1, 0]).planted
    10
    """
    if len(tally) != max(Fate) + 1:
        raise ValueError(f"the tally has {len(tally)} cells: give {max(Fate) + 1}, one per Fate code and one for 0")
    cells = [int(cell) for cell in tally]
    known_then = cells if then is None else [int(cell) for cell in then]
    out_of_sight = (Fate.NOT_VISITED, Fate.NOT_LOCATED, Fate.UNCLEAR, Fate.REMOVED_EXCLUDED)
    return Counts(
        planted=sum(cells),
        alive=cells[Fate.ALIVE] + cells[Fate.ALIVE_RESPROUT],
        resprout=cells[Fate.ALIVE_RESPROUT],
        dead=cells[Fate.DEAD],
        presumed_dead=cells[Fate.PRESUMED_DEAD],
        not_found=cells[Fate.NOT_FOUND],
        unclear=cells[Fate.UNCLEAR],
        not_located=cells[Fate.NOT_LOCATED],
        not_visited=cells[Fate.NOT_VISITED],
        removed=cells[Fate.REMOVED],
        removed_excluded=cells[Fate.REMOVED_EXCLUDED],
        alive_then=known_then[Fate.ALIVE] + known_then[Fate.ALIVE_RESPROUT],
        assessed_then=sum(known_then) - sum(known_then[fate] for fate in out_of_sight),
        canker_assessed=int(canker_assessed),
        cankered=int(cankered),
    )


def survival(counts: Counts) -> Survival:
    """Survival = alive / assessed, with its interval, and the band over all planted.

    Parameters
    ----------
    counts : Counts
        The group at one round.

    Returns
    -------
    Survival
        Share and interval (Wilson, 95 %) are None with the reason "no trees" when none is countable, and with "not assessed" when none
        was assessed.

    Raises
    ------
    ValueError
        When a count is negative, the fates do not add up to planted, or a part exceeds what it is a part of.

    Notes
    -----
    Assessed = planted - removed for non-biological reasons - not visited - position not located - seen but state unclear. Who was not
    assessed is not dead; the band says what the others could change. A tree not found once is assessed, is not alive, and is in the band.
    The interval takes trees as independent; for a figure over several sites use `share_over_sites`. Under 10 trees
    `count_leads` is True: print the count, not a share.

    Source
    ------
    Definition of this programme after common practice, no source. Interval: Wilson 1927, see `wilson`.

    Examples
    --------
    >>> result = survival(Counts(planted=44, alive=26, dead=6, not_found=8, not_visited=4))
    >>> result.n, result.share, round(result.band_low, 2), round(result.band_high, 2)
    (40, 0.65, 0.59, 0.86)
    """
    _check_counts(counts)
    n, countable = counts.assessed, counts.countable
    unaccounted = counts.not_found + countable - n
    reason = NO_TREES if countable == 0 else NOT_ASSESSED if n == 0 else ""
    return Survival(
        n=n,
        countable=countable,
        alive=counts.alive,
        share=None if reason else counts.alive / n,
        interval=None if reason else wilson(counts.alive, n),
        band_low=counts.alive / countable if countable else None,
        band_high=(counts.alive + unaccounted) / countable if countable else None,
        unaccounted=unaccounted,
        count_leads=n < COUNT_LEADS_BELOW,
        reason=reason,
    )


def _check_counts(counts: Counts) -> None:
    if min(counts) < 0:
        name, count = next((name, count) for name, count in counts._asdict().items() if count < 0)
        raise ValueError(f"{name} is {count}: a count cannot be negative")
    summed = counts.alive + counts.dead + counts.presumed_dead + counts.not_found + counts.unclear + counts.not_located
    summed += counts.not_visited + counts.removed + counts.removed_excluded
    if summed != counts.planted:
        raise ValueError(f"the fates add up to {summed} trees but {counts.planted} were planted: recount the group")
    for part, whole in (
        ("resprout", "alive"),
        ("alive_then", "assessed_then"),
        ("assessed_then", "planted"),
        ("cankered", "canker_assessed"),
    ):
        if getattr(counts, part) > getattr(counts, whole):
            raise ValueError(f"{part} is {getattr(counts, part)} and {whole} is {getattr(counts, whole)}: {part} is a part of {whole}")


def number_words(n: int, countable: int) -> str:
    """How many were assessed, and of how many where that is not all of them.

    Parameters
    ----------
    n : int
        Trees assessed.
    countable : int
        Trees planted less those removed for non-biological reasons.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> number_words(180, 180), number_words(1180, 1195)
    ('n 180', 'n 1,180 of 1,195')
    """
    return worded("n %(n)s", n=n) if n == countable else worded("n %(n)s of %(countable)s", n=n, countable=countable)


def band_note(low: float | None, high: float | None) -> str:
    """The band as it follows a figure, ", band 0.65–0.85".

    Parameters
    ----------
    low, high : float or None
        0 to 1; None where it is not known.

    Returns
    -------
    str
        "" where the band is not known, or both ends are printed alike.

    Source
    ------
    Definition of this programme.
    """
    if low is None or high is None or f"{low:.2f}" == f"{high:.2f}":
        return ""
    return f", band {low:.2f}–{high:.2f}"


def survival_text(result: Survival, *, with_band: bool = True) -> str:
    """The figure as it is printed everywhere.

    Parameters
    ----------
    result : Survival
    with_band : bool
        False only where the band has a column of its own beside the figure.

    Returns
    -------
    str
        "0.69 (0.62–0.75), n 180 of 195"; under 10 trees "7 of 9", with the number planted where not all were assessed; the band behind
        it where some trees are unaccounted for; else the reason there is no figure.

    Source
    ------
    Definition of this programme: one print of a figure everywhere.

    Examples
    --------
    >>> survival_text(survival(Counts(planted=180, alive=124, dead=56)))
    '0.69 (0.62–0.75), n 180'
    >>> survival_text(survival(Counts(planted=40, alive=26, dead=6, not_found=8)))
    '0.65 (0.50–0.78), n 40, band 0.65–0.85'
    >>> survival_text(survival(Counts(planted=9, alive=7, dead=2)))
    '7 of 9'
    """
    if result.share is None:
        return result.reason
    band = band_note(result.band_low, result.band_high) if with_band else ""
    if result.count_leads:
        planted = "" if result.n == result.countable else f" assessed, {result.countable:,} planted"
        return f"{result.alive:,} of {result.n:,}{planted}{band}"
    number = number_words(result.n, result.countable)
    return f"{result.share:.2f} ({result.interval.low:.2f}–{result.interval.high:.2f}), {number}{band}"


def pressure(counts: Counts) -> Pressure:
    """Disease pressure: the share of assessed trees that have a canker.

    Parameters
    ----------
    counts : Counts
        Of the susceptible check, when the figure is shown beside a survival table.

    Returns
    -------
    Pressure
        With a Wilson 95 % interval, which takes trees as independent; None with the reason "not assessed" when no tree was assessed.
        That is not the same as no canker.

    Raises
    ------
    ValueError
        As for `survival`.

    Source
    ------
    Disease pressure as incidence in the susceptible check: common practice, no source. Interval: Wilson 1927, see `wilson`.

    Examples
    --------
    >>> result = pressure(Counts(planted=30, alive=30, canker_assessed=20, cankered=5))
    >>> result.share, round(result.interval.low, 2), round(result.interval.high, 2)
    (0.25, 0.11, 0.47)
    """
    _check_counts(counts)
    assessed, cankered = counts.canker_assessed, counts.cankered
    if assessed == 0:
        return Pressure(assessed, cankered, None, None, NOT_ASSESSED)
    return Pressure(assessed, cankered, cankered / assessed, wilson(cankered, assessed))
