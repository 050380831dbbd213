"""The tallies of all ages in the order of lineages: the rows of each, and those of the native checks beside it.

Source
------
Definition of this programme, in the notes of `lineage_lives`.
"""

import hashlib
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from plantings.calc.lifetimes.lives_of_lots import AGE, COUNTS, LINEAGE, LOT, PLANTING, SITE
from plantings.calc.survival.groups import TEST
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import NATIVE
from plantings.calc.survival.tallies import Frame, Labels, Tallies, Tally
from plantings.calc.survival.tally_sums import narrowed


class LineageRows:
    """The rows of lineages under test (from 1) and of the native checks (0), with their counts in the order of `RowOrder`.

    Source
    ------
    Definition of this programme.
    """

    def __init__(self, by_age: Sequence[Sequence[Tally]]):
        every = [Tallies.of(tallies).of_roles(lambda role, standard, _sown: role == TEST or standard == NATIVE) for tallies in by_age]
        first, *others = frames = [one.frame for one in every] or [None]
        self.order = first.once(("lives", *others), lambda: RowOrder(frames)) if first else RowOrder([])
        counts = np.concatenate([np.zeros((0, len(Counts._fields)), dtype=np.int32), *(one.counts for one in every)])
        self._counts = narrowed(counts)[self.order.places]

    def own(self, label: str) -> np.ndarray:
        """The rows of a lineage, as `lives_of_lots` takes them."""
        return self._rows(slice(*self.order.lineages[label]))

    def beside(self, label: str) -> np.ndarray:
        """Those of the native checks in its plantings."""
        return self._rows(self.order.beside(label)[0])

    def digest(self, label: str) -> bytes:
        """A digest of both."""
        places, words = self.order.beside(label)
        own, beside = self._counts[slice(*self.order.lineages[label])], self._counts[places]
        return hashlib.sha256(self._counts.dtype.str.encode() + words + own.tobytes() + beside.tobytes()).digest()

    def _rows(self, places):
        return np.hstack([self.order.rows[places], self._counts[places].astype(np.int32)])


class RowOrder:
    """What those rows are of, without counts: lineage, site, planting, lot and place of the age, in this order; the place of each among the
    tallies. Sites are numbered in the order of their names; `lineages` has of each label its first row and the one after the last.

    Source
    ------
    Definition of this programme.
    """

    def __init__(self, by_age: Sequence[Frame]):
        sites = {name: number for number, name in enumerate(sorted({name for frame in by_age for name in frame.sites}))}
        plantings, lots, lineages = Labels(), Labels(), Labels()
        rows = np.zeros((sum(len(frame.kind) for frame in by_age), COUNTS), dtype=np.int32)
        known: dict[tuple, np.ndarray] = {}

        def numbers(column, labels, number):
            """The number of each label; tallies that were read at once share their labels."""
            key = column, id(labels)
            if key not in known:
                known[key] = np.array([*map(number, labels)], dtype=np.int64)
            return known[key]

        def lineage(kind):
            return lineages.number(kind[0][0]) + 1 if kind[1] == TEST else 0

        first = 0
        for place, frame in enumerate(by_age):
            here = rows[first : first + len(frame.kind)]
            first += len(frame.kind)
            here[:, LINEAGE] = numbers(LINEAGE, frame.kinds, lineage)[frame.kind]
            here[:, SITE] = numbers(SITE, frame.sites, sites.__getitem__)[frame.site]
            here[:, PLANTING] = numbers(PLANTING, frame.plantings, plantings.number)[frame.planting]
            here[:, LOT] = numbers(LOT, frame.lots, lots.number)[frame.lot]
            here[:, AGE] = place
        self.places = np.argsort(_in_one(rows), kind="stable")
        self.rows, self.plantings = rows[self.places], plantings.names
        ends = np.searchsorted(self.rows[:, LINEAGE].copy(), np.arange(len(lineages.names) + 2)).tolist()
        self.lineages = {
            label: (ends[code + 1], ends[code + 2]) for label, code in lineages.numbers.items() if ends[code + 1] < ends[code + 2]
        }
        of_native = self.rows[: ends[1], PLANTING]
        starts = np.flatnonzero(np.r_[True, of_native[1:] != of_native[:-1]]) if len(of_native) else np.zeros(0, dtype=np.int64)
        self._native = np.zeros((len(plantings.names), 2), dtype=np.int64)  # of each planting its first row and the one after the last
        self._native[of_native[starts]] = np.stack([starts, np.r_[starts[1:], len(of_native)][: len(starts)]], axis=1)
        self._beside: dict[str, tuple[np.ndarray, bytes]] = {}

    def beside(self, label: str) -> tuple[np.ndarray, bytes]:
        """(the places of the native checks in the plantings of a lineage, a digest of what its rows and theirs are of)."""
        if label not in self._beside:
            own = self.rows[slice(*self.lineages[label])]
            first, stop = self._native[own[np.r_[True, own[1:, PLANTING] != own[:-1, PLANTING]], PLANTING]].T
            many = stop - first
            places = np.repeat(first - np.r_[0, np.cumsum(many)[:-1]], many) + np.arange(many.sum())
            words = hashlib.sha256(repr(own.shape).encode() + own.tobytes() + self.rows[places].tobytes()).digest()
            self._beside[label] = places, words
        return self._beside[label]

    @cached_property
    def skipped(self) -> tuple[str, ...]:
        """The plantings that lack a census of an age between two they have, or of the first."""
        rows = self.rows
        if not len(rows):
            return ()
        starts = np.flatnonzero(np.r_[True, (rows[1:, :AGE] != rows[:-1, :AGE]).any(axis=1)])
        first, ends = rows[starts, AGE], np.r_[starts[1:], len(rows)]
        skips = (rows[ends - 1, AGE] - first + 1 > ends - starts) | (first > 0)
        return tuple(sorted({self.plantings[code] for code in rows[starts[skips], PLANTING].tolist()}))


def _in_one(columns):
    """A number for each row that is in the order of its columns."""
    found = np.zeros(len(columns), dtype=np.int64)
    for column in columns.T:
        found = found * (int(column.max(initial=0)) + 1) + column
    return found
