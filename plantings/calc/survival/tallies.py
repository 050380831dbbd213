"""Tallies by columns, and their sums by group and by site: what a page adds up are arrays, however many plantings there are.

A tally is one entry (a lot in one role in a planting) at one round.
"""

from collections.abc import Callable, Container, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import product
from typing import NamedTuple

import numpy as np

from plantings.calc.survival.groups import CHECK, STANDARDS
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


class Kinds(Sequence):
    """Kinds of groups, each (keys, role, kind of check, sown), made when they are looked at: there are far more than a page shows.

    Each is a pair of a place (its keys, with None where the lineage goes) and a (label of the lineage, role, kind of check, sown).

    Source
    ------
    Definition of this programme.
    """

    __slots__ = ("_lots", "_pairs", "_places")

    def __init__(self, pairs: np.ndarray, places: Sequence[tuple], lots: Sequence[tuple]):
        self._pairs, self._places, self._lots = pairs, places, lots

    def __len__(self) -> int:
        return len(self._pairs)

    def __getitem__(self, number: int) -> tuple:
        place, lot = self._pairs[number].tolist()
        label, role, standard, sown = self._lots[lot]
        return tuple([label if word is None else word for word in self._places[place]]), role, standard, sown

    def roles(self, is_wanted: Callable[[str, str, bool], bool]) -> np.ndarray:
        """Of each kind whether its role, kind of check and sown are wanted."""
        return np.array([bool(is_wanted(*lot[1:])) for lot in self._lots], dtype=bool)[self._pairs[:, 1]]

    def triples(self) -> list[tuple]:
        """The role, kind of check and sown of each."""
        return [self._lots[lot][1:] for lot in self._pairs[:, 1].tolist()]

    def in_order(self, numbers: np.ndarray) -> np.ndarray:
        """Numbers of kinds in the order of labels: planted before sown, trees under test before their checks."""
        place, lot = self._pairs[numbers].T
        words = [
            _ranks([label.casefold() for label, *_rest in self._lots])[lot]
            if self._places and self._places[0][position] is None
            else _ranks([keys[position].casefold() for keys in self._places])[place]
            for position in range(len(self._places[0]) if self._places else 0)
        ]
        roles = [
            np.array(column, dtype=np.int64)[lot] for column in zip(*(_place_of_role(*rest) for _label, *rest in self._lots), strict=True)
        ]
        *outer, last = words or [lot]
        return numbers[np.lexsort([last, *reversed([*outer, *roles])])]


def _place_of_role(role, standard, sown):
    return sown, role == CHECK, STANDARDS.index(standard) if standard else 0


def _ranks(words):
    """The place of each word among all in their order."""
    place = {word: number for number, word in enumerate(sorted(set(words)))}
    return np.array([place[word] for word in words], dtype=np.int64)


class Tallies(Sequence):
    """A sequence of Tally in columns: labels as numbers, those of its kind into `kinds`, and the counts as a matrix.

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
        numbers = [
            (kinds.number(row.kind), sites.number(row.site), plantings.number(row.planting), lots.number(row.lot), row.complete)
            for row in rows
        ]
        columns = np.array(numbers, dtype=np.int64).reshape(len(rows), 5)
        counts = np.array([row.counts for row in rows], dtype=np.int64).reshape(len(rows), len(COUNT_NAMES))
        return Tallies(_plain(kinds.names), *(one.names for one in labels[1:]), columns.T, counts)

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
        """The (keys, role, kind of check, sown) there are."""
        return [self.kinds[kind] for kind in numbered(self.kind)[0].tolist()]

    def taken(self, places) -> "Tallies":
        """Those at these places, or where a mask is true."""
        columns = [column[places] for column in (self.kind, self.site, self.planting, self.lot, self.complete)]
        return Tallies(self.kinds, self.sites, self.plantings, self.lots, columns, self.counts[places])

    def of_roles(self, is_wanted: Callable[[str, str, bool], bool]) -> "Tallies":
        """Those whose role, kind of check and sown are wanted."""
        return self.taken(self.kinds.roles(is_wanted)[self.kind])

    def of_kinds(self, is_wanted: Callable[..., bool]) -> "Tallies":
        """Those whose keys, role, kind of check and sown are wanted."""
        return self.taken(np.array([bool(is_wanted(*kind)) for kind in self.kinds], dtype=bool)[self.kind])

    def is_of(self, plantings: Container[str]) -> np.ndarray:
        """Of each whether it is of some plantings."""
        return np.array([code in plantings for code in self.plantings], dtype=bool)[self.planting]

    def on_sites_of(self, is_wanted: Callable[[str, str, bool], bool]) -> "Tallies":
        """Those on the sites where a wanted role is: planted ones beside planted, sown ones beside sown."""
        place = 2 * self.site + self.kinds.roles(lambda _role, _standard, sown: sown)[self.kind]
        return self.taken(np.isin(place, place[self.kinds.roles(is_wanted)[self.kind]]))

    def keyed(self, *keys: str) -> "Tallies":
        """The same with these keys for all."""
        roles = Labels()
        of_kind = np.array([roles.number(("", *kind)) for kind in self.kinds.triples()], dtype=np.int64)
        kinds = Kinds(np.array([(0, number) for number in range(len(roles.names))], dtype=np.int64).reshape(-1, 2), [keys], roles.names)
        columns = (of_kind[self.kind], self.site, self.planting, self.lot, self.complete)
        return Tallies(kinds, self.sites, self.plantings, self.lots, columns, self.counts)


def _plain(kinds):
    """Kinds that are given with all of their keys."""
    pairs = np.arange(len(kinds), dtype=np.int64).repeat(2).reshape(-1, 2)
    return Kinds(pairs, [keys for keys, *_rest in kinds], [("", *rest) for _keys, *rest in kinds])


def numbered(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The different numbers there are, in order, and the place of each value among them.

    Parameters
    ----------
    values : array of int, 0 or more

    Returns
    -------
    (array of int in ascending order, array of int from 0, as long as `values`)

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

    Parameters
    ----------
    counts : matrix of int, 0 or more, with a column for each field of `Counts`

    Returns
    -------
    array of int, trees

    Source
    ------
    Definition of this programme, as `Counts.assessed`.
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


class KindIndex:
    """Which kinds there are, by their numbers, and the plantings that have each; without counts.

    Source
    ------
    Definition of this programme.
    """

    def __init__(self, tallies: Tallies):
        self.kinds, self._plantings = tallies.kinds, tallies.plantings
        present, kind = numbered(tallies.kind)
        self._pairs, _none, self._from = _summed(kind, tallies.planting, None, len(present))
        first = np.zeros(len(present), dtype=np.int64)
        first[kind[::-1]] = np.arange(len(kind))[::-1]
        self._place = np.full(len(tallies.kinds), -1)
        self._place[present] = np.arange(len(present))
        self.numbers = present[np.argsort(first)]  # in the order they were first met

    def in_order(self, roles: Container[str]) -> list[int]:
        """The numbers of the kinds of some roles in the order of labels."""
        return self.kinds.in_order(self.numbers[self.kinds.roles(lambda role, _standard, _sown: role in roles)[self.numbers]]).tolist()

    def place(self, number: int) -> int:
        """The place of a kind among those there are, in the order of numbers."""
        return int(self._place[number])

    def plantings_of(self, number: int) -> set[str]:
        """The codes of the plantings of a kind, by its number."""
        place = self._place[number]
        return {self._plantings[one] for one in self._pairs[self._from[place] : self._from[place + 1]].tolist()}


class Groups(Mapping):
    """The groups of tallies by their kinds, in the order they were first met. All sums are taken at once.

    Source
    ------
    Definition of this programme.
    """

    def __init__(self, tallies: Iterable[Tally]):
        self.tallies = found = Tallies.of(tallies)
        self.index = KindIndex(found)
        present, kind = numbered(found.kind)
        self._pair_site, self._pair_sums, self._pairs_from = _summed(kind, found.site, found.counts, len(present))
        self._sums = _sums_between(self._pair_sums, self._pairs_from)
        self._open = np.bincount(kind, weights=1 - found.complete, minlength=len(present))

    @cached_property
    def _number_of(self):
        return {self.tallies.kinds[number]: number for number in self.index.numbers.tolist()}

    def __len__(self) -> int:
        return len(self.index.numbers)

    def __iter__(self) -> Iterator[tuple]:
        return iter(self._number_of)

    def __getitem__(self, kind: tuple) -> "Group":
        return self.numbered(self._number_of[kind])

    def numbered(self, number: int) -> "Group":
        """The group of a kind by its number."""
        place = self.index.place(number)
        here = slice(self._pairs_from[place], self._pairs_from[place + 1])
        return Group(
            self.counts(number), [self.tallies.sites[site] for site in self._pair_site[here].tolist()], self._pair_sums[here],
            tuple(sorted(self.index.plantings_of(number))), complete=not self._open[place],
        )  # fmt: skip

    def counts(self, number: int) -> Counts:
        """The sums of a kind by its number."""
        return Counts._make(self._sums[self.index.place(number)].tolist())


class CheckSums:
    """The checks of every site, summed by kind of check: planted ones and sown ones apart.

    Source
    ------
    Definition of this programme.
    """

    def __init__(self, tallies: Iterable[Tally]):
        self._checks = checks = Tallies.of(tallies).of_roles(lambda role, _standard, _sown: role == CHECK)
        width = 2 * len(STANDARDS)
        group = np.zeros(len(checks), dtype=np.int64)
        for number, (sown, standard) in enumerate(product((False, True), STANDARDS)):
            group += number * checks.kinds.roles(lambda _role, *kind, wanted=(standard, sown): tuple(kind) == wanted)[checks.kind]
        code = checks.site * width + group
        places, inverse = numbered(code)
        self._sums = _sums_of(inverse, checks.counts, len(places))
        self._lots, _none, self._lots_from = _summed(inverse, checks.lot, None, len(places))
        self._of_site: dict[tuple[bool, str], dict[str, int]] = {}
        for place, number in enumerate(places.tolist()):
            site, rest = divmod(number, width)
            sown, standard = divmod(rest, len(STANDARDS))
            self._of_site.setdefault((bool(sown), checks.sites[site]), {})[STANDARDS[standard]] = place

    def on(self, sown: bool, sites: Sequence[str]) -> tuple[str, Group] | None:
        """(kind of check, its group) of the first kind there is on these sites; None without a check."""
        here = [(site, found) for site in sites if (found := self._of_site.get((sown, site)))]
        if not here:
            return None
        best = next(standard for standard in STANDARDS if any(standard in found for _site, found in here))
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
