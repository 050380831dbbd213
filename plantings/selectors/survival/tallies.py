"""Stored tallies as arrays, and the labels that make them the tallies of `calc.survival.tallies`."""

import threading
from collections import OrderedDict
from functools import partial
from itertools import chain
from operator import attrgetter
from typing import NamedTuple

import numpy as np
from django.db.models import Case, IntegerField, When

from plantings.calc.survival.census_choice import AGE
from plantings.calc.survival.groups import CHECK, LEVELS, LINEAGE, ROLES_COUNTED, TEST
from plantings.calc.survival.table import DONOR, NATIVE, OTHER
from plantings.calc.survival.tallies import COUNT_NAMES, Frame, Kinds, Labels, Tallies, numbered
from plantings.models import CensusRound, SurvivalTally
from plantings.selectors.plantings.round_parts import Chosen, PartColumns
from plantings.selectors.survival.filters import NOT_KNOWN
from registry.choices import LotKind, TaxonRole
from registry.models import Lot
from registry.selectors.identity.descent import linked
from registry.selectors.pedigree.lineage import NOT_STATED, OUTSIDE, lot_lineages
from registry.selectors.shared.held_answers import are_held, held_beside_parts, held_by_part
from registry.selectors.shared.raw_rows import raw_rows

__all__ = [
    "IS_CHECK", "STANDARD_OF", "GroupLabels", "TallyRows", "read_tallies", "rows_by_planting", "whole_numbers",
]  # fmt: skip

STANDARD_OF = {TaxonRole.NATIVE: NATIVE, TaxonRole.DONOR: DONOR}
IS_CHECK = Case(When(entry__role=CHECK, then=1), default=0, output_field=IntegerField())
_FIELDS = ("round", "entry__lot", IS_CHECK, *COUNT_NAMES)
_PLACE = "entry__planting__site"
_REMEMBERED_MOST = 10  # choices of rounds, and groupings of one; of all ages of a million trees one takes some 30 MB


class RowKeys:
    """The keys of round and lot of stored tallies, and whether each is of a check; `first` has the first row of each planting, where there
    are those of all. What follows from them is remembered, since most writes change counts alone."""

    def __init__(self, rounds, lots, is_check, first=None):
        self.rounds, self.lots, self.is_check, self.first = rounds, lots, is_check, first
        self._once, self._lock = OrderedDict(), threading.Lock()

    def once(self, name, work_out, is_past=lambda _found: False):
        """What follows from them under a name, worked out again where it `is_past`."""
        found = self._once.get(name)
        if found is None or is_past(found):
            found = work_out()
        with self._lock:
            self._once[name] = found
            self._once.move_to_end(name)
            while len(self._once) > _REMEMBERED_MOST:
                self._once.popitem(last=False)
        return found

    def in_rounds(self, keys):
        """(the places of those in some rounds, their RowKeys)."""
        here = np.isin(self.rounds, np.fromiter(keys, dtype=np.int32, count=len(keys)))
        if here.all():
            return None, self
        places = np.flatnonzero(here)
        return places, RowKeys(self.rounds[places], self.lots[places], self.is_check[places])


class TallyRows(NamedTuple):
    """Stored tallies of trees under test and of checks: their RowKeys, and a matrix of the counts."""

    keys: RowKeys
    counts: np.ndarray

    @staticmethod
    def of(rows, first=None):
        """Those of a matrix of (round, lot, whether it is a check, counts …)."""
        columns = rows[:, 0].copy(), rows[:, 1].copy(), rows[:, 2].astype(bool)
        return TallyRows(RowKeys(*columns, first), np.ascontiguousarray(rows[:, 3:]))

    @staticmethod
    def of_all(parts, width):
        """Those of all plantings, of {key of a planting: matrix}."""
        ends = np.cumsum([0, *map(len, parts.values())]).tolist()
        return TallyRows.of(np.concatenate([*parts.values(), whole_numbers((), width)]), dict(zip(parts, ends, strict=False)))

    def put_in(self, before, again):
        """With the counts of some plantings as they are again; None where there are other tallies than before, not other counts alone."""
        if before.keys() != again.keys() or not all(np.array_equal(before[key][:, :3], rows[:, :3]) for key, rows in again.items()):
            return None
        counts = self.counts.copy()
        for key, rows in again.items():
            counts[self.keys.first[key] : self.keys.first[key] + len(rows)] = rows[:, 3:]
        return TallyRows(self.keys, counts)

    def in_rounds(self, keys):
        """Those in some rounds by their keys."""
        places, found = self.keys.once(frozenset(keys), lambda: self.keys.in_rounds(keys))
        return self if found is self.keys else TallyRows(found, self.counts[places])


def read_tallies(user, filters, chosen, moments):
    """The TallyRows of the chosen rounds. One query where the moments are ages; none where the tallies of all rounds are held."""
    keys = {round_pk for round_pk, _sown in chosen}
    if are_held():
        return _tallies_of_plantings(user).in_rounds(keys)
    tallies = filters.narrow(SurvivalTally.objects.for_user(user).filter(entry__role__in=ROLES_COUNTED), _PLACE)
    if all(moment and moment.kind == AGE for moment in moments):
        # the rounds as a sub-query: SQLite then looks tallies up by their round and does not read those of other ages
        of_age = CensusRound.objects.filter(growing_seasons__in=[moment.number for moment in moments]).order_by().values("pk")
        return TallyRows.of(whole_numbers(raw_rows(tallies.filter(round__in=of_age).order_by().values_list(*_FIELDS)), len(_FIELDS)))
    return TallyRows.of(whole_numbers(linked(tallies, "round", keys, *_FIELDS), len(_FIELDS)))


def whole_numbers(rows, width):
    """Rows of whole numbers as a matrix."""
    return np.fromiter(chain.from_iterable(rows), dtype=np.int32, count=len(rows) * width).reshape(len(rows), width)


def rows_by_planting(rows):
    """{key of a planting: its rows without the key} of a matrix that begins with it; in one order, whatever was read at once."""
    rows = rows[np.lexsort(rows[:, 3::-1].T)]
    keys, starts = np.unique(rows[:, 0], return_index=True)
    return dict(zip(keys.tolist(), np.split(rows[:, 1:], starts[1:]), strict=True)) if len(keys) else {}


@held_by_part(SurvivalTally, of_all=partial(TallyRows.of_all, width=len(_FIELDS)), put_in=TallyRows.put_in)
def _tallies_of_plantings(user, plantings):
    """{key of a planting: matrix as `TallyRows.of` takes it} of all rounds. One query."""
    tallies = SurvivalTally.objects.for_user(user).filter(entry__role__in=ROLES_COUNTED)
    tallies = tallies if plantings is None else tallies.filter(entry__planting__in=plantings)
    return rows_by_planting(whole_numbers(raw_rows(tallies.order_by().values_list("entry__planting", *_FIELDS)), 1 + len(_FIELDS)))


_WORD_OF = {
    "site": attrgetter("site"), "planting": attrgetter("planting"), "jurisdiction": lambda part: part.jurisdiction or NOT_KNOWN,
    LINEAGE: lambda _part: None,
}  # fmt: skip


class _Framed(NamedTuple):
    """The Frame of RowKeys, the places of its rows among them (None for all) and the place of the RoundPart of each; before it
    what the labels are from, as it was held."""

    lots: dict
    lineages: dict | None
    columns: PartColumns
    frame: Frame
    places: np.ndarray | None
    part: np.ndarray

    def is_of(self, lots, lineages, columns):
        """Whether it is of these lots, lineages and rounds, and of no later ones."""
        return self.lots is lots and self.lineages is lineages and self.columns is columns


class GroupLabels:
    """Labels of lots and rounds, and what is kept out of the groups: turns stored tallies into those of `calc.survival.tallies`."""

    def __init__(self, by, level, filters):
        self.by, self.level, self.filters = by, level, filters
        self.lots = {}
        self.lineages = None
        self._keys = {}

    def tallies(self, read, chosen):
        """The Tallies of TallyRows in the chosen rounds."""
        return self.tallies_and_parts(read, chosen)[0]

    def tallies_and_parts(self, read, chosen):
        """(the Tallies of TallyRows in the chosen rounds, the place of the RoundPart of each in `chosen`)."""
        self.learn(read.keys.once("lots", lambda: set(np.unique(read.keys.lots).tolist())))
        name = self.by, self.level, self.filters.lineages
        columns = chosen.columns if isinstance(chosen, Chosen) else PartColumns(chosen.values())
        found = read.keys.once(
            name, lambda: self._framed(read.keys, columns), lambda found: not found.is_of(self.lots, self.lineages, columns)
        )
        return Tallies(found.frame, read.counts if found.places is None else read.counts[found.places]), found.part

    def _framed(self, keys, columns):
        """The _Framed of RowKeys in the rounds of PartColumns."""
        (lots, lot_of), (rounds, round_of) = numbered(keys.lots), numbered(keys.rounds)
        lots = lots.tolist()
        part_of = _parts_of(rounds, [part[:2] for part in columns.parts])
        lot_sown = np.array([self.lots[pk][2] for pk in lots], dtype=np.int64)
        lot_out = _table([self.kept_out(pk, role) for role in (TEST, CHECK)] for pk in lots)
        lot, check, places = lot_of, keys.is_check.astype(np.int64), None
        part = part_of[round_of, lot_sown[lot_of]]
        here = (part >= 0) & (lot_out[lot_of, check] == 0)
        if not here.all():
            places = np.flatnonzero(here)
            part, lot, check = part[places], lot[places], check[places]
        # a planting is on one site, so one of its rounds tells the place of all
        plantings, planting_of, of_plantings = columns.plantings
        places_named, place_of = columns.once(self.by, lambda: _numbered_names([self._place(one) for one in of_plantings], planting_of))
        sites, site_of = columns.once("sites", lambda: _numbered_names([one.site for one in of_plantings], planting_of))
        of_lots = Labels()
        lot_kind = _table([of_lots.number(self._kind_of_lot(pk, role)) for role in (TEST, CHECK)] for pk in lots)
        width = max(len(of_lots.names), 1)
        pairs, kind = numbered(place_of[part] * width + lot_kind[lot, check])
        kinds = Kinds(np.stack(np.divmod(pairs, width), axis=1), places_named, of_lots.names)
        of_rows = (kind, site_of[part], planting_of[part], lot, columns.complete[part])
        frame = Frame(kinds, sites, plantings, [self.lots[pk][0] for pk in lots], of_rows)
        return _Framed(self.lots, self.lineages, columns, frame, places, part)

    def learn(self, lots):
        """Look up lots by their keys, once."""
        if are_held():
            self.lots = _all_lots()
        elif unknown := lots - self.lots.keys():
            self.lots = self.lots | _about_lots(linked(Lot.objects, "pk", unknown, *_LOT_FIELDS))
        if self.lineages is None and (self.filters.lineages or (LINEAGE in self.by and self.level != "lot")):
            self.lineages = _all_lineages()

    def kept_out(self, lot_pk, role):
        """Whether a lot under test is of another lineage than the filters ask for."""
        if not self.filters.lineages or role == CHECK:
            return False
        return any(getattr(self.lineages[lot_pk], level) != label for level, label in self.filters.lineages)

    def keys(self, part, lot_pk, role):
        label = self.lineage(lot_pk, role) if LINEAGE in self.by else ""
        keys = self._keys.get((part.round, label))
        if keys is None:  # made once for a group, since a table has far more tallies than groups
            keys = self._keys[part.round, label] = tuple([label if word is None else word for word in self._place(part)])
        return keys

    def _place(self, part):
        """The keys of a round; None in place of the lineage."""
        return tuple([_WORD_OF[word](part) for word in self.by])

    def _kind_of_lot(self, lot_pk, role):
        """(label of the lineage, role, kind of check, whether it is sown) of a lot in a role."""
        _code, standard, sown = self.lots[lot_pk]
        return (self.lineage(lot_pk, role) if LINEAGE in self.by else ""), role, standard if role == CHECK else "", sown

    def lineage(self, lot_pk, role):
        """The label of a lot. A check of which the level is not stated goes by its generation, else by its lot code."""
        if self.level == "lot":
            return self.lots[lot_pk][0]
        lineage = self.lineages[lot_pk]
        label = getattr(lineage, self.level)
        if role == TEST:
            return label
        return next(word for word in (label, lineage.generation, lineage.lot) if word not in (NOT_STATED, OUTSIDE))

    def stated_levels(self, tallies):
        """The levels at which a lot under test has a lineage, where none has one at the level asked for."""
        under_test = tallies.of_roles(lambda role, _standard, _sown: role == TEST)
        if LINEAGE not in self.by or tallies.kinds.lineages(numbered(under_test.kind)[0]) - {NOT_STATED}:
            return ()
        codes = {under_test.lots[lot] for lot in np.unique(under_test.lot).tolist()}
        lineages = [self.lineages[pk] for pk, (code, _, _) in self.lots.items() if code in codes]
        return tuple(level for level in LEVELS if any(getattr(lineage, level) not in (NOT_STATED, OUTSIDE) for lineage in lineages))


_LOT_FIELDS = ("pk", "code", "taxon__role", "kind")


def _about_lots(rows):
    """{key of a lot: (code, kind of check by its species, whether it is seed)}."""
    return {pk: (code, STANDARD_OF.get(species, OTHER), kind == LotKind.SEED) for pk, code, species, kind in rows}


@held_beside_parts
def _all_lots():
    return _about_lots(Lot.objects.order_by().values_list(*_LOT_FIELDS))


@held_beside_parts
def _all_lineages():
    return lot_lineages()


def _parts_of(rounds, keys):
    """The place in `keys`, (round, sown) each, of the planted trees and of the sown seed of rounds in ascending order; -1 without one."""
    found = np.full((len(rounds), 2), -1, dtype=np.int64)
    pks, sown = np.fromiter(chain.from_iterable(keys), dtype=np.int64, count=2 * len(keys)).reshape(-1, 2).T
    place = np.searchsorted(rounds, pks)
    here = np.flatnonzero(rounds[np.minimum(place, len(rounds) - 1)] == pks) if len(rounds) else np.zeros(0, dtype=np.int64)
    found[place[here], sown[here]] = here
    return found


def _numbered_names(names, of):
    """(the different names there are, the number of each of those that `of` points to)."""
    labels = Labels()
    return labels.names, np.array([labels.number(name) for name in names], dtype=np.int64)[of]


def _table(rows):
    """Pairs of numbers as a matrix of two columns."""
    return np.array([*rows], dtype=np.int64).reshape(-1, 2)
