"""Survival of groups of entries side by side: what a row of the survival table holds, and how tallies become rows.

A tally is one entry (a lot in one role in a planting) at one round. Rows pool tallies of one age; whatever the row is
grouped by, trees under test and checks never share a row.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from plantings.calc.results import Difference, Interval
from plantings.calc.survival.groups import CHECK, TEST
from plantings.calc.survival.proportions import newcombe_difference, ratio_over_sites
from plantings.calc.survival.survival import NOT_VISITED, Counts, Pressure, Survival, pressure, survival

NO_CHECK = "no check on these sites"
NO_SUSCEPTIBLE_CHECK = "no native check on these sites"
# Kinds of check, in the order they are compared with: the susceptible native one is the standard of the trade.
NATIVE, OTHER, DONOR = "native", "other", "donor"
STANDARDS = (NATIVE, OTHER, DONOR)
# of one group, and of all groups of the role together
_ROLE_WORDS = {
    "": ("under test", "under test"),
    NATIVE: ("native check", "native checks"),
    OTHER: ("check", "checks"),
    DONOR: ("donor check", "donor checks"),
}
CHECK_NOT_VISITED = "checks not visited"
BINOMIAL, OVER_SITES = "Wilson", "over sites"

COUNT_NAMES = Counts._fields
_ALIVE, _PLANTED, _EXCLUDED = (COUNT_NAMES.index(name) for name in ("alive", "planted", "removed_excluded"))


class Tally(NamedTuple):
    """One entry at one round.

    `keys` are the labels it is grouped by. `counts` has the numbers of `Counts` in its order. `visited` is False when
    nobody looked at any tree of the entry at this round. `standard` is the kind of check, by what its species is here
    (native, donor, or other such as a first hybrid), and "" under test.
    """

    keys: tuple[str, ...]
    role: str
    site: str
    planting: str
    lot: str
    standard: str
    visited: bool
    counts: Sequence[int]


@dataclass(frozen=True, slots=True)
class Checks:
    """The checks on a set of sites, pooled: which lots, how many trees, how many of them have cankers.

    `reason` says why there is nothing to compare with. `pressure` is None only together with `pressure_reason`.
    """

    lots: tuple[str, ...]
    alive: int
    n: int
    pressure: Pressure | None
    reason: str = ""
    pressure_reason: str = ""


class SurvivalRow(NamedTuple):
    """One row: a group of one role over one or several sites, with its survival and what is shown beside it.

    A named tuple, since a table makes thousands and a frozen dataclass takes four times as long to fill.

    `share`, `low` and `high` are None where `reason` says why. `method` says which interval was used: over sites
    where the row pools several, else Wilson's. `standard` is the kind of check, "" under test. `difference` is share
    minus the share of the checks on the same sites and None on a row of checks; `checks` is None there too.
    """

    keys: tuple[str, ...]
    role: str
    standard: str
    counts: Counts
    n: int
    share: float | None
    low: float | None
    high: float | None
    band_low: float | None
    band_high: float | None
    count_leads: bool
    reason: str
    method: str
    design_effect: float | None
    standard_error: float | None
    sites: tuple[str, ...]
    plantings: tuple[str, ...]
    difference: Difference | None
    checks: Checks | None
    pressure: Pressure | None
    pressure_reason: str

    @property
    def alive(self) -> int:
        return self.counts.alive

    @property
    def interval(self) -> Interval:
        return Interval(self.low, self.high, self.reason)

    @property
    def is_check(self) -> bool:
        return self.role == CHECK

    @property
    def role_words(self) -> str:
        return _ROLE_WORDS[self.standard][0]

    @property
    def role_plural(self) -> str:
        return _ROLE_WORDS[self.standard][1]

    @property
    def rankable(self) -> bool:
        """False under ten trees: such a share is mostly chance and is given no place in an order."""
        return self.share is not None and not self.count_leads


class _Group:
    """The tallies of one row, and their sums once all are in."""

    __slots__ = ("tallies",)

    def __init__(self, tallies: list[Tally]):
        self.tallies = tallies

    @property
    def counts(self) -> Counts:
        if len(self.tallies) == 1:
            return Counts(*self.tallies[0].counts)
        return Counts._make(map(sum, zip(*[tally.counts for tally in self.tallies], strict=False)))

    @property
    def visited(self) -> bool:
        return any(tally.visited for tally in self.tallies)

    def sites(self) -> dict[str, list[int]]:
        """Alive and n of every site."""
        sites: dict[str, list[int]] = {}
        for tally in self.tallies:
            pair = sites.setdefault(tally.site, [0, 0])
            pair[0] += tally.counts[_ALIVE]
            pair[1] += tally.counts[_PLANTED] - tally.counts[_EXCLUDED]
        return sites


class _CheckBook:
    """The checks of every site, pooled once for each set of sites that asks."""

    def __init__(self, tallies: Iterable[Tally]):
        self.by_site: dict[str, list[Tally]] = {}
        for tally in tallies:
            if tally.role == CHECK:
                self.by_site.setdefault(tally.site, []).append(tally)
        self.pooled: dict[tuple[str, ...], Checks] = {}

    def on(self, sites: tuple[str, ...]) -> Checks:
        if sites not in self.pooled:
            self.pooled[sites] = _pool_checks([tally for site in sites for tally in self.by_site.get(site, ())])
        return self.pooled[sites]


def _pool_checks(tallies: list[Tally]) -> Checks:
    if not tallies:
        return Checks((), 0, 0, None, NO_CHECK, NO_CHECK)
    best = min({tally.standard for tally in tallies}, key=STANDARDS.index)
    group = _Group([tally for tally in tallies if tally.standard == best])
    lots = tuple(sorted({tally.lot for tally in group.tallies}))
    figure = survival(group.counts, group.visited)
    reason = CHECK_NOT_VISITED if figure.reason == NOT_VISITED else figure.reason
    if best != NATIVE:
        return Checks(lots, figure.alive, figure.n, None, reason, NO_SUSCEPTIBLE_CHECK)
    return Checks(lots, figure.alive, figure.n, pressure(group.counts), reason)


def survival_table_rows(tallies: Sequence[Tally], compare: bool = True) -> list[SurvivalRow]:
    """Rows by keys and role, in the order they were first met, each with its interval, band and comparison.

    Checks of the native species, of the donor and others have rows of their own.

    Parameters
    ----------
    tallies : sequence of Tally
        All of one age; those of the checks on the same sites among them.
    compare : bool
        False leaves out the comparison with the checks and the disease pressure.

    Notes
    -----
    A row is compared with the checks on exactly its own sites: the native ones where there are any, else the others, else those of the
    donor. A native check and a donor pooled would not be a standard.

    Source
    ------
    Definitions as in `survival`; interval over sites `ratio_over_sites`; difference `newcombe_difference`.
    """
    checks = _CheckBook(tallies) if compare else None
    groups: dict[tuple, list[Tally]] = {}
    for tally in tallies:
        groups.setdefault((tally.keys, tally.role, tally.standard), []).append(tally)
    return [_row(*kind, _Group(group), checks) for kind, group in groups.items()]


def survival_totals(tallies: Sequence[Tally], label: str = "All") -> list[SurvivalRow]:
    """A row over everything under test, and one over all checks of each kind, where there are any.

    Source
    ------
    As `survival_table_rows`.
    """
    checks = _CheckBook(tallies)
    groups: dict[tuple, list[Tally]] = {(TEST, ""): [], **{(CHECK, standard): [] for standard in STANDARDS}}
    for tally in tallies:
        groups[tally.role, tally.standard].append(tally)
    return [_row((label,), *kind, _Group(group), checks) for kind, group in groups.items() if group]


def _row(keys: tuple[str, ...], role: str, standard: str, group: _Group, book: _CheckBook | None) -> SurvivalRow:
    counts, by_site = group.counts, group.sites()
    figure = survival(counts, group.visited)
    low, high, method, design_effect, error = _interval(figure, by_site)
    sites = tuple(sorted(by_site))
    checks = book.on(sites) if book and role == TEST else None
    seen, why = (checks.pressure, checks.pressure_reason) if checks else (pressure(counts) if book else None, "")
    return SurvivalRow(
        keys, role, standard, counts, figure.n, figure.share, low, high, figure.band_low, figure.band_high, figure.count_leads,
        figure.reason, method, design_effect, error, sites, tuple(sorted({tally.planting for tally in group.tallies})),
        _difference(figure, checks) if checks else None, checks, seen, why or (seen.reason if seen else ""),
    )  # fmt: skip


def _interval(figure: Survival, by_site: dict[str, list[int]]):
    """Ends, method, design effect and standard error: over sites where trees were counted on several, else Wilson's."""
    if figure.share is None:
        return None, None, BINOMIAL, None, None
    pairs = [pair for pair in by_site.values() if pair[1] > 0]
    if len(pairs) == 1:
        return figure.interval.low, figure.interval.high, BINOMIAL, None, None
    clustered = ratio_over_sites([alive for alive, _ in pairs], [n for _, n in pairs])
    return clustered.low, clustered.high, OVER_SITES, clustered.design_effect, clustered.standard_error


def _difference(figure: Survival, checks: Checks) -> Difference:
    reason = checks.reason or figure.reason
    if reason:
        return Difference(None, None, None, reason)
    return newcombe_difference(figure.alive, figure.n, checks.alive, checks.n)


def in_order(rows: Iterable[SurvivalRow], by_survival: bool = False) -> list[SurvivalRow]:
    """Rows by label; or, within each first label, by survival with the highest first.

    Checks come after the trees under test. Rows under ten trees, and rows without a figure, are not ranked: they
    follow the ranked ones in the order of their labels.

    Source
    ------
    Definition of this programme: under ten trees a share is mostly chance, so it gets no place in an order.
    """

    def place(row: SurvivalRow):
        *outer, last = (key.casefold() for key in row.keys)
        ranked = by_survival and row.rankable
        return (
            outer,
            row.is_check,
            STANDARDS.index(row.standard) if row.standard else 0,
            by_survival and not ranked,
            -row.share if ranked else 0,
            last,
        )

    return sorted(rows, key=place)
