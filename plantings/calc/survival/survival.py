"""Survival of a group of trees at a round, from counts of fates: the figure every screen shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from operator import add
from typing import NamedTuple

from plantings.calc.census.fate import Fate
from plantings.calc.results import Interval
from plantings.calc.survival.proportions import NO_TREES, wilson

COUNT_LEADS_BELOW = 10
NOT_VISITED = "not visited"
NOT_ASSESSED = "not assessed"


class Counts(NamedTuple):
    """How many trees of a group have each fate at one round. `Counts()` is zero.

    `planted` counts trees planted as test or check (no buffer, filler or replacement) and equals
    the sum of the fates. `resprout` is a part of `alive`, `cankered` a part of `canker_assessed`.
    `removed` (biological reasons) stays in the denominator, `removed_excluded` leaves it.
    """

    planted: int = 0
    alive: int = 0
    resprout: int = 0
    dead: int = 0
    presumed_dead: int = 0
    not_found: int = 0
    not_located: int = 0
    not_visited: int = 0
    removed: int = 0
    removed_excluded: int = 0
    canker_assessed: int = 0
    cankered: int = 0

    def __add__(self, other: "Counts") -> "Counts":
        if not isinstance(other, Counts):  # a plain tuple would be appended
            raise TypeError(f"Counts can only be added to Counts, not to {type(other).__name__}")
        return Counts(*map(add, self, other))


class Survival(NamedTuple):
    """Survival of a group at a round. `share` and `interval` are None where `reason` says why.

    `n` is planted less removed for non-biological reasons. The band runs from "every unaccounted
    tree is dead" to "every unaccounted tree is alive"; it is None only when n is 0.
    """

    n: int
    alive: int
    share: float | None
    interval: Interval | None
    band_low: float | None
    band_high: float | None
    unaccounted: int
    count_leads: bool
    not_visited_at_all: bool
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Pressure:
    """Canker incidence of a group: cankered of assessed. None and a reason when none was assessed."""

    assessed: int
    cankered: int
    share: float | None
    interval: Interval | None
    reason: str = ""


def counts_from_tally(tally: Sequence[int], canker_assessed: int = 0, cankered: int = 0) -> Counts:
    """Counts of one group at one round from one row of `fate_tally`.

    Parameters
    ----------
    tally : sequence of int, length 10
        Trees by `Fate` code; cell 0 is not used.
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
    >>> counts_from_tally([0, 6, 1, 2, 0, 0, 0, 0, 0, 1]).planted
    10
    """
    if len(tally) != max(Fate) + 1:
        raise ValueError(f"the tally has {len(tally)} cells: give {max(Fate) + 1}, one per Fate code and one for 0")
    cells = [int(cell) for cell in tally]
    return Counts(
        planted=sum(cells),
        alive=cells[Fate.ALIVE] + cells[Fate.ALIVE_RESPROUT],
        resprout=cells[Fate.ALIVE_RESPROUT],
        dead=cells[Fate.DEAD],
        presumed_dead=cells[Fate.PRESUMED_DEAD],
        not_found=cells[Fate.NOT_FOUND],
        not_located=cells[Fate.NOT_LOCATED],
        not_visited=cells[Fate.NOT_VISITED],
        removed=cells[Fate.REMOVED],
        removed_excluded=cells[Fate.REMOVED_EXCLUDED],
        canker_assessed=int(canker_assessed),
        cankered=int(cankered),
    )


def survival(counts: Counts, visited: bool = True) -> Survival:
    """Survival = alive / (planted - removed for non-biological reasons), with its interval and band.

    Parameters
    ----------
    counts : Counts
        The group at one round.
    visited : bool
        False when nobody visited the group at this round at all. Counts alone cannot tell this
        once some of its trees had died before; without it a skipped site would look dead.

    Returns
    -------
    Survival
        Share and interval (Wilson, 95 %) are None with the reason "no trees" when n is 0, and with
        "not visited" when nobody visited, or every tree of the group counts as not visited.

    Raises
    ------
    ValueError
        When a count is negative, the fates do not add up to planted, resprouts exceed alive, or
        cankered exceeds assessed.

    Notes
    -----
    Not found, not located and not visited stay in the denominator: leaving them out flatters sites
    in bad order. The interval takes trees as independent; for a figure over several sites use
    `ratio_over_sites`. Under 10 trees `count_leads` is True: print the count, not a share.

    Source
    ------
    Definition: common practice. Interval: Wilson 1927, see `wilson`.

    Examples
    --------
    >>> result = survival(Counts(planted=40, alive=26, dead=6, not_found=8))
    >>> result.share, result.band_low, result.band_high
    (0.65, 0.65, 0.85)
    """
    _check_counts(counts)
    n = counts.planted - counts.removed_excluded
    unaccounted = counts.not_found + counts.not_located + counts.not_visited
    unseen = n > 0 and (not visited or counts.not_visited == n)
    reason = NO_TREES if n == 0 else NOT_VISITED if unseen else ""
    return Survival(
        n=n,
        alive=counts.alive,
        share=None if reason else counts.alive / n,
        interval=None if reason else wilson(counts.alive, n),
        band_low=counts.alive / n if n else None,
        band_high=(counts.alive + unaccounted) / n if n else None,
        unaccounted=unaccounted,
        count_leads=n < COUNT_LEADS_BELOW,
        not_visited_at_all=unseen,
        reason=reason,
    )


def _check_counts(counts: Counts) -> None:
    if min(counts) < 0:
        name, count = next((name, count) for name, count in counts._asdict().items() if count < 0)
        raise ValueError(f"{name} is {count}: a count cannot be negative")
    planted, alive, resprout, dead, presumed_dead, not_found, not_located, not_visited, removed, excluded, assessed, cankered = counts
    summed = alive + dead + presumed_dead + not_found + not_located + not_visited + removed + excluded
    if summed != planted:
        raise ValueError(f"the fates add up to {summed} trees but {planted} were planted: recount the group")
    if resprout > alive:
        raise ValueError(f"{resprout} resprouts among {alive} alive: resprout is a part of alive")
    if cankered > assessed:
        raise ValueError(f"{cankered} cankered among {assessed} assessed: cankered is a part")


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
        "0.69 (0.62–0.75), n 180"; under 10 trees "7 of 9"; the band behind it where some trees are
        unaccounted for; else the reason there is no figure.

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
        return f"{result.alive:,} of {result.n:,}{band}"
    return f"{result.share:.2f} ({result.interval.low:.2f}–{result.interval.high:.2f}), n {result.n:,}{band}"


def pressure(counts: Counts) -> Pressure:
    """Disease pressure: the share of assessed trees that have a canker.

    Parameters
    ----------
    counts : Counts
        Of the susceptible check, when the figure is shown beside a survival table.

    Returns
    -------
    Pressure
        With a Wilson 95 % interval; None with the reason "not assessed" when no tree was assessed.
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
