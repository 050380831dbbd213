"""Sums of tallies by group and by site, taken as arrays, however many plantings there are."""

import hashlib
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import product

import numpy as np

from plantings.calc.survival.groups import CHECK, STANDARDS
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.tallies import COUNT_NAMES, Tallies, Tally, numbered

_COLUMN = {name: place for place, name in enumerate(COUNT_NAMES)}
_NOT_IN_ASSESSED = [_COLUMN[name] for name in ("removed_excluded", "not_visited", "not_located", "unclear")]


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


def narrowed(counts: np.ndarray) -> np.ndarray:
    """The same counts in the smallest type that holds them: what takes a digest of them reads a quarter.

    Parameters
    ----------
    counts : array of int, 0 or more

    Returns
    -------
    array of int, 0 or more

    Source
    ------
    Definition of this programme.
    """
    return counts.astype(np.min_scalar_type(int(counts.max(initial=0))))


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
        self._pairs, _pair_of, self._from = _pairs_of(kind, tallies.planting, len(present))
        first = np.zeros(len(present), dtype=np.int64)
        first[kind[::-1]] = np.arange(len(kind))[::-1]
        self._place = np.full(len(tallies.kinds), -1)
        self._place[present] = np.arange(len(present))
        self.numbers = present[np.argsort(first)]  # in the order they were first met
        self._in_order: dict[tuple, list[int]] = {}

    @staticmethod
    def of(tallies: Tallies) -> "KindIndex":
        """The one of their frame."""
        return tallies.frame.once("index", lambda: KindIndex(tallies))

    def in_order(self, roles: Container[str]) -> list[int]:
        """The numbers of the kinds of some roles in the order of labels, which must not be changed."""
        if (key := tuple(roles)) not in self._in_order:
            wanted = self.numbers[self.kinds.roles(lambda role, _standard, _sown: role in roles)[self.numbers]]
            self._in_order[key] = self.kinds.in_order(wanted).tolist()
        return self._in_order[key]

    @cached_property
    def number_of(self) -> dict[tuple, int]:
        """{kind: its number}, in the order they were first met."""
        return {self.kinds[number]: number for number in self.numbers.tolist()}

    def place(self, number: int) -> int:
        """The place of a kind among those there are, in the order of numbers."""
        return int(self._place[number])

    def places(self, numbers: np.ndarray) -> np.ndarray:
        """The same of several kinds."""
        return self._place[numbers]

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
        self.index = KindIndex.of(found)
        self._pair_site, self._pairs_from, pairs, self._open = found.frame.once("sites of kinds", lambda: _sites_of_kinds(found.frame))
        self._pair_sums = pairs.sums(found.counts)
        self._sums = _sums_between(self._pair_sums, self._pairs_from)

    def __len__(self) -> int:
        return len(self.index.numbers)

    def __iter__(self) -> Iterator[tuple]:
        return iter(self.index.number_of)

    def __contains__(self, kind: object) -> bool:
        return kind in self.index.number_of  # without its group

    def __getitem__(self, kind: tuple) -> "Group":
        return self.numbered(self.index.number_of[kind])

    def numbered(self, number: int) -> "Group":
        """The group of a kind by its number."""
        place = self.index.place(number)
        here = slice(self._pairs_from[place], self._pairs_from[place + 1])
        names, plantings = self.tallies.frame.once(("names of kind", number), lambda: self._names(number, here))
        return Group(self.counts(number), names, self._pair_sums[here], plantings, complete=not self._open[place])

    def _names(self, number, here):
        """(the sites of a kind, its plantings), by their codes."""
        return [self.tallies.sites[site] for site in self._pair_site[here].tolist()], tuple(sorted(self.index.plantings_of(number)))

    def counts(self, number: int) -> Counts:
        """The sums of a kind by its number."""
        return Counts._make(self._sums[self.index.place(number)].tolist())

    def each(self) -> Iterator[tuple[tuple, Counts]]:
        """(kind, its sums) of all, in the order they were first met."""
        numbers = self.index.numbers
        sums = map(Counts._make, self._sums[self.index.places(numbers)].tolist())
        return zip(map(self.tallies.kinds.__getitem__, numbers.tolist()), sums, strict=True)

    def digest(self, number: int, checks: "CheckSums | None" = None) -> bytes:
        """A digest of all that the row of a kind is made from, by its number: its own tallies, and the checks of its sites where it is
        compared with them."""
        place = self.index.place(number)
        here = slice(self._pairs_from[place], self._pairs_from[place + 1])
        sown, words = self.tallies.frame.once(("words of kind", number), lambda: self._words(number))
        found = hashlib.blake2b(words, digest_size=16)
        found.update(self._pair_sums[here].tobytes())
        if checks:
            found.update(checks.digests(sown, self._pair_site[here]))
        return found.digest()

    def _words(self, number):
        """(whether a kind is sown, a digest of what its row is of)."""
        place, kind = self.index.place(number), self.tallies.kinds[number]
        sites = self._pair_site[self._pairs_from[place] : self._pairs_from[place + 1]]
        words = kind, [self.tallies.sites[site] for site in sites.tolist()], sorted(self.index.plantings_of(number)), self._open[place]
        return kind[-1], hashlib.blake2b(repr(words).encode(), digest_size=16).digest()


class CheckSums:
    """The checks of every site, summed by kind of check: planted ones and sown ones apart.

    Source
    ------
    Definition of this programme.
    """

    def __init__(self, tallies: Iterable[Tally]):
        self._checks = checks = Tallies.of(tallies).of_roles(lambda role, _standard, _sown: role == CHECK)
        self._of_site, groups, self._lots, self._lots_from = checks.frame.once("checks of sites", lambda: _checks_of_sites(checks.frame))
        self._sums = groups.sums(checks.counts)

    @cached_property
    def _digests(self):
        """Of each site the digests of its planted checks and of its sown ones."""
        found = np.zeros((len(self._checks.sites), 2, 16), dtype=np.uint8)
        for site, sown, first, stop, words in self._checks.frame.once("words of checks", lambda: [*self._words()]):
            digest = hashlib.blake2b(words + self._sums[first:stop].tobytes(), digest_size=16).digest()
            found[site, sown] = np.frombuffer(digest, dtype=np.uint8)
        return found

    def _words(self):
        """(number of a site, whether sown, the first of its checks and the one after the last, what they are)."""
        number = {site: place for place, site in enumerate(self._checks.sites)}
        for (sown, site), places in self._of_site.items():
            lots = [self._lots[self._lots_from[place] : self._lots_from[place + 1]].tolist() for place in places.values()]
            words = repr(([*places], [[self._checks.lots[lot] for lot in of_kind] for of_kind in lots])).encode()
            yield number[site], int(sown), min(places.values()), max(places.values()) + 1, words

    def digests(self, sown: bool, sites: np.ndarray) -> bytes:
        """What differs where the checks of some sites do, by the numbers of the sites."""
        return self._digests[sites, int(sown)].tobytes()

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


def plantings_by_site(tallies: Tallies) -> dict[str, int]:
    """How many plantings of each site there are among tallies.

    Returns
    -------
    dict of int, plantings, 1 or more

    Source
    ------
    Definition of this programme.
    """
    places = numbered(tallies.site * max(len(tallies.plantings), 1) + tallies.planting)[0] // max(len(tallies.plantings), 1)
    sites, counts = np.unique(places, return_counts=True)
    return {tallies.sites[site]: count for site, count in zip(sites.tolist(), counts.tolist(), strict=True)}


def _sites_of_kinds(frame):
    """(the site of each pair of kind and site, where the pairs of each kind begin, the rows of each pair, open rounds of each kind)."""
    present, kind = numbered(frame.kind)
    site, pair_of, starts = _pairs_of(kind, frame.site, len(present))
    return site, starts, _Rows(pair_of, len(site)), np.bincount(kind, weights=1 - frame.complete, minlength=len(present))


def _checks_of_sites(frame):
    """({(sown, site): {kind of check: its number}}, the rows of each number, its lots, where they begin) of the checks of sites."""
    width = 2 * len(STANDARDS)
    number = {(standard, sown): place for place, (sown, standard) in enumerate(product((False, True), STANDARDS))}
    of_kind, triples = frame.kinds.triples()
    group = np.array([number.get(tuple(kind), 0) for _role, *kind in triples], dtype=np.int64)
    places, place_of = numbered(frame.site * width + group[of_kind[frame.kind]])
    lots, _pair_of, lots_from = _pairs_of(place_of, frame.lot, len(places))
    of_site: dict[tuple[bool, str], dict[str, int]] = {}
    for place, code in enumerate(places.tolist()):
        site, rest = divmod(code, width)
        sown, standard = divmod(rest, len(STANDARDS))
        of_site.setdefault((bool(sown), frame.sites[site]), {})[STANDARDS[standard]] = place
    return of_site, _Rows(place_of, len(places)), lots, lots_from


def _pairs_of(first, second, groups):
    """(the second of each pair of numbers there is, the pair of each, where the pairs of each of the first begin), in order."""
    width = int(second.max()) + 1 if len(second) else 1
    pairs, pair_of = numbered(first * width + second)
    return pairs % width, pair_of, np.searchsorted(pairs, np.arange(groups + 1) * width)


class _Rows:
    """The rows of counts that have each number, of so many: their order does not change with the counts."""

    __slots__ = ("_order", "_starts")

    def __init__(self, numbers, groups):
        self._order = np.argsort(numbers, kind="stable")
        self._starts = np.searchsorted(numbers[self._order], np.arange(groups + 1))

    def sums(self, counts):
        return _sums_between(counts[self._order], self._starts)


def _sums_between(rows, starts):
    """Sums of rows between one start and the next; every part has a row."""
    return np.add.reduceat(rows, starts[:-1], axis=0) if len(starts) > 1 else np.zeros((0, rows.shape[1]), dtype=np.int64)
