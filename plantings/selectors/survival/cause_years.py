"""Deaths and removals by cause over the calendar years, read from the tallies of every complete census."""

from collections import defaultdict
from dataclasses import dataclass

from django.db.models import Sum
from django.utils.translation import gettext_lazy

from plantings.calc.survival.cause_years import OTHERS, CauseYears, cause_years
from plantings.choices import causes
from plantings.models import CauseTally
from plantings.selectors.survival.causes import NOT_GIVEN
from plantings.selectors.survival.rounds import rounds_in_scope
from plantings.selectors.survival.tallies import GroupLabels
from registry.choices import LotKind
from registry.selectors.shared.held_answers import held_until_change

__all__ = ["CausesOverYears", "causes_over_years"]


@dataclass(frozen=True, slots=True)
class CausesOverYears:
    """What was new in each year; `words` are the causes in words."""

    found: CauseYears
    words: dict[str, str]


@held_until_change
def causes_over_years(user, level, filters, *, sown=False):
    """Trees recorded dead or removed by the census of each year: the planted ones, or those sown as seed. `level` and `filters` as in
    `survival_rows`."""
    rounds, labels = rounds_in_scope(user, filters), GroupLabels(("site",), level, filters)
    tallies = filters.narrow(CauseTally.objects.for_user(user).filter(entry__role__in=filters.roles), "entry__planting__site")
    lot = ("entry__lot",) if filters.within else ()
    read = tallies.order_by().values_list("round", "entry__lot__kind", "cause", "entry__role", *lot).annotate(Sum("trees"))
    rows = list(read)
    labels.learn({row[4] for row in rows} if filters.within else set())
    by_round = defaultdict(lambda: defaultdict(int))
    for round_pk, kind, cause, role, *lots, trees in rows:
        if not (lots and labels.kept_out(lots[0], role)):
            by_round[round_pk, kind == LotKind.SEED][cause] += trees
    plantings = (
        [(part.year, by_round.get((part.round, sown), {})) for part in rounds.usable(parts)]
        for (_planting, of_seed), parts in rounds.by_planting.items()
        if of_seed == sown
    )
    words = dict(causes()) | {"": NOT_GIVEN, OTHERS: gettext_lazy("all other causes")}
    return CausesOverYears(cause_years(plantings), words)
