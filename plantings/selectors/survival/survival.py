"""Survival by site and lineage, read from the tallies that every census write keeps."""

import datetime
from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import NamedTuple

from django.db.models import Case, Exists, OuterRef, Q, Value, When
from django.utils import timezone

from plantings.calc.census.codes import NOT_VISITED
from plantings.calc.survival.groups import BY, CHECK, LEVEL_FIRST_SHOWN, LEVELS, LINEAGE, ROLES_COUNTED, TEST
from plantings.calc.survival.table import (
    COUNT_NAMES,
    DONOR,
    NATIVE,
    OTHER,
    SurvivalRow,
    Tally,
    in_order,
    survival_table_rows,
    survival_totals,
)
from plantings.choices import PlantingState
from plantings.models import CensusRound, Observation, Planting, PlantingEntry, PlotCount, SurvivalTally
from registry.choices import TaxonRole
from registry.models import Lot
from registry.selectors.pedigree.lineage import NOT_STATED, OUTSIDE, lot_lineages
from registry.selectors.shared.raw_rows import raw_rows

__all__ = ["SurvivalCurve", "SurvivalFilter", "SurvivalTable", "survival_curve", "survival_rows", "tally_visited"]

NOT_KNOWN = "not known"
_STANDARDS = {TaxonRole.NATIVE: NATIVE, TaxonRole.DONOR: DONOR}
NO_CENSUS = "no census yet"
_PLACE = "entry__planting__site"


@dataclass(frozen=True, slots=True)
class SurvivalFilter:
    """What the table is limited to; empty means no limit. `site` and `jurisdiction` are codes, `role` test or check."""

    site: str = ""
    jurisdiction: str = ""
    role: str = ""

    def narrow(self, queryset, site_path):
        if self.site:
            queryset = queryset.filter(**{f"{site_path}__code": self.site})
        if self.jurisdiction:
            jurisdiction = "" if self.jurisdiction == NOT_KNOWN else self.jurisdiction
            queryset = queryset.filter(**{f"{site_path}__jurisdiction": jurisdiction})
        return queryset

    @property
    def roles(self):
        return (self.role,) if self.role else ROLES_COUNTED


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A planting that is not in the table, and why."""

    planting: str
    site: str
    reason: str


@dataclass(frozen=True, slots=True)
class SurvivalTable:
    """Rows of one age. `seasons` are the ages there are, each with the number of plantings that have a census of it."""

    by: tuple[str, ...]
    level: str
    season: int | None
    seasons: tuple[tuple[int, int], ...]
    rows: tuple[SurvivalRow, ...]
    totals: tuple[SurvivalRow, ...]
    left_out: tuple[LeftOut, ...]
    site_names: dict[str, str]
    protocol_versions: tuple[str, ...]
    as_of: datetime.date


@dataclass(frozen=True, slots=True)
class SurvivalCurve:
    """The same groups at every age: each of `rows` is one group as {age: SurvivalRow}, in the order of labels."""

    by: tuple[str, ...]
    level: str
    seasons: tuple[int, ...]
    rows: tuple[dict[int, SurvivalRow], ...]
    site_names: dict[str, str]
    as_of: datetime.date


class _Round(NamedTuple):
    """A round with records in scope, and where it was."""

    age: int
    protocol: str
    planting: str
    site: str
    site_name: str
    jurisdiction: str


@dataclass(frozen=True, slots=True)
class _Rounds:
    """The rounds in scope by their key; `repeated` are those an age has a later round for. `ages` of every planting."""

    rounds: dict[int, _Round]
    repeated: frozenset
    ages: dict[str, set]
    seasons: tuple[tuple[int, int], ...]

    def default_season(self):
        """The oldest age that at least half of the plantings with any census have reached."""
        oldest = [max(ages) for ages in self.ages.values()]
        reached = [season for season, _ in self.seasons if 2 * sum(age >= season for age in oldest) >= len(oldest)]
        return max(reached, default=None)


def survival_rows(user, by=("site", LINEAGE), level="lot", season=None, filters=None, *, by_survival=False):
    """The survival table of the rows a person may see.

    Parameters
    ----------
    by : names out of `BY`, in the order the rows are grouped
    level : the level of lineage, out of `LEVELS`
    season : growing seasons completed; None takes the oldest that half of the plantings have reached
    filters : SurvivalFilter
    by_survival : order each first group by survival; rows under ten trees are never ranked

    Returns
    -------
    SurvivalTable
        Each planting enters with its last round of that age; those without one are in `left_out`.
    """
    by, filters = _checked(by, level), filters or SurvivalFilter()
    rounds = _rounds(user, filters)
    if season is None:
        season = rounds.default_season()
    tallies = _tallies(user, by, level, filters, rounds, (season,))[season]
    used = [found for pk, found in rounds.rounds.items() if found.age == season and pk not in rounds.repeated]
    rows = [row for row in survival_table_rows(tallies) if row.role in filters.roles]
    return SurvivalTable(
        by=by,
        level=level,
        season=season,
        seasons=rounds.seasons,
        rows=tuple(in_order(rows, by_survival)),
        totals=tuple(row for row in survival_totals(tallies) if row.role in filters.roles),
        left_out=_left_out(user, filters, rounds, season),
        site_names={found.site: found.site_name for found in used},
        protocol_versions=tuple(sorted({found.protocol for found in used} - {""})),
        as_of=timezone.localdate(),
    )


def survival_curve(user, by=(LINEAGE,), level=LEVEL_FIRST_SHOWN, filters=None):
    """Survival of the same groups at every age there is; at each age only the plantings that have a census of it."""
    by, filters = _checked(by, level), filters or SurvivalFilter()
    rounds = _rounds(user, filters)
    seasons = tuple(season for season, _ in rounds.seasons)
    ages = _tallies(user, by, level, filters, rounds, seasons)
    names = {found.site: found.site_name for found in rounds.rounds.values()}
    groups = defaultdict(dict)
    for season in seasons:
        for row in survival_table_rows(ages[season], compare=False):
            if row.role in filters.roles:
                groups[row.keys, row.role_words][season] = row
    # any age of a group will do: the order looks at labels and role only
    order = in_order(next(iter(figures.values())) for figures in groups.values())
    rows = tuple(groups[row.keys, row.role_words] for row in order)
    return SurvivalCurve(by, level, seasons, rows, names, timezone.localdate())


def _checked(by, level):
    by = tuple(by)
    unknown = [word for word in by if word not in BY]
    if unknown or not by or len(set(by)) < len(by):
        raise ValueError(f"by is {', '.join(by) or 'empty'}: give one or more of {', '.join(BY)}, each once")
    if level not in LEVELS:
        raise ValueError(f"level is {level}: give one of {', '.join(LEVELS)}")
    return by


def _rounds(user, filters):
    tallied = SurvivalTally.objects.filter(round=OuterRef("pk"), entry__role__in=ROLES_COUNTED)
    rounds = filters.narrow(CensusRound.objects.for_user(user).filter(Exists(tallied)), "planting__site")
    found, last, ages, repeated = {}, {}, defaultdict(set), set()
    about_rounds = rounds.order_by("opens_on").values_list(
        "pk", "growing_seasons", "protocol_version", "planting__code", "planting__site__code", "planting__site__name",
        "planting__site__jurisdiction",
    )  # fmt: skip
    for pk, *about in raw_rows(about_rounds):
        found[pk] = this = _Round(*about)
        if (this.planting, this.age) in last:
            repeated.add(last[this.planting, this.age])
        last[this.planting, this.age] = pk
        ages[this.planting].add(this.age)
    counts = Counter(age for _planting, age in last)
    return _Rounds(found, frozenset(repeated), ages, tuple(sorted(counts.items())))


def _tallies(user, by, level, filters, rounds, seasons):
    """Tallies of these ages with their labels, by age: one query, and one for the lots they are of."""
    # the rounds as a sub-query: SQLite then looks tallies up by their round and does not read those of other ages
    of_age = CensusRound.objects.filter(growing_seasons__in=seasons).order_by().values("pk")
    tallies = SurvivalTally.objects.for_user(user).filter(round__in=of_age, entry__role__in=ROLES_COUNTED)
    tallies = filters.narrow(tallies, _PLACE)
    found = raw_rows(tallies.values_list("pk", "round", "entry__lot", "entry__role", *COUNT_NAMES))
    unvisited = _unvisited(tallies, found)
    lots = {pk: (code, _STANDARDS.get(species, OTHER)) for pk, code, species in _lots(found)}
    lineage = _lineage_labels(level, lots) if LINEAGE in by else {}
    ages, known, read = defaultdict(list), {}, {pk: at for pk, at in rounds.rounds.items() if pk not in rounds.repeated}
    for row in found:
        pk, round_pk, lot_pk, role = row[:4]
        at = read.get(round_pk)
        if at is None:  # an age has a later round
            continue
        (lot, standard), label = lots[lot_pk], lineage.get((lot_pk, role))
        keys = known.get((round_pk, label))
        if keys is None:  # made once for a group, since a table has far more tallies than groups
            words = {"site": at.site, "planting": at.planting, "jurisdiction": at.jurisdiction or NOT_KNOWN, LINEAGE: label}
            keys = known[round_pk, label] = tuple([words[word] for word in by])
        ages[at.age].append(Tally(keys, role, at.site, at.planting, lot, standard if role == CHECK else "", pk not in unvisited, row[4:]))
    return ages


def _unvisited(tallies, found):
    """Keys of the tallies whose trees were not looked at, not one; looked up in the records only when the counts leave it open."""
    not_visited, not_found, not_located = (4 + COUNT_NAMES.index(name) for name in ("not_visited", "not_found", "not_located"))
    if not any(row[not_visited] and not row[not_found] and not row[not_located] for row in found):
        return frozenset()
    return frozenset(tallies.annotate(visited=tally_visited()).filter(visited=0).values_list("pk", flat=True))


def _lots(found):
    return raw_rows(Lot.objects.order_by().filter(pk__in={row[2] for row in found}).values_list("pk", "code", "taxon__role"))


def tally_visited():
    """Whether anybody looked at a tree of the entry at the round.

    The records are read only where the counts leave it open (trees not visited beside trees whose fate another
    round settled), and then only until the first that answers.
    """
    seen = Observation.objects.current().filter(round=OuterRef("round"), tree__entry=OuterRef("entry")).exclude(status=NOT_VISITED)
    counted = PlotCount.objects.filter(round=OuterRef("round"), plot__entry=OuterRef("entry"))
    open_question = Q(not_visited__gt=0, not_found=0, not_located=0)
    # an integer, not a truth value: both databases return it unchanged
    return Case(When(open_question & ~(Exists(seen) | Exists(counted)), then=Value(0)), default=Value(1))


def _lineage_labels(level, lots):
    """{(lot, role): label}. A check of which the level is not stated goes by its generation, else by its lot code."""
    if level == "lot":
        return {(pk, role): code for pk, (code, _) in lots.items() for role in ROLES_COUNTED}
    labels = {}
    for pk, lineage in lot_lineages().items():
        label = getattr(lineage, level)
        words = (label, lineage.generation, lineage.lot)
        labels[pk, TEST] = label
        labels[pk, CHECK] = next(word for word in words if word not in (NOT_STATED, OUTSIDE))
    return labels


def _left_out(user, filters, rounds, season):
    """Established plantings with trees to count that have no census of this age."""
    counted = PlantingEntry.objects.filter(planting=OuterRef("pk"), role__in=ROLES_COUNTED)
    plantings = Planting.objects.for_user(user).exclude(state=PlantingState.PLANNED).filter(Exists(counted))
    left = []
    for code, site in filters.narrow(plantings, "site").order_by("code").values_list("code", "site__code"):
        ages = rounds.ages.get(code, ())
        if season not in ages:
            left.append(LeftOut(code, site, f"has {', '.join(map(str, sorted(ages)))}" if ages else NO_CENSUS))
    return tuple(left)
