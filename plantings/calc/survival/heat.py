"""Which part of a heat table is shown: so many rows and columns that it can be read, and no more is worked out."""

from collections.abc import Sequence
from typing import NamedTuple

from plantings.calc.survival.groups import CHECK
from plantings.calc.survival.table import ROLE_WORDS, STANDARDS, SurvivalRow, Tally, sown_words

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
    def of(row: Tally | SurvivalRow) -> "HeatColumn":
        is_check = row.role == CHECK
        return HeatColumn(row.sown, is_check, STANDARDS.index(row.standard) if is_check else 0, row.keys[1:])


class HeatWindow(NamedTuple):
    """The tallies of the part shown, its row labels and columns in order; how many there are in all, and the first shown, from 0."""

    tallies: list[Tally]
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
    rows = sorted({tally.keys[0] for tally in tallies}, key=str.casefold)
    columns = sorted({HeatColumn.of(tally) for tally in tallies}, key=_place)
    first_row, first_column = _first(page, len(rows), ROWS_MOST), _first(columns_page, len(columns), COLUMNS_MOST)
    shown_rows, shown_columns = rows[first_row : first_row + ROWS_MOST], columns[first_column : first_column + COLUMNS_MOST]
    inside, across = set(shown_rows), set(shown_columns)
    here = [tally for tally in tallies if tally.keys[0] in inside and HeatColumn.of(tally) in across]
    return HeatWindow(here, tuple(shown_rows), tuple(shown_columns), len(rows), len(columns), first_row, first_column)


def _place(column: HeatColumn) -> tuple:
    return column.sown, column.is_check, column.standard, [key.casefold() for key in column.keys], column.keys


def _first(page: int, count: int, most: int) -> int:
    last = max((count - 1) // most, 0)
    return min(max(page - 1, 0), last) * most
