"""Records that fit other trees better than their own: two neighbours swapped, a row walked backwards, places shifted by one.

It only suggests. A person looks at the evidence and decides.

Notes
-----
A record costs, at a tree, the squared number of standard deviations by which the tree would have grown otherwise than the planting did
(`planting_growth`), at most `CAP` for each reading, so that one wild reading decides nothing; and `CAP` where it is alive on its own stem
and the tree was dead or removed. The gain of an exchange is the cost as recorded less the cost after it. With D the differences of the last
readings and e the honest records' own deviations, both in standard deviations, the gain of a given exchange is -2 e'D - D'D. For any D that
is at most the square of e'D / |D|, one standard normal number: an honest exchange gains four standard deviations squared in fewer than one
of 10,000 cases.

Source
------
A likelihood ratio of two assignments under normal growth: derived above, a definition of this programme; that the kinds of exchange
happen is common practice of permanent plots, no source.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from plantings.calc.arrival.growth import Arrived, UsualGrowth
from plantings.calc.census.changes import explained, years_between
from plantings.calc.census.codes import DEAD, REMOVED
from plantings.calc.census.limits import LIMITS, CheckLimits
from plantings.calc.census.measurements import MEASUREMENTS
from plantings.calc.census.rows import LastSeen, SeenRow

CAP = 25.0
SWAPPED, REVERSED, SHIFTED = "swapped", "reversed", "shifted"
FEWEST_REVERSED, FEWEST_SHIFTED = 4, 4
_FITS = 4.0  # a record fits a tree when it costs no more: two standard deviations
_MEASURED = tuple(item for item in MEASUREMENTS if item.growth)


class Exchange(NamedTuple):
    """A suggestion: `records` fit better at `trees`, one for one, in the order of positions.

    `gain` is in squared standard deviations; `fit_now` and `fit_then` are how many records fit as recorded, and exchanged.
    """

    kind: str
    block: str
    row: int
    records: tuple[Arrived, ...]
    trees: tuple[Arrived, ...]
    gain: float
    fit_now: int
    fit_then: int

    @property
    def words(self) -> str:
        """The suggestion with its evidence."""
        first, last, count = self.records[0].tag, self.records[-1].tag, len(self.records)
        fit = f"{self.fit_then} of {count} then fit, as recorded {self.fit_now}."
        if self.kind == SWAPPED:
            pairs = "; ".join(f"{one.tag}: now {_said(one.record)}, last time {last_words(one.last)}" for one in self.records)
            return f"The records of trees {first} and {last} fit better exchanged. {pairs}."
        if self.kind == REVERSED:
            return f"The records of row {self.row}, trees {first} to {last}, fit better from the other end: {fit}"
        return (
            f"The records of trees {first} to {last} in row {self.row} fit better one place on, at {self.trees[0].tag} to "
            f"{self.trees[-1].tag}, as if a position had been left out or taken twice: {fit}"
        )


def exchanges(arrived: Iterable[Arrived], growth: dict[str, UsualGrowth], limits: CheckLimits = LIMITS) -> tuple[Exchange, ...]:
    """The exchanges to suggest in the rows of a planting, those with the largest gain first; each record is in one at most.

    Parameters
    ----------
    arrived : iterable of Arrived
        Those without row and position are left out. Of several trees at one position the last one given counts.
    growth : dict of {field: UsualGrowth}
        As `planting_growth` gives it; without it only dead and alive tell trees apart.
    limits : CheckLimits

    Examples
    --------
    >>> from datetime import date
    >>> def tree(tag, position, last, now):
    ...     record = SeenRow(status="A", observed_on=date(2026, 9, 1), height_cm=now)
    ...     return Arrived(position, tag, record, LastSeen("A", {"height_cm": (last, date(2025, 9, 1))}), "", "1", 1, position)
    >>> [found] = exchanges([tree("1", 1, 100, 240), tree("2", 2, 200, 142)], {"height_cm": UsualGrowth(40, 10, 50)})
    >>> found.words
    'The records of trees 1 and 2 fit better exchanged. 1: now A, 240 cm, last time A, 100 cm; 2: now A, 142 cm, last time A, 200 cm.'
    """
    rows = defaultdict(dict)
    for one in arrived:
        if one.row is not None:
            rows[one.block, one.row][one.position] = one
    found = []
    for (block, row), places in rows.items():
        found += _of_row(block, row, [places[position] for position in sorted(places)], growth, limits.exchange_spreads**2)
    return tuple(sorted(found, key=lambda exchange: -exchange.gain))


def _of_row(block: str, row: int, trees: Sequence[Arrived], growth: dict[str, UsualGrowth], enough: float) -> list[Exchange]:
    number = range(len(trees))
    own = [_cost(one, one, growth) for one in trees]
    onwards = [_cost(one, other, growth) for one, other in pairwise(trees)]  # the record of each tree at the next
    backwards = [_cost(other, one, growth) for one, other in pairwise(trees)]  # the record of the next tree at this one
    choices = [((one, one + 1), (one + 1, one), SWAPPED) for one in number[:-1]]
    if len(trees) >= FEWEST_REVERSED:
        choices.append((tuple(number), tuple(reversed(number)), REVERSED))
    for records, step in ((_best_run([cost - then for cost, then in zip(own, onwards, strict=False)]), 1),
                          (_best_run([cost - then for cost, then in zip(own[1:], backwards, strict=True)], 1), -1)):  # fmt: skip
        if len(records) >= FEWEST_SHIFTED:
            choices.append((records, tuple(place + step for place in records), SHIFTED))
    weighed = []
    for records, places, kind in choices:
        now = [own[record] for record in records]
        then = [_cost(trees[record], trees[place], growth) for record, place in zip(records, places, strict=True)]
        gain = sum(now) - sum(then)
        if gain >= enough and 2 * sum(then) <= sum(now):
            fits = [sum(cost <= _FITS for cost in costs) for costs in (now, then)]
            of = tuple(trees[record] for record in records), tuple(trees[place] for place in places)
            weighed.append((gain, set(records), Exchange(kind, block, row, *of, gain, *fits)))
    weighed.sort(key=lambda choice: -choice[0])
    found, used = [], set()
    for _gain, records, exchange in weighed:
        if used.isdisjoint(records):
            used |= records
            found.append(exchange)
    return found


def _best_run(gains: Sequence[float], first: int = 0) -> tuple[int, ...]:
    """The places, counted from `first`, of the run of neighbouring gains with the largest sum; none where no gain is above 0."""
    best, best_sum, start, total = range(0), 0.0, 0, 0.0
    for place, gain in enumerate(gains):
        if total <= 0:
            start, total = place, 0.0
        total += gain
        if total > best_sum:
            best, best_sum = range(start, place + 1), total
    return tuple(first + place for place in best)


def _cost(one: Arrived, at: Arrived, growth: dict[str, UsualGrowth]) -> float:
    """What the record of one tree costs at a tree: 0 where nothing can be compared."""
    record, last = one.record, at.last
    cost = CAP if record.status == "A" and last.status in (DEAD, REMOVED) else 0.0
    for item in _MEASURED:
        reading = getattr(record, item.field)
        if reading is None or item.field not in last.readings or item.field not in growth:
            continue
        usual, (earlier, earlier_on) = growth[item.field], last.readings[item.field]
        change = float(reading) - float(earlier)
        if change < 0 and explained(record, item.growth.damage_explains):
            continue
        off = (change / years_between(earlier_on, record.observed_on) - usual.median) / usual.spread
        cost += min(off * off, CAP)
    return cost


def _said(record: SeenRow) -> str:
    values = [(item, getattr(record, item.field)) for item in _MEASURED]
    return ", ".join([record.status, *(item.words(float(value)) for item, value in values if value is not None)])


def last_words(last: LastSeen) -> str:
    """The last values of a tree in a few words, in the order of the table of measurements.

    Source
    ------
    A wording: no source.

    Examples
    --------
    >>> from datetime import date
    >>> last_words(LastSeen("A", {"height_cm": (142, date(2025, 9, 1))})), last_words(LastSeen())
    ('A, 142 cm', 'no record')
    """
    values = [(item, last.readings[item.field][0]) for item in _MEASURED if item.field in last.readings]
    return ", ".join([last.status or "no record", *(item.words(float(value)) for item, value in values)])
