"""Tallies by columns, and their sums by group and by site: what a page adds up are arrays, however many plantings there are.

A tally is one entry (a lot in one role in a planting) at one round.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from plantings.calc.survival.groups import CHECK
from plantings.calc.survival.survival import Counts

COUNT_NAMES = Counts._fields
_COLUMN = {name: place for place, name in enumerate(COUNT_NAMES)}
_NOT_IN_ASSESSED = [_COLUMN[name] for name in ("removed_excluded", "not_visited", "not_located", "unclear")]


class Tally(NamedTuple):
    """One entry at one round.

    `keys` are the labels it is grouped by. `counts` has the numbers of `Counts` in its order. `standard` is the kind of check, by what
    its species is here (native, donor, or other such as a first hybrid), and "" under test. `sown` is True of seed sown in place.
    `complete` is False of a round that is still open or in which too few positions were assessed.
    """

    keys: tuple[str, ...]
    role: str
    site: str
    planting: str
    lot: str
    standard: str
    sown: bool
    complete: bool
    counts: Sequence[int]

    @property
    def kind(self) -> tuple:
        return self.keys, self.role, self.standard, self.sown


class Labels:
    """Labels and their numbers: each label once, in the order of numbers."""

    __slots__ = ("names", "numbers")

    def __init__(self):
        self.names: list = []
        self.numbers: dict = {}

    def number(self, name) -> int:
        found = self.numbers.get(name)
        if found is None:
            found = self.numbers[name] = len(self.names)
            self.names.append(name)
        return found


class Tallies(Sequence):
    """A sequence of Tally in columns: labels as numbers (`kinds` are (keys, role, kind of check, sown)), and the counts as a matrix.

    Source
    ------
    Definition of this programme.
    """

    __slots__ = ("complete", "counts", "kind", "kinds", "lot", "lots", "planting", "plantings", "site", "sites")

    def __init__(self, kinds, sites, plantings, lots, columns, counts):
        self.kinds, self.sites, self.plantings, self.lots = kinds, sites, plantings, lots
        self.kind, self.site, self.planting, self.lot, self.complete = columns
        self.counts = counts

    @staticmethod
    def of(tallies: "Iterable[Tally] | Tallies") -> "Tallies":
        """The same tallies in columns."""
        if isinstance(tallies, Tallies):
            return tallies
        rows = list(tallies)
        labels = kinds, sites, plantings, lots = Labels(), Labels(), Labels(), Labels()
        columns = np.array(
            [
                (kinds.number(row.kind), sites.number(row.site), plantings.number(row.planting), lots.number(row.lot), row.complete)
                for row in rows
            ],
            dtype=np.int64,
        ).reshape(len(rows), 5)
        counts = np.array([row.counts for row in rows], dtype=np.int64).reshape(len(rows), len(COUNT_NAMES))
        return Tallies(*(one.names for one in labels), columns.T, counts)

    def __len__(self) -> int:
        return len(self.kind)

    def __getitem__(self, place):
        if isinstance(place, slice):
            return self.taken(np.arange(len(self))[place])
        return next(iter(self.taken([place])))

    def __iter__(self) -> Iterator[Tally]:
        columns = (self.kind, self.site, self.planting, self.lot, self.complete, self.counts)
        for kind, site, planting, lot, complete, counts in zip(*(column.tolist() for column in columns), strict=True):
            keys, role, standard, sown = self.kinds[kind]
            yield Tally(keys, role, self.sites[site], self.plantings[planting], self.lots[lot], standard, sown, bool(complete), counts)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and list(self) == list(other)

    __hash__ = None

    @property
    def kinds_present(self) -> list[tuple]:
        """The (keys, role, kind of check, sown) there are, in the order they were first met."""
        present, first = np.unique(self.kind, return_index=True)
        return [self.kinds[kind] for kind in present[np.argsort(first)].tolist()]

    def taken(self, places) -> "Tallies":
        """Those at these places, or where a mask is true."""
        columns = [column[places] for column in (self.kind, self.site, self.planting, self.lot, self.complete)]
        return Tallies(self.kinds, self.sites, self.plantings, self.lots, columns, self.counts[places])

    def of_kinds(self, is_wanted) -> "Tallies":
        """Those whose (keys, role, kind of check, sown) is wanted."""
        return self.taken(np.array([bool(is_wanted(*kind)) for kind in self.kinds], dtype=bool)[self.kind])

    def of_plantings(self, plantings) -> "Tallies":
        """Those of some plantings, by their codes."""
        return self.taken(np.array([code in plantings for code in self.plantings], dtype=bool)[self.planting])

    def on_sites_of(self, is_wanted) -> "Tallies":
        """Those on the sites where a wanted kind is: planted ones beside planted, sown ones beside sown."""
        wanted, sown = (
            np.array(found, dtype=np.int64) for found in zip(*((is_wanted(*kind), kind[3]) for kind in self.kinds), strict=True)
        )
        place = 2 * self.site + sown[self.kind]
        return self.taken(np.isin(place, place[wanted[self.kind] == 1]))

    def grouped(self, keys_of) -> "Tallies":
        """The same with other keys: `keys_of(keys, role, kind of check, sown)` in place of the keys of each kind."""
        kinds = Labels()
        numbers = np.array([kinds.number((keys_of(*kind), *kind[1:])) for kind in self.kinds], dtype=np.int64)
        columns = (numbers[self.kind], self.site, self.planting, self.lot, self.complete)
        return Tallies(kinds.names, self.sites, self.plantings, self.lots, columns, self.counts)


def numbered(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The different whole numbers from 0 up there are, in order, and the place of each value among them.

    Source
    ------
    Definition of this programme; as `numpy.unique`, which sorts, where the numbers are too far apart to count.

    Examples
    --------
    >>> [found.tolist() for found in numbered(np.array([7, 3, 7]))]
    [[3, 7], [1, 0, 1]]
    """
    if not len(values) or int(values.max()) > 8 * len(values) + 100_000:
        return np.unique(values, return_inverse=True)
    is_there = np.zeros(int(values.max()) + 1, dtype=bool)
    is_there[values] = True
    found = np.flatnonzero(is_there)
    place = np.zeros(len(is_there), dtype=np.int64)
    place[found] = np.arange(len(found))
    return found, place[values]


def assessed(counts: np.ndarray) -> np.ndarray:
    """Trees assessed, of rows of counts.

    Source
    ------
    As `Counts.assessed`.
    """
    return counts[:, _COLUMN["planted"]] - counts[:, _NOT_IN_ASSESSED].sum(axis=1)


class Group:
    """One row of a table before its figures: the sums of its tallies, in all and by site."""

    __slots__ = ("_by_site", "_names", "complete", "counts", "lots", "plantings")

    def __init__(self, counts, names, by_site, plantings=(), lots=(), complete=True):
        self.counts, self._names, self._by_site = counts, names, by_site
        self.plantings, self.lots, self.complete = plantings, lots, complete

    def sites(self) -> dict[str, list[int]]:
        """Alive and assessed of every site."""
        return self._pairs(self._by_site[:, _COLUMN["alive"]], assessed(self._by_site))

    def cankers(self) -> dict[str, list[int]]:
        """Cankered, and looked at for cankers, of every site."""
        return self._pairs(self._by_site[:, _COLUMN["cankered"]], self._by_site[:, _COLUMN["canker_assessed"]])

    def _pairs(self, first, second):
        return dict(zip(self._names, map(list, zip(first.tolist(), second.tolist(), strict=True)), strict=True))


class Groups:
    """The groups of tallies by their kinds, in the order they were first met. All sums are taken at once.

    Source
    ------
    Definition of this programme.
    """

    def __init__(self, tallies: Iterable[Tally]):
        found = self._tallies = Tallies.of(tallies)
        present, first = np.unique(found.kind, return_index=True)
        self.kinds = {found.kinds[kind]: number for number, kind in [(int(n), int(present[n])) for n in np.argsort(first)]}
        self._number_of = np.zeros(max(len(found.kinds), 1), dtype=np.int64)
        self._number_of[present] = np.arange(len(present))
        kind = self._number_of[found.kind]
        self._pair_site, self._pair_sums, self._pairs_from = _summed(kind, found.site, found.counts, len(present))
        self._pair_plantings, _none, self._plantings_from = _summed(kind, found.planting, None, len(present))
        self._sums = _sums_between(self._pair_sums, self._pairs_from)
        self._open = np.bincount(kind, weights=1 - found.complete, minlength=len(present))

    def __len__(self) -> int:
        return len(self.kinds)

    def __iter__(self):
        return iter(self.kinds)

    def __contains__(self, kind) -> bool:
        return kind in self.kinds

    def __getitem__(self, kind: tuple) -> Group:
        number = self.kinds[kind]
        here = slice(self._pairs_from[number], self._pairs_from[number + 1])
        planted = self._pair_plantings[self._plantings_from[number] : self._plantings_from[number + 1]]
        return Group(
            Counts._make(self._sums[number].tolist()), [self._tallies.sites[site] for site in self._pair_site[here].tolist()],
            self._pair_sums[here], tuple(sorted(self._tallies.plantings[place] for place in planted.tolist())),
            complete=not self._open[number],
        )  # fmt: skip

    def plantings_of(self, kind: tuple) -> set[str]:
        number = self.kinds[kind]
        planted = self._pair_plantings[self._plantings_from[number] : self._plantings_from[number + 1]]
        return {self._tallies.plantings[place] for place in planted.tolist()}


class CheckSums:
    """The checks of every site, summed by kind of check: planted ones and sown ones apart.

    Source
    ------
    Definition of this programme.
    """

    def __init__(self, tallies: Iterable[Tally], standards: Sequence[str]):
        every = Tallies.of(tallies)
        self._checks = checks = every.of_kinds(lambda _keys, role, _standard, _sown: role == CHECK)
        self._standards = standards
        of_kind = np.array(
            [int(sown) * len(standards) + standards.index(standard) if role == CHECK else 0 for _k, role, standard, sown in every.kinds],
            dtype=np.int64,
        )
        group = of_kind[checks.kind] if len(checks) else np.zeros(0, dtype=np.int64)
        width = 2 * len(standards)
        code = checks.site * width + group
        places, inverse = numbered(code)
        self._sums = _sums_of(inverse, checks.counts, len(places))
        self._lots, _none, self._lots_from = _summed(inverse, checks.lot, None, len(places))
        self._of_site: dict[tuple[bool, str], dict[str, int]] = {}
        for place, number in enumerate(places.tolist()):
            site, rest = divmod(number, width)
            sown, standard = divmod(rest, len(standards))
            self._of_site.setdefault((bool(sown), checks.sites[site]), {})[standards[standard]] = place

    def on(self, sown: bool, sites: Sequence[str]) -> tuple[str, Group] | None:
        """(kind of check, its group) of the first kind there is on these sites; None without a check."""
        here = [(site, found) for site in sites if (found := self._of_site.get((sown, site)))]
        if not here:
            return None
        best = next(standard for standard in self._standards if any(standard in found for _site, found in here))
        names, places = zip(*((site, found[best]) for site, found in here if best in found), strict=True)
        by_site = self._sums[list(places)]
        lots = {lot for place in places for lot in self._lots[self._lots_from[place] : self._lots_from[place + 1]].tolist()}
        counts = Counts._make(by_site.sum(axis=0).tolist())
        return best, Group(counts, names, by_site, lots=tuple(sorted(self._checks.lots[lot] for lot in lots)))


def _summed(first, second, counts, groups):
    """(the second of each pair of numbers there is, sums of its counts, where the pairs of each of the first begin), in order."""
    width = int(second.max()) + 1 if len(second) else 1
    pairs, inverse = numbered(first * width + second)
    starts = np.searchsorted(pairs, np.arange(groups + 1) * width)
    return pairs % width, None if counts is None else _sums_of(inverse, counts, len(pairs)), starts


def _sums_of(numbers, counts, groups):
    """The sum of the rows of counts that have each number."""
    order = np.argsort(numbers, kind="stable")
    return _sums_between(counts[order], np.searchsorted(numbers[order], np.arange(groups + 1)))


def _sums_between(rows, starts):
    """Sums of rows between one start and the next; every part has a row."""
    return np.add.reduceat(rows, starts[:-1], axis=0) if len(starts) > 1 else np.zeros((0, rows.shape[1]), dtype=np.int64)
