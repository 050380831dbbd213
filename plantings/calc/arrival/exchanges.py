"""Records that fit other trees better than their own: two neighbours swapped, a row walked backwards, the walk shifted by one.

It only suggests. A person looks at the evidence and decides.

Notes
-----
A record costs, at a tree, the squared number of standard deviations by which the tree would have grown otherwise than the planting did
(`planting_growth`), at most `CAP` for each reading, so that one wild reading decides nothing; and `CAP` where it is alive on its own stem
and the tree was dead or removed. At a tree without an earlier reading it costs what it costs at its own. The gain of an exchange is the
cost as recorded less the cost after it. With D the differences of the last readings and e the honest records' own deviations, both in
standard deviations, the gain of a given exchange is -2 e'D - D'D. For any D that is at most the square of e'D / |D|, one standard normal
number: an honest exchange gains four standard deviations squared in fewer than one of 10,000 cases.

Source
------
A likelihood ratio of two assignments under normal growth: derived above, a definition of this programme; that the kinds of exchange
happen is common practice of permanent plots, no source.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from plantings.calc.arrival.growth import Arrived, UsualGrowth
from plantings.calc.census.changes import explained, years_between
from plantings.calc.census.codes import DEAD, REMOVED, STATUS_LABELS
from plantings.calc.census.limits import LIMITS, CheckLimits
from plantings.calc.census.measurements import MEASUREMENTS
from plantings.calc.census.rows import LastSeen, SeenRow

CAP = 25.0
SWAPPED, REVERSED, SHIFTED = "swapped", "reversed", "shifted"
FEWEST_REVERSED, FEWEST_SHIFTED = 4, 4
_FITS = 4.0  # a record fits a tree when it costs no more: two standard deviations
_MEASURED = tuple(item for item in MEASUREMENTS if item.growth)


class Exchange(NamedTuple):
    """A suggestion: `records` fit better at `trees`, one for one.

    Those of a row are in the order of positions, those of a shift in the order of the walk; `block` and `row` are those of the first.
    `gain` is in squared standard deviations; `fit_now` and `fit_then` are how many records fit as recorded, and exchanged.
    """

    kind: str
    block: str
    row: int | None
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
        where = "the next place of" if self.trees[0] is self.records[1] else "the place before in"
        return (
            f"The records of trees {first} to {last} fit better at {where} the walk, {self.trees[0].tag} to {self.trees[-1].tag}, as if a "
            f"position had been left out or taken twice: {fit}"
        )


def exchanges(arrived: Iterable[Arrived], growth: dict[str, UsualGrowth], limits: CheckLimits = LIMITS) -> tuple[Exchange, ...]:
    """The exchanges to suggest in a planting, those with the largest gain first; each record is in one at most.

    Parameters
    ----------
    arrived : iterable of Arrived
        In the order of the walk, along which places are shifted: whoever leaves one out goes on into the next row. Neighbours and whole
        rows need row and position. Of several records at one place the last one given counts.
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
    >>> found.words.partition("; ")[0]
    'The records of trees 1 and 2 fit better exchanged. 1: now Alive (A), 240 cm, last time Alive (A), 100 cm'
    """
    walk = list({one.tag if one.row is None else (one.block, one.row, one.position): one for one in arrived}.values())
    costs = _Costs(walk, growth)
    enough = limits.exchange_spreads**2
    weighed = []
    for kind, records, places in (*_in_rows(walk), *_along_the_walk(costs, enough)):
        now = [costs[record, record] for record in records]
        then = [costs[record, place] for record, place in zip(records, places, strict=True)]
        gain = sum(now) - sum(then)
        if gain >= enough and 2 * sum(then) <= sum(now):
            weighed.append((gain, records, places, kind, *(sum(cost <= _FITS for cost in found) for found in (now, then))))
    found, used = [], set()
    for gain, records, places, kind, *fits in sorted(weighed, key=lambda choice: -choice[0]):
        if used.isdisjoint(records):
            used.update(records)
            first = walk[records[0]]
            of = tuple(walk[record] for record in records), tuple(walk[place] for place in places)
            found.append(Exchange(kind, first.block, first.row, *of, gain, *fits))
    return tuple(found)


class _Costs(dict):
    """{(number of a record in the walk, number of a tree in it): cost}, each worked out when it is first needed."""

    def __init__(self, walk: Sequence[Arrived], growth: dict[str, UsualGrowth]) -> None:
        super().__init__()
        self.walk, self.growth = walk, growth

    def __missing__(self, pair: tuple[int, int]) -> float:
        record, place = pair
        self[pair] = cost = _cost(self.walk[record], self.walk[place], self.growth)
        return cost


def _in_rows(walk: Sequence[Arrived]) -> Iterator[tuple[str, Sequence[int], Sequence[int]]]:
    """(kind, records, the trees they may be of) of each pair of neighbours and each row from its other end."""
    rows = defaultdict(list)
    for number, one in enumerate(walk):
        if one.row is not None:
            rows[one.block, one.row].append(number)
    for numbers in rows.values():
        numbers.sort(key=lambda number: walk[number].position)
        for pair in pairwise(numbers):
            yield SWAPPED, pair, pair[::-1]
        if len(numbers) >= FEWEST_REVERSED:
            yield REVERSED, numbers, numbers[::-1]


def _along_the_walk(costs: _Costs, enough: float) -> Iterator[tuple[str, Sequence[int], Sequence[int]]]:
    """The same of each stretch of the walk whose records are better one tree on, or one tree back."""
    last = len(costs.walk) - 1
    for step, numbers in ((1, range(last)), (-1, range(1, last + 1))):
        gains = [costs[number, number] - costs[number, number + step] for number in numbers]
        for stretch in _best_stretches(gains, enough):
            records = numbers[stretch.start : stretch.stop]
            if sum(gains[place] != 0 for place in stretch) >= FEWEST_SHIFTED:
                yield SHIFTED, records, [record + step for record in records]


def _best_stretches(gains: Sequence[float], enough: float) -> Iterator[range]:
    """The stretches of neighbouring gains with the largest sums, apart from each other, of which each is at least `enough`."""
    parts = [range(len(gains))]
    while parts:
        part = parts.pop()
        best, best_sum, start, total = part[:0], 0.0, part.start, 0.0
        for place in part:
            if total <= 0:
                start, total = place, 0.0
            total += gains[place]
            if total > best_sum:
                best, best_sum = range(start, place + 1), total
        if best_sum >= enough:
            yield best
            parts += [range(part.start, best.start), range(best.stop, part.stop)]


def _cost(one: Arrived, at: Arrived, growth: dict[str, UsualGrowth]) -> float:
    """What the record of one tree costs at a tree; 0 where nothing can be compared at either."""
    record, last = one.record, at.last
    cost = CAP if record.status == "A" and last.status in (DEAD, REMOVED) else 0.0
    for item in _MEASURED:
        reading = getattr(record, item.field)
        # a tree that was never measured says nothing: there the reading costs what it costs at its own, so that it is no gain
        compared = last if item.field in last.readings else one.last
        if reading is None or item.field not in compared.readings or item.field not in growth:
            continue
        usual, (earlier, earlier_on) = growth[item.field], compared.readings[item.field]
        change = float(reading) - float(earlier)
        if change < 0 and explained(record, item.growth.damage_explains):
            continue
        off = (change / years_between(earlier_on, record.observed_on) - usual.median) / usual.spread
        cost += min(off * off, CAP)
    return cost


def _status_words(code: str) -> str:
    return f"{STATUS_LABELS[code]} ({code})"


def _said(record: SeenRow) -> str:
    values = [(item, getattr(record, item.field)) for item in _MEASURED]
    return ", ".join([_status_words(record.status), *(item.words(float(value)) for item, value in values if value is not None)])


def last_words(last: LastSeen) -> str:
    """The last values of a tree in a few words, in the order of the table of measurements.

    Source
    ------
    A wording: no source.

    Examples
    --------
    >>> from datetime import date
    >>> last_words(LastSeen("A", {"height_cm": (142, date(2025, 9, 1))})), last_words(LastSeen())
    ('Alive (A), 142 cm', 'no record')
    """
    values = [(item, last.readings[item.field][0]) for item in _MEASURED if item.field in last.readings]
    return ", ".join([_status_words(last.status) if last.status else "no record", *(item.words(float(value)) for item, value in values)])
