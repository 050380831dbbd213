"""Survival of groups of entries side by side: what a row of the survival table holds, and how tallies become rows.

Rows pool tallies of one age; whatever the row is grouped by, trees under test, each kind of check, and sown seed never share a row.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from plantings.calc.results import Difference, Interval
from plantings.calc.survival.groups import CHECK, DONOR, NATIVE, OTHER, STANDARDS, TEST
from plantings.calc.survival.over_sites import NO_COMMON_SITE, NO_SPREAD, OverSites, difference_over_sites, share_over_sites
from plantings.calc.survival.survival import NOT_ASSESSED, Counts, Pressure, Survival, pressure, survival
from plantings.calc.survival.tallies import Tallies, Tally
from plantings.calc.survival.tally_sums import CheckSums, Group, Groups
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.worded import worded

NO_CHECK = gettext_noop("no check on these sites")
NO_SUSCEPTIBLE_CHECK = gettext_noop("no native check on these sites")
# of one group, and of all groups of the role together
ROLE_WORDS = {
    "": (gettext_noop("under test"), gettext_noop("under test")),
    NATIVE: (gettext_noop("native check"), gettext_noop("native checks")),
    OTHER: (gettext_noop("other check"), gettext_noop("other checks")),
    DONOR: (gettext_noop("donor check"), gettext_noop("donor checks")),
}
STANDARD_WORDS = {standard: singular for standard, (singular, _) in ROLE_WORDS.items()}
CHECK_NOT_ASSESSED = gettext_noop("checks not assessed")
NOT_COMPLETE = gettext_noop("census not complete")
OUT_OF_REACH = gettext_noop("near 0 or 1: the interval over sites may be too narrow")
BINOMIAL, OVER_SITES = "Wilson", "over sites"


@dataclass(frozen=True, slots=True)
class Checks:
    """The checks of one kind on a set of sites: which lots, how many trees, how many of them have cankers, and [alive, n] of every site.

    `reason` says why there is nothing to compare with. `pressure` is None only together with `pressure_reason`.
    """

    lots: tuple[str, ...]
    alive: int
    n: int
    by_site: dict[str, list[int]]
    pressure: Pressure | None
    reason: str = ""
    pressure_reason: str = ""


class SurvivalRow(NamedTuple):
    """One row: a group of one role over one or several sites, with its survival and what is shown beside it.

    A named tuple, since a table makes thousands and a frozen dataclass takes four times as long to fill.

    `n` are the trees assessed, of `countable`. `share`, `low` and `high` are None where `reason` says why. `method` says which interval
    was used: over sites where the row pools several, else Wilson's; `holds` is False where that over sites may be too narrow. `standard`
    is the kind of check, "" under test. `difference` is from the checks on the same sites and None on a row of checks; `checks` is
    None there too. `pressure` is given under test and for the native check only. `complete` is False where a round is in the row
    that is still open or thinly visited.
    """

    keys: tuple[str, ...]
    role: str
    standard: str
    sown: bool
    complete: bool
    counts: Counts
    n: int
    countable: int
    share: float | None
    low: float | None
    high: float | None
    band_low: float | None
    band_high: float | None
    count_leads: bool
    reason: str
    method: str
    holds: bool
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
    def caveats(self) -> tuple[str, ...]:
        """What to know before reading the figure."""
        held = ((self.complete, NOT_COMPLETE), (self.holds, OUT_OF_REACH), (self.standard_error != 0, NO_SPREAD))
        return tuple(words for is_so, words in held if not is_so)

    @property
    def is_check(self) -> bool:
        return self.role == CHECK

    @property
    def role_words(self) -> str:
        return sown_words(ROLE_WORDS[self.standard][0], self.sown)

    @property
    def role_plural(self) -> str:
        return sown_words(ROLE_WORDS[self.standard][1], self.sown)

    @property
    def rankable(self) -> bool:
        """False under ten trees: such a share is mostly chance and is given no place in an order."""
        return self.share is not None and not self.count_leads


def sown_words(words: str, sown: bool) -> str:
    """The words of a role, and that it was sown as seed where it was.

    Source
    ------
    Definition of this programme.
    """
    return worded("%(role)s, sown as seed", role=worded(words)) if sown else words


class CheckBook:
    """The checks of every site, pooled once for each set of sites that asks. Sown seed is compared with sown checks."""

    def __init__(self, tallies: Iterable[Tally]):
        self.sums = CheckSums(tallies)
        self.pooled: dict[tuple, Checks] = {}

    def on(self, sown: bool, sites: tuple[str, ...]) -> Checks:
        if (sown, sites) not in self.pooled:
            self.pooled[sown, sites] = _pool_checks(self.sums.on(sown, sites))
        return self.pooled[sown, sites]


def _pool_checks(found: tuple[str, Group] | None) -> Checks:
    if found is None:
        return Checks((), 0, 0, {}, None, NO_CHECK, NO_CHECK)
    best, group = found
    figure = survival(group.counts)
    reason = CHECK_NOT_ASSESSED if figure.reason == NOT_ASSESSED else figure.reason
    seen, unseen = (_pressure(group), "") if best == NATIVE else (None, NO_SUSCEPTIBLE_CHECK)
    return Checks(group.lots, figure.alive, figure.n, group.sites(), seen, reason, unseen)


def survival_table_rows(tallies: Sequence[Tally], compare: bool = True) -> list[SurvivalRow]:
    """Rows by keys and role, in the order they were first met, each with its interval, band and comparison.

    Checks of the native species, of the donor and others have rows of their own, and so has sown seed.

    Parameters
    ----------
    tallies : sequence of Tally
        All of one age; those of the checks on the same sites among them.
    compare : bool
        False leaves out the comparison with the checks and the disease pressure.

    Notes
    -----
    A row is compared with the checks on its own sites, site by site: the native ones where there are any, else the others, else those of
    the donor. A native check and a donor pooled would not be a standard.

    Source
    ------
    Definitions as in `survival`; interval over sites `share_over_sites`; difference `difference_over_sites`. Disease pressure has
    the interval over sites too.
    """
    checks, groups = CheckBook(tallies) if compare else None, Groups(tallies)
    return [row_of_group(*kind, groups[kind], checks) for kind in groups]


def survival_totals(tallies: Sequence[Tally], label: str = "All") -> list[SurvivalRow]:
    """A row over everything planted under test, and one over all checks of each kind, where there are any; then the same of sown seed.

    Source
    ------
    As `survival_table_rows`.
    """
    checks = CheckBook(tallies)
    groups = Groups(Tallies.of(tallies).keyed(label))
    kinds = [((label,), *kind, sown) for sown in (False, True) for kind in ((TEST, ""), *((CHECK, standard) for standard in STANDARDS))]
    return [row_of_group(*kind, groups[kind], checks) for kind in kinds if kind in groups]


def row_of_group(keys: tuple[str, ...], role: str, standard: str, sown: bool, group: Group, book: CheckBook | None) -> SurvivalRow:
    """One row of the table; without a book of checks it has no comparison.

    Source
    ------
    As `survival_table_rows`.
    """
    counts, by_site = group.counts, group.sites()
    figure = survival(counts)
    over = _over_sites(figure, by_site)
    low, high = (over.low, over.high) if over else (figure.interval.low, figure.interval.high) if figure.interval else (None, None)
    sites = tuple(sorted(by_site))
    checks = book.on(sown, sites) if book and role == TEST else None
    seen, why = (checks.pressure, checks.pressure_reason) if checks else (_pressure(group) if book and standard == NATIVE else None, "")
    return SurvivalRow(
        keys, role, standard, sown, group.complete, counts, figure.n, figure.countable, figure.share,
        low, high, figure.band_low, figure.band_high, figure.count_leads, figure.reason, OVER_SITES if over else BINOMIAL,
        over.holds if over else True, over.design_effect if over else None, over.standard_error if over else None, sites,
        group.plantings, _difference(figure, by_site, checks) if checks else None, checks,
        seen, why or (seen.reason if seen else ""),
    )  # fmt: skip


def _pressure(group: Group) -> Pressure:
    """Disease pressure of a group; over several sites with an interval that knows them, as survival has."""
    found = pressure(group.counts)
    pairs = [pair for pair in group.cankers().values() if pair[1] > 0]
    if len(pairs) < 2:
        return found
    over = share_over_sites([cankered for cankered, _ in pairs], [assessed for _, assessed in pairs])
    return replace(found, interval=Interval(over.low, over.high), holds=over.holds)


def _over_sites(figure: Survival, by_site: dict[str, list[int]]) -> OverSites | None:
    """The figure over sites; None where trees were assessed on one site only, or on none."""
    pairs = [pair for pair in by_site.values() if pair[1] > 0]
    if figure.share is None or len(pairs) < 2:
        return None
    return share_over_sites([alive for alive, _ in pairs], [n for _, n in pairs])


def _difference(figure: Survival, by_site: dict[str, list[int]], checks: Checks) -> Difference:
    reason = checks.reason or figure.reason
    if reason:
        return Difference(None, None, None, reason)
    test, check = list(by_site.values()), [checks.by_site.get(site, (0, 0)) for site in by_site]
    found = difference_over_sites(*zip(*test, strict=True), *zip(*check, strict=True))
    return found._replace(reason=NO_CHECK) if found.reason == NO_COMMON_SITE else found


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
            row.sown,
            row.is_check,
            STANDARDS.index(row.standard) if row.standard else 0,
            by_survival and not ranked,
            -row.share if ranked else 0,
            last,
        )

    return sorted(rows, key=place)
