"""The rows of a survival table in the order of their labels, each worked out when it is read: a page shows 60 of thousands."""

from collections.abc import Collection, Mapping, Sequence

from plantings.calc.survival.table import CHECK, STANDARDS, CheckBook, SurvivalRow, row_of_group
from plantings.calc.survival.tallies import Tallies, Tally
from plantings.calc.survival.tally_sums import Groups

_ROWS_HELD = 600  # what is looked at by page; a download of all is not held


class RowsByLabel(Sequence):
    """As `in_order(survival_table_rows(tallies))` of some roles. Its length needs no figure; a slice needs those of its own rows.

    Source
    ------
    As `survival_table_rows` and `in_order`.
    """

    def __init__(self, tallies: Sequence[Tally], roles: Collection[str]):
        self._tallies = Tallies.of(tallies)
        self._groups = Groups(self._tallies)
        self._checks = CheckBook(self._tallies)
        self._numbers = self._groups.index.in_order(roles)
        self._rows: dict[int, SurvivalRow] = {}

    def __len__(self) -> int:
        return len(self._numbers)

    def __getitem__(self, place):
        if isinstance(place, slice):
            return tuple(self._numbered(number) for number in self._numbers[place])
        return self._numbered(self._numbers[place])

    @property
    def kinds(self) -> Collection[tuple]:
        """(keys, role, kind of check, sown) of all groups, of every role."""
        return self._groups.keys()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    __hash__ = None

    def at(self, kind: tuple) -> SurvivalRow:
        """The row of one of `kinds`."""
        return row_of_group(*kind, self._groups[kind], self._checks)

    def _numbered(self, number):
        row = self._rows.get(number)
        if row is None:
            row = row_of_group(*self._tallies.kinds[number], self._groups.numbered(number), self._checks)
            if len(self._rows) < _ROWS_HELD:
                self._rows[number] = row
        return row


class CurvesByLabel(Sequence):
    """The same groups at several ages, each as {age: SurvivalRow} without a comparison, in the order of their labels.

    Source
    ------
    As `RowsByLabel`.
    """

    def __init__(self, by_age: Mapping[int, Sequence[Tally]], roles: Collection[str]):
        self._groups = {age: Groups(tallies) for age, tallies in by_age.items()}
        kinds = dict.fromkeys(kind for groups in self._groups.values() for kind in groups if kind[1] in roles)
        self._kinds = sorted(kinds, key=place_of_kind)

    def __len__(self) -> int:
        return len(self._kinds)

    def __getitem__(self, place):
        if isinstance(place, slice):
            return tuple(self.at(kind) for kind in self._kinds[place])
        return self.at(self._kinds[place])

    def at(self, kind: tuple) -> dict[int, SurvivalRow]:
        """The group of one (keys, role, kind of check, sown)."""
        return {age: _row(groups, kind) for age, groups in self._groups.items() if kind in groups}


_CURVE_ROWS: dict[bytes, SurvivalRow] = {}  # what the same tallies gave before, by their digest
_CURVE_ROWS_MOST = 3_000


def _row(groups, kind):
    digest = groups.digest(groups.index.number_of[kind])
    found = _CURVE_ROWS.get(digest)
    if found is None:
        if len(_CURVE_ROWS) >= _CURVE_ROWS_MOST:
            _CURVE_ROWS.clear()
        found = _CURVE_ROWS[digest] = row_of_group(*kind, groups[kind], None)
    return found


def place_of_kind(kind: tuple) -> tuple:
    """What (keys, role, kind of check, sown) are ordered by: labels, planted before sown, trees under test before their checks.

    Source
    ------
    As `in_order`.
    """
    keys, role, standard, sown = kind
    *outer, last = (key.casefold() for key in keys)
    return outer, sown, role == CHECK, STANDARDS.index(standard) if standard else 0, last
