"""Lineages beside the native checks, in the order of a shrunken value: what the page of that question shows.

Source
------
Definitions of this programme; the model is `mixed_fit`, the fallback `beta_binomial_fit`, the difference `difference_over_sites`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from plantings.calc.lifetimes.multiplicity import holm
from plantings.calc.lineages.heritability import NO_MODEL, Heritability
from plantings.calc.lineages.lineage_model import LINEAGE, LineageCells, lineage_cells
from plantings.calc.lineages.model_answer import ModelAnswer, model_answer
from plantings.calc.lineages.ranking import beta_place_chances
from plantings.calc.lineages.shrinkage import beta_binomial_fit, shrunken_shares
from plantings.calc.results import Difference
from plantings.calc.survival.groups import CHECK, TEST
from plantings.calc.survival.odds import OddsOverSites, odds_over_sites
from plantings.calc.survival.over_sites import difference_over_sites
from plantings.calc.survival.survival import Pressure, pressure
from plantings.calc.survival.table import DONOR, NATIVE, CheckBook, SurvivalRow, row_of_group
from plantings.calc.survival.tallies import Tallies, Tally, numbered
from plantings.calc.survival.tally_sums import Groups, assessed
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.worded import counted, worded

TREES_FEWEST, LINEAGES_FEWEST, SITES_FEWEST = 5, 5, 3
MODEL, BETA, OBSERVED = "model", "beta", "observed"
AWAITED = "awaited"  # the model is being worked out; until then nobody can put the lineages in order
FEW_TREES, NO_NATIVE = gettext_noop("fewer than five trees assessed"), gettext_noop("no native check on its sites")
ONE_SITE = gettext_noop("one common site with the native check")
NEEDED = {
    FEW_TREES: gettext_noop("Assess at least five of its trees."),
    NO_NATIVE: gettext_noop("Plant it beside native checks, or assess the checks on its sites."),
    ONE_SITE: gettext_noop("A second site where both are assessed."),
}
FEW_LINEAGES = worded(
    "fewer than %(lineages)s with %(trees)s", lineages=counted(LINEAGES_FEWEST, "lineages"), trees=counted(TREES_FEWEST, "trees")
)
FEW_SITES = worded("fewer than %(sites)s", sites=counted(SITES_FEWEST, "sites"))
ONE_SITE_EACH = gettext_noop("no lineage is on two sites")
LEVELS_MOST = 1_000  # sites, plantings and lineages: the time of the model grows with the cube of their number, the memory with the square
MANY_LEVELS = gettext_noop("more sites and lineages together than a model is fitted for; a choice of sites or of a jurisdiction has one")


@dataclass(frozen=True, slots=True)
class SiteMark:
    """One site of a lineage: survival there less that of the native check there, None without a check; its trees, and survival there."""

    site: str
    difference: float | None
    n: int
    share: float


@dataclass(frozen=True, slots=True)
class Shrunk:
    """A shrunken value, all shares 0 to 1: survival over the sites of the picture with its interval, and its difference from the native
    check where the model has one. `reliability` is 0 (all chance) to 1, None without a model; `best` and `worst` are chances, None
    where no order can be told."""

    share: float
    low: float
    high: float
    difference: Difference | None
    reliability: float | None
    best: float | None
    worst: float | None


@dataclass(frozen=True, slots=True)
class LineageRow:
    """One lineage under test. `reason` says why it has no place in the order; `shrunk` is None there, and where nothing can be shrunken.

    `odds` are those to be alive beside the native check within sites; `odds_holm` and `alike_holm` its two p, adjusted for the lineages in
    the order.
    """

    label: str
    row: SurvivalRow
    sites: tuple[SiteMark, ...]
    shrunk: Shrunk | None
    reason: str = ""
    odds: OddsOverSites | None = None
    odds_holm: float | None = None
    alike_holm: float | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """The ranked lineages, best first, those that cannot be told, and what the order rests on.

    `method` is a model of sites, a beta distribution of lineages, or the observed differences; `why_not` says why no better one was
    used. While a model is being worked out it is AWAITED, and the lineages are in the order of their labels. `heritability` takes the
    lineages as families of open pollination.
    Where no native check is assessed on any site (`has_native`), lineages are compared with each other alone.
    `deviations` are the SDs of the model's factors on the logit scale, 0 for those in `singular`. `left_out` are kinds of check
    that the model had to leave out, since all or none of their trees live. `places` is how many lineages are the best quarter.
    """

    ranked: tuple[LineageRow, ...] = ()
    unranked: tuple[LineageRow, ...] = ()
    checks: tuple[SurvivalRow, ...] = ()
    donor: Difference | None = None
    pressure: Pressure | None = None
    pressure_sites: tuple[int, int] = (0, 0)
    method: str = OBSERVED
    why_not: tuple[str, ...] = ()
    deviations: dict[str, float] = field(default_factory=dict)
    singular: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    places: int = 0
    sites: int = 0
    heritability: Heritability = Heritability(None, None, None, 0, NO_MODEL)
    has_native: bool = True


def compare_lineages(
    tallies: Sequence[Tally], answer_of: Callable[[LineageCells, Sequence[str]], ModelAnswer | str | None] = model_answer
) -> Comparison:
    """Every lineage beside the native checks on its sites.

    Parameters
    ----------
    tallies : sequence of Tally
        Of one moment, grouped by lineage alone, all planted or all sown.
    answer_of : callable
        What fits the model: `model_answer`, or a function that has its answers stored. It gives AWAITED for one that is being worked out.

    Returns
    -------
    Comparison

    Notes
    -----
    The order is by the model where there are five lineages or more with five trees, on three sites or more; else by a beta distribution
    of lineages; else by the observed difference from the check. A lineage gets no place with fewer than five trees assessed, without a
    native check on its sites, and where only one site has both. Where there is no native check at all, each with five trees has a place
    among the others, by its survival.
    """
    tallies = Tallies.of(tallies)
    groups, book = Groups(tallies), CheckBook(tallies)
    of_checks = Groups(tallies.of_roles(lambda role, _standard, _sown: role == CHECK).keyed(""))
    by_standard = {standard: group for (_keys, _role, standard, _sown), group in of_checks.items()}
    donor, native = (by_standard[kind].sites() if kind in by_standard else {} for kind in (DONOR, NATIVE))
    tests, checks = [], []
    for number in groups.index.numbers.tolist():
        if tallies.kinds[number][1] == TEST:
            tests.append(_unplaced(groups, number, book, native))
        else:
            checks.append(row_of_group(*tallies.kinds[number], groups.numbered(number), book))
    placed, unranked = [one for one in tests if not one.reason], [one for one in tests if one.reason]
    seen, seen_sites = _pressure(by_standard.get(NATIVE))
    common = {
        "checks": tuple(checks), "donor": _donor(donor, native), "pressure": seen, "pressure_sites": seen_sites,
        "sites": len(numbered(tallies.site)[0]), "has_native": bool(native),
        "unranked": tuple(sorted(unranked, key=lambda one: one.label.casefold())),
    }  # fmt: skip
    if not placed:
        return Comparison(**common)
    placed = _adjusted(placed)
    return _by_model(tallies, placed, common, answer_of) or _by_beta(placed, common, _why_no_model(tallies, placed))


_ROWS: dict[tuple, "LineageRow"] = {}  # what the same tallies gave before, by their digest and whether there is a native check at all
_ROWS_MOST = 10_000


def _unplaced(groups, number, book, native):
    """The LineageRow of a kind under test, without its place in the order."""
    digest = groups.digest(number, book.sums), bool(native)
    found = _ROWS.get(digest)
    if found is None:
        if len(_ROWS) >= _ROWS_MOST:
            _ROWS.clear()
        group = groups.numbered(number)
        found = _ROWS[digest] = _worked_out(row_of_group(*groups.tallies.kinds[number], group, book), group.sites(), native)
    return found


def _worked_out(row, own, native):
    marks, common = [], 0
    for site, (alive, n) in sorted(own.items()):
        check = native.get(site, (0, 0))
        if n:
            difference = alive / n - check[0] / check[1] if check[1] else None
            common += difference is not None
            marks.append(SiteMark(site, difference, n, alive / n))
    if not native:  # what the row says is from checks of another kind
        return LineageRow(row.keys[0], row._replace(difference=None), tuple(marks), None, FEW_TREES if row.n < TREES_FEWEST else "")
    reason = FEW_TREES if row.n < TREES_FEWEST else NO_NATIVE if not common else ONE_SITE if common == 1 else ""
    both = [site for site in own if site in native]
    mine, theirs = [own[site] for site in both], [native[site] for site in both]
    odds = odds_over_sites(*zip(*mine, strict=True), *zip(*theirs, strict=True)) if both else None
    return LineageRow(row.keys[0], row, tuple(marks), None, reason, odds)


def _adjusted(placed):
    """With the p of their odds adjusted for the number of lineages that have one."""
    adjusted = []
    for source in ("p", "alike_p"):
        found = {place: p for place, one in enumerate(placed) if one.odds and (p := getattr(one.odds, source)) is not None}
        adjusted.append(dict(zip(found, holm([*found.values()]), strict=True)))
    of_odds, of_alike = adjusted
    return [replace(one, odds_holm=of_odds.get(place), alike_holm=of_alike.get(place)) for place, one in enumerate(placed)]


def _donor(donor, native):
    """The donor check less the native check, site by site; None without both."""
    sites = sorted(donor.keys() & native.keys())
    if not sites:
        return None
    return difference_over_sites(*zip(*(donor[site] for site in sites), strict=True), *zip(*(native[site] for site in sites), strict=True))


def _pressure(native):
    """(disease pressure of the native checks, (sites where one was looked at, sites where one has cankers))."""
    if native is None:
        return None, (0, 0)
    seen = native.cankers().values()
    return pressure(native.counts), (sum(looked > 0 for _, looked in seen), sum(cankered > 0 for cankered, _ in seen))


def _why_no_model(tallies, placed):
    """Why the design is too thin for a model of sites; "" where it is not."""
    sites = numbered(tallies.site[assessed(tallies.counts) > 0])[0]
    if len(placed) < LINEAGES_FEWEST:
        return FEW_LINEAGES
    if len(sites) < SITES_FEWEST:
        return FEW_SITES
    plantings = numbered(tallies.planting)[0]
    if len(placed) + len(sites) + (len(plantings) if len(plantings) > len(sites) else 0) > LEVELS_MOST:
        return MANY_LEVELS
    return "" if any(len(one.sites) > 1 for one in placed) else ONE_SITE_EACH


def _by_model(tallies, placed, common, answer_of):
    """The comparison by the mixed model; None where the design is too thin, or the model gives nothing to use."""
    if _why_no_model(tallies, placed):
        return None
    cells = lineage_cells(tallies)
    answer = answer_of(cells, [one.label for one in placed])
    if answer is None:
        return None
    if answer == AWAITED:
        return Comparison(ranked=_ordered([(0, one) for one in placed], alike=True), method=AWAITED, left_out=cells.left_out, **common)
    found = []
    for one, said in zip(placed, answer.lineages, strict=True):
        if said is None:
            found.append((-np.inf, one))
            continue
        difference = Difference(*said.difference) if said.difference else None
        found.append((said.effect, _with(one, Shrunk(*said.share, difference, said.reliability, said.best, said.worst))))
    return Comparison(
        ranked=_ordered(found, LINEAGE in answer.singular), method=MODEL, deviations=answer.deviations, singular=answer.singular,
        left_out=cells.left_out, places=answer.places, heritability=answer.heritability, **common,
    )  # fmt: skip


def _by_beta(placed, common, why):
    """The comparison by a beta distribution of the lineages; else as observed."""
    reasons, native_there = (why or gettext_noop("the model did not converge"),), common["has_native"]
    fit = beta_binomial_fit([one.row.alive for one in placed], [one.row.n for one in placed])
    if fit.alpha is None or fit.beta is None:
        found = [(one.row.difference.estimate if native_there else one.row.share, one) for one in placed]
        return Comparison(ranked=_ordered(found), why_not=(*reasons, fit.reason), **common)
    values = shrunken_shares(fit, [one.row.alive for one in placed], [one.row.n for one in placed])
    alpha = np.array([fit.alpha + one.row.alive for one in placed])
    beta = np.array([fit.beta + one.row.n - one.row.alive for one in placed])
    chances = beta_place_chances(alpha, beta)
    found = [
        (value.share, _with(one, Shrunk(value.share, value.low, value.high, None, None, float(best), float(worst))))
        for one, value, best, worst in zip(placed, values, chances.best, chances.worst, strict=True)
    ]
    return Comparison(ranked=_ordered(found), method=BETA, why_not=reasons, places=chances.places, **common)


def _with(one, shrunk):
    return replace(one, shrunk=shrunk)


def _ordered(found, alike=False):
    """Best first; where no order can be told, by label."""
    return tuple(one for _value, one in sorted(found, key=lambda pair: (0 if alike else -pair[0], pair[1].label.casefold())))
