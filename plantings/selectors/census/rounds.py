"""Reads of the census: which trees are expected at a round, what is recorded, what was seen last, which records disagree."""

from collections import Counter

from django.db.models import Count, Exists, IntegerField, OuterRef, Q, Subquery
from django.db.models.functions import Cast, Coalesce
from django.utils import timezone

from plantings.calc.census.codes import DEAD, REMOVED
from plantings.calc.census.measurements import MEASUREMENTS
from plantings.calc.census.rows import LastSeen
from plantings.choices import TreeFate
from plantings.models import CountedPlot, FormScan, Observation, PageKeying, PlotCount, RoundProgress, SelfSown, Tree
from plantings.selectors.census.records import plots_counted_differently, trees_recorded_differently
from registry.models.shared.part_date_field import PartDateField

__all__ = [
    "asked_back",
    "conflicts",
    "counts_asked_back",
    "crew_language",
    "current_round",
    "plot_conflicts",
    "expected",
    "last_seen",
    "missing_trees",
    "next_tree",
    "records_by_tree",
    "rounds_listed",
    "rounds_with_progress",
    "field_form_trees",
    "standing_counts",
]


# What is compared with its last reading, or printed beside the box for the new one.
_COMPARED = tuple(item.field for item in MEASUREMENTS if item.growth or item.shown_last)
_EARLY_DAYS = 21  # a round is offered so long before it opens


def _expected(closes_on, opens_on, *, ended):
    """Trees planted by the close of a round, neither replaced before it opened nor at one of the `ended` statuses before.

    The dates are values, or outer references; `opens_on` is used one query further in. Of a year or a month of planting the first day is
    taken, so that a tree is looked for as soon as it may be there.
    """
    planted = Q(planted_on__isnull=True) | Q(planted_on__lte=_as_part_date(closes_on))
    replaced = Q(planted_on__isnull=True) | Q(planted_on__lt=_as_part_date(opens_on))
    successor = Tree.objects.filter(replaces=OuterRef("pk")).filter(replaced)
    ending = Observation.objects.current().filter(tree=OuterRef("pk"), status__in=ended, round__opens_on__lt=opens_on)
    # the stored fate makes it cheap: only trees that are gone need a look at their records; a later sighting alive undoes an ending
    gone = Q(fate__in=[_FATE_OF[status] for status in ended]) & Exists(ending)
    return planted & ~Q(Exists(successor)) & ~Q(gone)


def _as_part_date(day):
    """A day as a column of planting dates holds it."""
    return Cast(day, PartDateField()) if isinstance(day, OuterRef) else day


_FATE_OF = {DEAD: TreeFate.DEAD, REMOVED: TreeFate.REMOVED}


def field_form_trees(census_round):
    """The trees on the field form of this round, in walk order. Dead trees are listed: they may resprout."""
    trees = Tree.objects.filter(planting=census_round.planting_id)
    return trees.filter(_expected(census_round.closes_on, census_round.opens_on, ended=[REMOVED])).in_walk_order()


def crew_language(census_round, otherwise):
    """The language that most of the crew chose; `otherwise` where nobody chose, and where as many chose either."""
    chosen = Counter(census_round.planting.crew.exclude(language="").values_list("language", flat=True))
    first, second = [*chosen.most_common(2), ("", 0), ("", 0)][:2]
    return first[0] if first[1] > second[1] else otherwise


def missing_trees(census_round):
    """The trees still without a record in this round, in walk order; not those dead or removed in an earlier one."""
    records = Observation.objects.current().filter(round=census_round, tree=OuterRef("pk"))
    trees = Tree.objects.filter(planting=census_round.planting_id)
    expected_trees = _expected(census_round.closes_on, census_round.opens_on, ended=[DEAD, REMOVED])
    return trees.filter(~Exists(records)).filter(expected_trees).in_walk_order()


def next_tree(census_round, after=None):
    """The next tree without a record in walk order after a tree, starting over at the end; None when all have one."""
    missing = missing_trees(census_round)
    if after is not None:
        further = missing.filter(Q(walk_number__gt=after.walk_number) | Q(walk_number=after.walk_number, pk__gt=after.pk)).first()
        if further:
            return further
        missing = missing.exclude(pk=after.pk)
    return missing.first()


def rounds_listed(queryset):
    """Rounds with `recorded` trees, and `unvisited` ones among test and check trees, as stored: cheap for a list of any length."""
    recorded = Observation.objects.current().filter(round=OuterRef("pk"))
    planted = RoundProgress.objects.filter(round=OuterRef("pk"), sown=False).values("unsettled")
    return (
        queryset.select_related("planting__site")
        .defer("planting__site__boundary")
        .annotate(recorded=_counted(recorded, "round", "tree"), unvisited=Subquery(planted))
    )


def rounds_with_progress(queryset):
    """Rounds with `recorded` and `missing` trees (see `missing_trees`), `plots` and `counted` plots, pages of the field form to settle
    (`to_settle`), places with self-sown seedlings (`self_sown_places`), and whether pages were `scanned`."""
    trees = Tree.objects.filter(planting=OuterRef("planting"))
    expected_trees = _expected(OuterRef("closes_on"), OuterRef(OuterRef("opens_on")), ended=[DEAD, REMOVED])
    here = Observation.objects.current().filter(round=OuterRef(OuterRef("pk")), tree=OuterRef("pk"))
    recorded = Observation.objects.current().filter(round=OuterRef("pk"))
    plots = CountedPlot.objects.filter(planting=OuterRef("planting"))
    counted = PlotCount.objects.current().filter(round=OuterRef("pk"))
    return (
        queryset.select_related("planting__site", "review_tally")
        .defer("planting__site__boundary")
        .annotate(
            recorded=_counted(recorded, "round", "tree"),
            missing=_counted(trees.filter(~Exists(here)).filter(expected_trees), "planting", "pk"),
            plots=_counted(plots, "planting", "pk"),
            counted=_counted(counted, "round", "plot"),
            scanned=Exists(FormScan.objects.filter(round=OuterRef("pk"))),
            self_sown_places=_counted(SelfSown.objects.current().filter(round=OuterRef("pk")), "round", "pk"),
            to_settle=_counted(PageKeying.objects.to_settle().filter(page__round=OuterRef("pk")), "page__round", "pk"),
        )
    )


def current_round(rounds):
    """The round to enter now, of rounds in time order: the last one that opened, or opens within three weeks.

    None once that round has closed and every tree in it has a record.
    """
    today = timezone.localdate()
    opened = [item for item in rounds if (item.opens_on - today).days <= _EARLY_DAYS]
    last = opened[-1] if opened else None
    return last if last and (last.closes_on >= today or missing_trees(last).exists()) else None


def expected(census_round):
    """How many records a round with progress will have when nothing is missing."""
    return census_round.recorded + census_round.missing


def _counted(queryset, by, what):
    numbers = queryset.order_by().values(by).annotate(n=Count(what, distinct=what != "pk")).values("n")
    return Coalesce(Subquery(numbers, output_field=IntegerField()), 0)


def last_seen(census_round, tree_pks):
    """{tree pk: LastSeen} from the current records of earlier rounds; `tree_pks` is a list or a queryset. One query."""
    records = Observation.objects.current().filter(tree__in=tree_pks, round__opens_on__lt=census_round.opens_on)
    found = {}
    for tree, status, on, own, *values in records.order_by("round__opens_on", "observed_on", "pk").values_list(
        "tree_id", "status", "observed_on", "own_values", *_COMPARED
    ):
        last = found.get(tree, LastSeen())
        readings = {name: (value, on) for name, value in zip(_COMPARED, values, strict=True) if value is not None}
        readings |= {name: (value, on) for name, value in own.items() if type(value) in (int, float)}
        found[tree] = LastSeen(status, last.readings | readings)
    return found


def records_by_tree(census_round, tree_pks=None):
    """{tree pk: [unsuperseded records of this round, oldest first]}."""
    records = Observation.objects.current().filter(round=census_round).with_review()
    records = records.select_related("entered_by").order_by("observed_on", "pk")
    if tree_pks is not None:
        records = records.filter(tree__in=tree_pks)
    found = {}
    for record in records:
        record.round = census_round
        found.setdefault(record.tree_id, []).append(record)
    return found


def asked_back(census_round, user):
    """The records of a round that wait for an answer of the crew, in walk order, with the reason. One query."""
    records = Observation.objects.for_user(user).asked_back().filter(round=census_round).with_review()
    return records.select_related("round", "tree__block", "entered_by").order_by("tree__walk_number", "tree_id", "pk")


def counts_asked_back(census_round, user):
    """The same of counts of plots, in the order of the plots. One query."""
    counts = PlotCount.objects.for_user(user).asked_back().filter(round=census_round).with_review()
    return counts.select_related("plot").order_by("plot__code", "pk")


def conflicts(census_round, user):
    """[(tree, its unsuperseded records)] where records of this round say different things of one tree that the person may see."""
    differing = trees_recorded_differently([census_round.pk]).values("tree")
    trees = list(Tree.objects.for_user(user).filter(pk__in=differing).select_related("block").in_walk_order())
    records = records_by_tree(census_round, [tree.pk for tree in trees]) if trees else {}
    return [(tree, records[tree.pk]) for tree in trees]


def plot_conflicts(census_round):
    """[(plot, its unsuperseded counts)] where counts of this round say different numbers of one plot."""
    differing = plots_counted_differently([census_round.pk]).values("plot")
    plots = list(census_round.planting.counted_plots.filter(pk__in=differing))
    counts = standing_counts(census_round) if plots else {}
    return [(plot, counts[plot.pk]) for plot in plots]


def standing_counts(census_round):
    """{plot pk: the unsuperseded counts of this round, oldest first}."""
    found = {}
    counts = PlotCount.objects.current().filter(round=census_round).with_review().select_related("plot", "entered_by")
    for count in counts.order_by("observed_on", "pk"):
        count.round = census_round
        found.setdefault(count.plot_id, []).append(count)
    return found
