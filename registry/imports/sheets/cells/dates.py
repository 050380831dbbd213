"""Cells of days, of months and years where no day is known, and of several days."""

import datetime

from registry.calc.shared.part_dates import PartDate, first_day
from registry.calc.sheets.written_days import read_date, read_day
from registry.imports.sheets.cells.cell import Cell, CellError
from registry.imports.sheets.text import cell_text
from registry.services.shared.past_day import FIRST_DAY


class DateCell(Cell):
    """A day, as the file declares how it writes them; none before 1900, where a spreadsheet begins to count."""

    read = staticmethod(read_day)
    needs_day = True

    def parser(self, options):
        styles = options.dates

        def parse(value):
            if isinstance(value, datetime.datetime):
                value = value.date()
            if isinstance(value, PartDate) and self.needs_day:
                raise CellError(f"shows {value} without a day, and a day is needed; format the cell so that it shows its day, and check it")
            if not isinstance(value, (datetime.date, PartDate)):
                value = self._read(value, styles)
            if first_day(value) < FIRST_DAY:
                raise CellError(f"is before {FIRST_DAY.year}; correct the year, or leave the cell blank and write the old date in a note")
            return value

        return parse

    def _read(self, value, styles):
        try:
            return self.read(cell_text(value), styles)
        except ValueError as error:
            raise CellError(str(error)) from None

    def render(self, value, obj=None, **kwargs):
        return value.isoformat() if value else ""


class PartDateCell(DateCell):
    """A day, or the month or the year where no more is known (a `PartDate`)."""

    read = staticmethod(read_date)
    needs_day = False


class DatesCell(PartDateCell):
    """Several days, months or years in one cell, with a semicolon between them."""

    def parser(self, options):
        one = super().parser(options)

        def parse(value):
            parts = value.split(";") if isinstance(value, str) else [value]
            return sorted({one(part.strip() if isinstance(part, str) else part) for part in parts if part})

        return parse

    def render(self, value, obj=None, **kwargs):
        return "; ".join(day.isoformat() for day in value or ())
