"""Records of a planting for the tests of the checks on arrival: trees in rows, each with a last height and one of this round."""

from datetime import date
from random import Random

from plantings.calc.arrival.growth import Arrived
from plantings.calc.census.rows import LastSeen, SeenRow

LAST_ON, SEEN_ON = date(2025, 9, 12), date(2026, 9, 12)


def arrived(number, last, now, *, row=1, position=None, status="A", last_status="A", observer="", **values):
    """One record; `last` and `now` are heights in cm or None. A tree is numbered by its position unless that is given."""
    readings = {} if last is None else {"height_cm": (last, LAST_ON)}
    record = SeenRow(status=status, observed_on=SEEN_ON, height_cm=now, **values)
    return Arrived(number, f"T{number}", record, LastSeen(last_status, readings), observer, "1", row, position or number)


def honest_rows(seed, rows=10, length=20, growth=40, spread=12):
    """Trees of very different heights that grew alike: [[(last, now)] of each row]."""
    rng = Random(seed)
    heights = [[rng.uniform(60, 260) for _ in range(length)] for _ in range(rows)]
    return [[(round(last), round(last + rng.gauss(growth, spread))) for last in row] for row in heights]


def planting(rows):
    """The records of [[(last, now)] of each row], numbered from 1."""
    numbers = iter(range(1, 1 + sum(map(len, rows))))
    return [
        arrived(next(numbers), last, now, row=row, position=position)
        for row, pairs in enumerate(rows, 1)
        for position, (last, now) in enumerate(pairs, 1)
    ]
