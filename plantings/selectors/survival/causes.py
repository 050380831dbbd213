"""What the trees died of, or why they were removed, by the groups of the survival table."""

from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import partial

import numpy as np
from django.utils.translation import gettext_lazy

from plantings.calc.survival.census_choice import CensusChoice
from plantings.calc.survival.groups import CHECK, LINEAGE, ROLES_COUNTED
from plantings.calc.survival.table import ROLE_WORDS, STANDARDS, sown_words
from plantings.calc.survival.tallies import Labels, numbered
from plantings.choices import causes
from plantings.models import CauseTally
from plantings.selectors.survival.rounds import SurvivalFilter, rounds_in_scope
from plantings.selectors.survival.survival import checked_groups
from plantings.selectors.survival.tallies import (
    IS_CHECK,
    GroupLabels,
    TallyRows,
    rows_by_planting,
    whole_numbers,
)
from registry.selectors.identity.descent import linked
from registry.selectors.shared.held_answers import are_held, held_by_part, held_until_change
from registry.selectors.shared.raw_rows import raw_rows

__all__ = ["CAUSES", "CauseRow", "CauseTable", "read_causes", "survival_causes"]

NOT_GIVEN = gettext_lazy("not given")


@dataclass(frozen=True, slots=True)
class CauseRow:
    """One group: how many of its trees a record says are dead or removed, by cause."""

    keys: tuple[str, ...]
    role: str
    role_words: str
    order: tuple
    trees: dict[str, int]

    @property
    def total(self):
        return sum(self.trees.values())


@dataclass(frozen=True, slots=True)
class CauseTable:
    """Rows in the order of labels. `causes` are those there are, as (code, words), the commonest first."""

    by: tuple[str, ...]
    level: str
    moment: CensusChoice | None
    causes: tuple[tuple[str, str], ...]
    rows: tuple[CauseRow, ...]
    site_names: dict[str, str]


@held_until_change
def survival_causes(user, by=("site", LINEAGE), level="lot", moment=None, filters=None):
    """Trees recorded dead or removed by the moment of a survival table, with the cause in the record that says so.

    Parameters as for `survival_rows`. Trees presumed dead have no record of a cause and are in no row.
    """
    by, filters = checked_groups(by, level), filters or SurvivalFilter()
    rounds = rounds_in_scope(user, filters)
    moment = moment or rounds.default_moment()
    chosen = rounds.chosen(moment) if moment else {}
    labels = GroupLabels(by, level, filters)
    found = labels.tallies(read_causes(user, chosen), chosen).of_roles(lambda role, _standard, _sown: role in filters.roles)
    groups, everywhere = defaultdict(dict), Counter()
    pairs, pair_of = numbered(found.kind * len(CAUSES.names) + found.counts[:, 0])
    for pair, trees in zip(pairs.tolist(), np.bincount(pair_of, weights=found.counts[:, 1]).astype(int).tolist(), strict=True):
        kind, cause = found.kinds[pair // len(CAUSES.names)], CAUSES.names[pair % len(CAUSES.names)]
        groups[kind][cause] = trees
        everywhere[cause] += trees
    words = dict(causes()) | {"": NOT_GIVEN}
    rows = [_row(*kind, found) for kind, found in groups.items()]
    return CauseTable(
        by=by,
        level=level,
        moment=moment,
        causes=tuple((cause, words.get(cause, cause)) for cause, _ in sorted(everywhere.items(), key=lambda item: (-item[1], item[0]))),
        rows=tuple(sorted(rows, key=lambda row: row.order)),
        site_names={part.site: part.site_name for part in chosen.values()},
    )


CAUSES = Labels()  # the numbers that causes have in the matrices of this process
_FIELDS = ("round", "entry__lot", IS_CHECK, "cause", "trees")


def read_causes(user, chosen):
    """Stored tallies of causes in the chosen rounds: TallyRows with the number of a cause and its trees in place of the counts."""
    keys = {round_pk for round_pk, _sown in chosen}
    if are_held():
        return _causes_of_plantings(user).in_rounds(keys)
    tallies = CauseTally.objects.for_user(user).filter(entry__role__in=ROLES_COUNTED)
    return TallyRows.of(whole_numbers(_numbered_causes(linked(tallies, "round", keys, *_FIELDS)), len(_FIELDS)))


@held_by_part(CauseTally, of_all=partial(TallyRows.of_all, width=len(_FIELDS)), put_in=TallyRows.put_in)
def _causes_of_plantings(user, plantings):
    """{key of a planting: matrix of the same} of all rounds. One query."""
    tallies = CauseTally.objects.for_user(user).filter(entry__role__in=ROLES_COUNTED)
    tallies = tallies if plantings is None else tallies.filter(entry__planting__in=plantings)
    rows = raw_rows(tallies.order_by().values_list("entry__planting", *_FIELDS))
    return rows_by_planting(whole_numbers(_numbered_causes(rows), 1 + len(_FIELDS)))


def _numbered_causes(rows):
    return [(*head, CAUSES.number(cause), trees) for *head, cause, trees in rows]


def _row(keys, role, standard, sown, trees):
    *outer, last = (key.casefold() for key in keys)
    order = (outer, sown, role == CHECK, STANDARDS.index(standard) if standard else 0, last)
    return CauseRow(keys, role, sown_words(ROLE_WORDS[standard][0], sown), order, dict(trees))
