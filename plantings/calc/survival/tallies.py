"""Tallies by columns: what a page adds up are arrays, however many plantings there are.

A tally is one entry (a lot in one role in a planting) at one round.
"""

from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from plantings.calc.survival.groups import CHECK, STANDARDS
from plantings.calc.survival.survival import Counts

COUNT_NAMES = Counts._fields


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

    __slots__ = ("_lots", "_pairs", "_places", "_triple", "_triples")

    def __init__(self, pairs: np.ndarray, places: Sequence[tuple], lots: Sequence[tuple]):
        self._pairs, self._places, self._lots = pairs, places, lots
        triples = Labels()  # far fewer than kinds
        of_lots = np.array([triples.number(lot[1:]) for lot in lots], dtype=np.int64)
        self._triple, self._triples = of_lots[pairs[:, 1]], triples.names

    def __len__(self) -> int:
        return len(self._pairs)

    def __getitem__(self, number: int) -> tuple:
        place, lot = self._pairs[number].tolist()
        label, role, standard, sown = self._lots[lot]
        return tuple([label if word is None else word for word in self._places[place]]), role, standard, sown

    def roles(self, is_wanted: Callable[[str, str, bool], bool]) -> np.ndarray:
        """Of each kind whether its role, kind of check and sown are wanted."""
        return np.array([bool(is_wanted(*triple)) for triple in self._triples], dtype=bool)[self._triple]

    def triples(self) -> tuple[np.ndarray, list[tuple]]:
        """(the number of the role, kind of check and sown of each, those there are)."""
        return self._triple, self._triples

    def lineages(self, numbers: np.ndarray) -> set[str]:
        """The labels of the lineage of some kinds, by their numbers."""
        return {self._lots[lot][0] for lot in numbered(self._pairs[numbers, 1])[0].tolist()}

    def across(self, numbers: np.ndarray) -> tuple[np.ndarray, list[str], np.ndarray, list[tuple]]:
        """Some kinds as a table has them: (the number of the first key of each, those there are, the number of the rest of it, those there
        are as (other keys, role, kind of check, sown))."""
        place, lot = self._pairs[numbers].T
        first_key, *other_keys = self._places[0] if self._places else ("",)
        firsts, others, of_lots = Labels(), Labels(), Labels()
        if first_key is None:
            first = _numbered_all(firsts, [label for label, *_rest in self._lots])[lot]
        else:
            first = _numbered_all(firsts, [keys[0] for keys in self._places])[place]
        other = _numbered_all(others, [keys[1:] for keys in self._places])[place]
        rest = _numbered_all(of_lots, [(label if None in other_keys else "", *triple) for label, *triple in self._lots])[lot]
        width = max(len(of_lots.names), 1)
        pairs, across = numbered(other * width + rest)
        found = []
        for keys, (label, *triple) in ((others.names[pair // width], of_lots.names[pair % width]) for pair in pairs.tolist()):
            found.append((tuple([label if word is None else word for word in keys]), *triple))
        return first, firsts.names, across, found

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


def _numbered_all(labels, names):
    return np.array([labels.number(name) for name in names], dtype=np.int64)


def _place_of_role(role, standard, sown):
    return sown, role == CHECK, STANDARDS.index(standard) if standard else 0


def _ranks(words):
    """The place of each word among all in their order."""
    place = {word: number for number, word in enumerate(sorted(set(words)))}
    return np.array([place[word] for word in words], dtype=np.int64)


class Frame:
    """What tallies are of, without their counts. What follows from it is worked out once, however often the counts change.

    `kind`, `site`, `planting`, `lot` are numbers into the labels; `complete` is whether the round is. None of it may be changed.
    """

    __slots__ = ("_once", "complete", "kind", "kinds", "lot", "lots", "planting", "plantings", "site", "sites")

    def __init__(self, kinds, sites, plantings, lots, columns):
        self.kinds, self.sites, self.plantings, self.lots = kinds, sites, plantings, lots
        self.kind, self.site, self.planting, self.lot, self.complete = columns
        self._once: dict = {}

    def once(self, name, work_out: Callable):
        """What follows from it under a name."""
        if name not in self._once:
            self._once[name] = work_out()
        return self._once[name]

    def taken(self, places) -> "Frame":
        columns = [column[places] for column in (self.kind, self.site, self.planting, self.lot, self.complete)]
        return Frame(self.kinds, self.sites, self.plantings, self.lots, columns)


class Tallies(Sequence):
    """A sequence of Tally in columns: those of its Frame, and the counts as a matrix.

    Source
    ------
    Definition of this programme.
    """

    __slots__ = ("complete", "counts", "frame", "kind", "kinds", "lot", "lots", "planting", "plantings", "site", "sites")

    def __init__(self, frame: Frame, counts: np.ndarray):
        self.frame, self.counts = frame, counts
        self.kinds, self.sites, self.plantings, self.lots = frame.kinds, frame.sites, frame.plantings, frame.lots
        self.kind, self.site, self.planting, self.lot, self.complete = frame.kind, frame.site, frame.planting, frame.lot, frame.complete

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
        return Tallies(Frame(_plain(kinds.names), *(one.names for one in labels[1:]), columns.T), counts)

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
        return self.frame.once("kinds present", lambda: [self.kinds[kind] for kind in numbered(self.kind)[0].tolist()])

    def taken(self, places) -> "Tallies":
        """Those at these places, or where a mask is true."""
        return Tallies(self.frame.taken(places), self.counts[places])

    def parted(self, name, mask_of: Callable[[], np.ndarray]) -> "Tallies":
        """Those where a mask is true that follows from the frame; the frame of them is made once under its name."""
        places, frame = self.frame.once(name, lambda: _parted(self.frame, mask_of()))
        return self if frame is self.frame else Tallies(frame, self.counts[places])

    def of_roles(self, is_wanted: Callable[[str, str, bool], bool]) -> "Tallies":
        """Those whose role, kind of check and sown are wanted."""
        _of_kind, triples = self.kinds.triples()
        wanted = tuple(bool(is_wanted(*triple)) for triple in triples)
        return self.parted(("roles", wanted), lambda: self.kinds.roles(is_wanted)[self.kind])

    def is_of(self, plantings: Container[str]) -> np.ndarray:
        """Of each whether it is of some plantings."""
        return np.array([code in plantings for code in self.plantings], dtype=bool)[self.planting]

    def on_sites_of(self, is_wanted: Callable[[str, str, bool], bool]) -> "Tallies":
        """Those on the sites where a wanted role is: planted ones beside planted, sown ones beside sown."""
        place = 2 * self.site + self.kinds.roles(lambda _role, _standard, sown: sown)[self.kind]
        return self.taken(np.isin(place, place[self.kinds.roles(is_wanted)[self.kind]]))

    def keyed(self, *keys: str) -> "Tallies":
        """The same with these keys for all."""
        return Tallies(self.frame.once(("keyed", keys), lambda: _keyed(self.frame, keys)), self.counts)


def _parted(frame, mask):
    """(the places where a mask is true, the Frame there)."""
    return (None, frame) if mask.all() else (places := np.flatnonzero(mask), frame.taken(places))


def _keyed(frame, keys):
    of_kind, triples = frame.kinds.triples()
    pairs = np.array([(0, number) for number in range(len(triples))], dtype=np.int64).reshape(-1, 2)
    kinds = Kinds(pairs, [keys], [("", *triple) for triple in triples])
    columns = (of_kind[frame.kind], frame.site, frame.planting, frame.lot, frame.complete)
    return Frame(kinds, frame.sites, frame.plantings, frame.lots, columns)


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
