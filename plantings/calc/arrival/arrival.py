"""All checks on arrival of the records of one round, the same whichever way they came in: phone, paper or file.

`row_looks` judges one record with what is known of its tree; `check_arrival` also sets it beside the other records of the round.

Source
------
`check_row`, `compare_with_last`, `slip_findings`, `leap_findings`, `exchanges`, `reading_habits`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from plantings.calc.arrival.exchanges import Exchange, exchanges
from plantings.calc.arrival.growth import Arrived, leap_findings, planting_growth
from plantings.calc.arrival.habits import Habit, reading_habits
from plantings.calc.arrival.slips import slip_findings
from plantings.calc.census.changes import compare_with_last
from plantings.calc.census.limits import LIMITS, CheckLimits
from plantings.calc.census.measurements import WARNING, Measurement
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.calc.census.rules import check_row
from plantings.calc.results import Finding
from registry.calc.shared.part_dates import SomeDate


@dataclass(frozen=True, slots=True)
class Window:
    """The days a record is judged by: planting of the tree, opening and closing of the round; None skips what needs it."""

    planted_on: SomeDate | None = None
    opens_on: date | None = None
    closes_on: date | None = None


@dataclass(frozen=True, slots=True)
class ArrivalChecks:
    """What the checks say of a round: `by_tree` {key of Arrived: tuple of Finding}, suggested exchanges, habits of observers.

    `in_exchange` are the keys of trees whose record is in a suggested exchange, or that would get one.
    """

    by_tree: dict[int, tuple[Finding, ...]]
    exchanges: tuple[Exchange, ...]
    habits: tuple[Habit, ...]

    @property
    def in_exchange(self) -> frozenset[int]:
        return frozenset(one.key for exchange in self.exchanges for one in (*exchange.records, *exchange.trees))

    @property
    def odd(self) -> frozenset[int]:
        """The keys of all trees that somebody should look at."""
        return self.in_exchange.union(self.by_tree)


def row_looks(
    record: SeenRow, last: LastSeen, window: Window, limits: CheckLimits = LIMITS, own: tuple[Measurement, ...] = ()
) -> tuple[Finding, ...]:
    """The warnings about one record by itself and beside the last values of its tree. Errors are for whoever stores it.

    Parameters
    ----------
    record : SeenRow, or a record with the same fields
    last : LastSeen
    window : Window
    limits : CheckLimits
    own : tuple of Measurement
        The programme's own measurements that the round asks for.
    """
    alone = check_row(record, window.planted_on, window.opens_on, window.closes_on, limits)
    return (*(finding for finding in alone if finding.severity == WARNING), *compare_with_last(record, last, limits, own))


def check_arrival(
    arrived: Sequence[Arrived], windows: dict[int, Window], to_check: frozenset[int] | None = None, limits: CheckLimits = LIMITS,
    own: tuple[Measurement, ...] = (),
) -> ArrivalChecks:  # fmt: skip
    """Check the records of a round.

    Parameters
    ----------
    arrived : sequence of Arrived
        All records of the round, in the order of the walk: the usual growth and the habits are taken from all of them.
    windows : dict of {key of Arrived: Window}
    to_check : frozenset of keys, or None for all
        The records that findings are wanted of.
    limits : CheckLimits
    own : tuple of Measurement
        The programme's own measurements that the round asks for. Exchanges are suggested by those of the table alone.
    """
    growth = planting_growth(arrived, limits, own)
    by_tree: dict[int, tuple[Finding, ...]] = {}
    for one in arrived:
        if to_check is None or one.key in to_check:
            alone = row_looks(one.record, one.last, windows.get(one.key, Window()), limits, own)
            found = _each_once(alone, slip_findings(one, growth, limits, own), leap_findings(one, growth, limits, own))
            if found:
                by_tree[one.key] = (*by_tree.get(one.key, ()), *found)
    suggested = exchanges(arrived, growth, limits)
    if to_check is not None:
        suggested = tuple(one for one in suggested if any(record.key in to_check for record in one.records))
    return ArrivalChecks(by_tree, suggested, reading_habits(arrived, limits, own))


def _each_once(alone: tuple[Finding, ...], slips: tuple[Finding, ...], leaps: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """A reading is named once, as the slip of a unit where it may be one. A loss is named beside it: a tree can have lost as much."""
    slipped = {finding.field for finding in slips}
    named = slipped.union(finding.field for finding in alone)
    return (
        *(finding for finding in alone if finding.field not in slipped or "advice" in (finding.values or ())),
        *slips,
        *(finding for finding in leaps if finding.field not in named),
    )
