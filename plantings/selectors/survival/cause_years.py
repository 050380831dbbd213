"""Deaths and removals by cause over the calendar years, read from the tallies of every complete census."""

from dataclasses import dataclass

import numpy as np
from django.utils.translation import gettext_lazy

from plantings.calc.survival.cause_years import OTHERS, CauseYears, cause_years_of_columns
from plantings.calc.survival.tallies import numbered
from plantings.choices import causes
from plantings.selectors.survival.causes import CAUSES, NOT_GIVEN, read_causes
from plantings.selectors.survival.rounds import rounds_in_scope
from plantings.selectors.survival.tallies import GroupLabels
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
    usable = rounds.chosen_of_all(sown=sown)
    found, places = labels.tallies_and_parts(read_causes(user, usable), usable)
    here = found.kinds.roles(lambda role, _standard, _sown: role in filters.roles)[found.kind]
    pairs, pair_of = numbered(places[here] * len(CAUSES.names) + found.counts[here, 0])
    trees = np.bincount(pair_of, weights=found.counts[here, 1]).astype(np.int64)
    part, cause = np.divmod(pairs, max(len(CAUSES.names), 1))  # the rounds of a planting are in the order of time
    columns = usable.columns
    plantings, years = columns.plantings[1], columns.numbers("year")
    words = dict(causes()) | {"": NOT_GIVEN, OTHERS: gettext_lazy("all other causes")}
    return CausesOverYears(cause_years_of_columns(plantings[part], years[part], cause, trees, CAUSES.names, years.tolist()), words)
