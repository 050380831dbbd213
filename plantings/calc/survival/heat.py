"""Which part of a heat table is shown: so many rows and columns that it can be read, and no more is worked out."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from plantings.calc.survival.groups import CHECK
from plantings.calc.survival.table import ROLE_WORDS, STANDARDS, SurvivalRow, sown_words
from plantings.calc.survival.tallies import Tallies, Tally, numbered

ROWS_MOST, COLUMNS_MOST = 60, 12


class HeatColumn(NamedTuple):
    """A group of one role: trees under test first, then each kind of check, then what was sown as seed."""

    sown: bool
    is_check: bool
    standard: int
    keys: tuple[str, ...]

    @property
    def role_words(self) -> str:
        return sown_words(ROLE_WORDS[STANDARDS[self.standard] if self.is_check else ""][0], self.sown)

    @staticmethod
    def of(row: SurvivalRow) -> "HeatColumn":
        return HeatColumn.of_kind(row.keys, row.role, row.standard, row.sown)

    @staticmethod
    def of_kind(keys: tuple[str, ...], role: str, standard: str, sown: bool) -> "HeatColumn":
        return HeatColumn(sown, role == CHECK, STANDARDS.index(standard) if role == CHECK else 0, keys[1:])


class HeatWindow(NamedTuple):
    """The tallies of the part shown, its row labels and columns in order; how many there are in all, and the first shown, from 0."""

    tallies: Tallies
    rows: tuple[str, ...]
    columns: tuple[HeatColumn, ...]
    row_count: int
    column_count: int
    first_row: int
    first_column: int


def heat_window(tallies: Sequence[Tally], page: int, columns_page: int) -> HeatWindow:
    """One page of a heat table, at most 60 rows by 12 columns.

    Parameters
    ----------
    tallies : sequence of Tally
        Grouped by two keys or more: the first goes down, the others across.
    page, columns_page : int
        Counted from 1; beyond the last page the last one is shown.

    Source
    ------
    Definition of this programme: a table of more cells is not read by anybody.
    """
    tallies = Tallies.of(tallies)
    numbers = numbered(tallies.kind)[0]
    row_of, names, across_of, across = tallies.kinds.across(numbers)
    rows = sorted((names[row] for row in numbered(row_of)[0].tolist()), key=str.casefold)
    of_across = [HeatColumn.of_kind(("", *keys), *role) for keys, *role in across]  # far fewer than cells
    columns = sorted(set(of_across), key=_place)
    first_row, first_column = _first(page, len(rows), ROWS_MOST), _first(columns_page, len(columns), COLUMNS_MOST)
    shown_rows, shown_columns = rows[first_row : first_row + ROWS_MOST], columns[first_column : first_column + COLUMNS_MOST]
    inside, wanted = set(shown_rows), set(shown_columns)
    is_row, is_column = np.array([name in inside for name in names], dtype=bool), np.array([one in wanted for one in of_across], dtype=bool)
    is_shown = np.zeros(len(tallies.kinds), dtype=bool)
    is_shown[numbers] = is_row[row_of] & is_column[across_of]
    return HeatWindow(
        tallies.taken(is_shown[tallies.kind]), tuple(shown_rows), tuple(shown_columns), len(rows), len(columns), first_row, first_column
    )


def _place(column: HeatColumn) -> tuple:
    return column.sown, column.is_check, column.standard, [key.casefold() for key in column.keys], column.keys


def _first(page: int, count: int, most: int) -> int:
    last = max((count - 1) // most, 0)
    return min(max(page - 1, 0), last) * most
