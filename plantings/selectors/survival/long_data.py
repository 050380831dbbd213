"""The records behind survival as long rows, planting by planting, so that memory does not grow with the programme."""

import datetime
from dataclasses import dataclass

import numpy as np
from django.db.models import Count
from django.utils import timezone

from plantings.calc.census.codes import status_code
from plantings.calc.census.fate import Fate
from plantings.calc.census.measurements import MEASUREMENTS
from plantings.calc.census.planting_fates import histories
from plantings.calc.census.plots import plot_counts
from plantings.calc.survival.groups import CHECK, ROLES_COUNTED
from plantings.calc.survival.long_columns import COLUMNS, PLOT, TREE, fate_code, measurement_columns
from plantings.models import CensusRound, CountedPlot, Observation, Planting, PlotCount, Tree
from plantings.selectors.census.asked import own_measurements
from plantings.selectors.survival.behind import RecordsBehind, records_behind
from plantings.selectors.survival.rounds import LeftOut, OpenRound, Rounds, WaitingRound, left_out, rounds_in_scope
from plantings.selectors.survival.tallies import STANDARD_OF
from registry.choices import LotKind
from registry.models import Lot
from registry.models.shared.among import Keys
from registry.selectors.identity.descent import linked
from registry.selectors.pedigree.lineage import lot_lineages

__all__ = ["LongData", "long_data"]

_FATE_CODES = {fate: fate_code(fate) for fate in Fate}
_ALIVE = frozenset({Fate.ALIVE, Fate.ALIVE_RESPROUT})
_NOT_ASSESSED = frozenset({Fate.NOT_VISITED, Fate.NOT_LOCATED, Fate.UNCLEAR, Fate.REMOVED_EXCLUDED})


@dataclass(frozen=True, slots=True)
class LongData(RecordsBehind):
    """What a person may take home within the choices: the plantings (codes, in order), and what is not in the rows and why."""

    user: object
    filters: object
    rounds: Rounds
    plantings: tuple[str, ...]
    items: tuple
    left_out: tuple[LeftOut, ...]
    not_complete: tuple[OpenRound, ...]
    waiting: tuple[WaitingRound, ...]
    complete_percent: int
    site_names: dict[str, str]
    as_of: datetime.date

    @property
    def columns(self):
        return (*COLUMNS, *measurement_columns(self.items))

    @property
    def default_age(self):
        """Growing seasons of the table that opens first; None without a complete census."""
        moment = self.rounds.default_moment()
        return moment.number if moment else None

    def rows_at_most(self):
        """How many rows there are, before choices leave out lots or trees of them."""
        within = {"planting__code__among": Keys(self.plantings)}
        rounds, trees, plots = (
            dict(model.objects.filter(**within).order_by().values_list("planting").annotate(Count("pk")))
            for model in (CensusRound, Tree, CountedPlot)
        )
        return sum(count * (trees.get(planting, 0) + plots.get(planting, 0)) for planting, count in rounds.items())

    def rows(self):
        """Lists in the order of `columns`, planting by planting."""
        lineages = lot_lineages()
        for code in self.plantings:
            yield from planting_rows(self, code, lineages)


def long_data(user, filters):
    """The LongData of a person; rounds that are open or thinly visited are in it and marked."""
    rounds = rounds_in_scope(user, filters)
    parts = [part for parts in rounds.by_planting.values() for part in parts if filters.takes(part.unread)]
    chosen = {(part.round, part.sown): part for part in parts}
    return LongData(
        user=user, filters=filters, rounds=rounds, plantings=tuple(sorted({part.planting for part in parts})),
        items=(*MEASUREMENTS, *own_measurements()), left_out=left_out(user, filters, rounds, chosen),
        not_complete=tuple(OpenRound(part, False) for part in parts if part.why), waiting=rounds.waiting,
        complete_percent=rounds.percent, **records_behind(user, rounds, parts),
        site_names={part.site: part.site_name for part in parts}, as_of=timezone.localdate(),
    )  # fmt: skip


def planting_rows(data, code, lineages=None):
    """The rows of one planting: its trees in walk order, then its counted plots, each at every round; a few queries."""
    planting = Planting.objects.for_user(data.user).get(code=code)
    rounds = list(planting.rounds.order_by("opens_on", "pk"))
    described = _Described(data, planting, lineages)
    yield from _tree_rows(data, planting, rounds, described)
    yield from _plot_rows(data, planting, rounds, described)


class _Described:
    """What is said of each lot and round of a planting, once for all of its rows."""

    def __init__(self, data, planting, lineages):
        self.data = data
        self.parts = {
            (part.round, part.sown): part for sown in (False, True) for part in data.rounds.by_planting.get((planting.code, sown), ())
        }
        site = planting.site
        self.site = [site.jurisdiction, site.code, site.name, planting.code]
        entries = list(planting.entries.values_list("pk", "lot", "role"))
        keys = {lot for _pk, lot, _role in entries}
        rows = {pk: rest for pk, *rest in linked(Lot.objects, "pk", keys, "pk", "code", "kind", "taxon__role")}
        if lineages is None:
            lineages = lot_lineages(list(Lot.objects.filter(pk__in=keys)))
        self.entries = {pk: self._entry(lineages[lot], *rows[lot], role) for pk, lot, role in entries if self._taken(lineages[lot], role)}

    def _taken(self, lineage, role):
        if self.data.filters.role and role != self.data.filters.role:
            return False
        return role == CHECK or all(getattr(lineage, level) == label for level, label in self.data.filters.lineages)

    @staticmethod
    def _entry(lineage, code, kind, species, role):
        sown = kind == LotKind.SEED
        standard = STANDARD_OF.get(species, "other") if role == CHECK else ""
        words = [code, lineage.mother, lineage.family, lineage.source, lineage.line, lineage.generation]
        return sown, role in ROLES_COUNTED, [*words, role, standard, "sown" if sown else "planted"]

    def round(self, census_round, sown):
        """The values of a round for planted or sown, or None where the choices leave it out."""
        part = self.parts.get((census_round.pk, sown))
        if part is None or not self.data.filters.takes(part.unread):
            return None
        opens = census_round.opens_on.isoformat()
        return [census_round.label, opens, census_round.growing_seasons, "no" if part.why else "yes", part.unread]


def _tree_rows(data, planting, rounds, described):
    trees = list(
        Tree.objects.for_user(data.user).filter(planting=planting).order_by("walk_number", "pk")
        .values_list("pk", "entry", "tag", "block__code", "row", "position", "replaces")
    )  # fmt: skip
    if not trees or not rounds:
        return
    places = [item.field for item in data.items if not item.is_own]
    own = [item.field for item in data.items if item.is_own]
    line, column = {tree[0]: number for number, tree in enumerate(trees)}, {census.pk: number for number, census in enumerate(rounds)}
    status, records = np.zeros((len(trees), len(rounds)), np.uint8), {}
    found = Observation.objects.for_user(data.user).counting().filter(round__planting=planting).order_by("observed_on", "pk")
    for tree, census, day, code, cause, values, *measured in found.values_list(
        "tree", "round", "observed_on", "status", "cause", "own_values", *places
    ):
        place = line[tree], column[census]
        status[place] = status_code(code, cause)
        records[place] = [day.isoformat(), code, cause], [*measured, *(values.get(field) for field in own)]
    fates = histories(status).fate.tolist()
    nothing = [None, "", ""], [None] * (len(places) + len(own))
    by_round = {(number, sown): described.round(census, sown) for number, census in enumerate(rounds) for sown in (False, True)}
    for number, (_pk, entry, tag, block, row, position, replaces) in enumerate(trees):
        if entry not in described.entries:
            continue
        sown, is_counted, words = described.entries[entry]
        head = [TREE, *described.site, tag, block, row, position, *words, "yes" if is_counted and replaces is None else "no"]
        for place, fate in enumerate(map(Fate, fates[number])):
            when = by_round[place, sown]
            if when is not None:
                seen, measured = records.get((number, place), nothing)
                assessed, alive = int(fate not in _NOT_ASSESSED), int(fate in _ALIVE)
                yield [*head, *when, *seen, _FATE_CODES[fate], 1, assessed, alive, *measured]


def _plot_rows(data, planting, rounds, described):
    plots = list(CountedPlot.objects.for_user(data.user).known().filter(planting=planting).order_by("code"))
    if not plots:
        return
    counts = {
        (plot, census): (day, alive, dead)
        for plot, census, day, alive, dead in PlotCount.objects.for_user(data.user).counting().filter(round__planting=planting)
        .order_by("observed_on", "pk").values_list("plot", "round", "observed_on", "alive", "dead")
    }  # fmt: skip
    for plot in plots:
        if plot.entry_id not in described.entries:
            continue
        sown, is_counted, words = described.entries[plot.entry_id]
        head = [PLOT, *described.site, plot.code, None, None, None, *words, "yes" if is_counted else "no"]
        seen = [counts.get((plot.pk, census.pk)) for census in rounds]
        results = plot_counts(plot.planted_count, [count and count[1:] for count in seen])
        for census, count, result in zip(rounds, seen, results, strict=True):
            when = described.round(census, sown)
            if when is not None:
                day = count[0].isoformat() if count else None
                yield [*head, *when, day, "", "", "", result.planted, result.assessed, result.alive, *[None] * len(data.items)]
