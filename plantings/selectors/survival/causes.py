"""What the trees died of, or why they were removed, by the groups of the survival table."""

from collections import Counter, defaultdict
from dataclasses import dataclass

from django.utils.translation import gettext_lazy

from plantings.calc.survival.census_choice import CensusChoice
from plantings.calc.survival.groups import CHECK, LINEAGE
from plantings.calc.survival.table import ROLE_WORDS, STANDARDS, sown_words
from plantings.choices import causes
from plantings.models import CauseTally
from plantings.selectors.survival.rounds import SurvivalFilter, rounds_in_scope
from plantings.selectors.survival.survival import checked_groups
from plantings.selectors.survival.tallies import GroupLabels
from registry.selectors.identity.descent import linked
from registry.selectors.shared.held_answers import held_until_change

__all__ = ["CauseRow", "CauseTable", "survival_causes"]

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
    tallies = CauseTally.objects.for_user(user).filter(entry__role__in=filters.roles)
    read = linked(tallies, "round", {round_pk for round_pk, _sown in chosen}, "round", "entry__lot", "entry__role", "cause", "trees")
    labels.learn({lot for _round, lot, *_rest in read})
    groups, everywhere = defaultdict(Counter), Counter()
    for round_pk, lot_pk, role, cause, trees in read:
        _lot, standard, sown = labels.lots[lot_pk]
        part = chosen.get((round_pk, sown))
        if part is None or labels.kept_out(lot_pk, role):
            continue
        groups[labels.keys(part, lot_pk, role), role, standard if role == CHECK else "", sown][cause] += trees
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


def _row(keys, role, standard, sown, trees):
    *outer, last = (key.casefold() for key in keys)
    order = (outer, sown, role == CHECK, STANDARDS.index(standard) if standard else 0, last)
    return CauseRow(keys, role, sown_words(ROLE_WORDS[standard][0], sown), order, dict(trees))
