"""What one cell of a sheet may hold: widgets of django-import-export that read strictly and say what to do.

A widget reads (`parser(options)`, used by imports; `clean`, the library's own entry) and writes (`render`).
A blank cell is never zero: it makes no statement at all, and leaves a stored value as it is.
"""

import datetime
import math
import re
from decimal import Decimal

from import_export.fields import Field
from import_export.widgets import Widget

from registry.calc.pedigree.generation import read_generation
from registry.calc.shared.part_dates import PartDate, first_day
from registry.calc.shared.screen import amount_words
from registry.calc.sheets.written_days import read_date, read_day
from registry.imports.sheets.table import ReadingOptions
from registry.imports.sheets.text import cell_text, undefused
from registry.services.shared.past_day import FIRST_DAY

_INTEGER_MAX = 2_147_483_647  # the largest whole number a column of the database holds
_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")


class CellError(ValueError):
    """A cell that cannot be read. The text says what is expected; the engine adds row, column and value."""


class SheetField(Field):
    """One column of a sheet: `name` in mapping files, `column_name` (with its unit) in the header.

    `was` are headers it had in sheets downloaded earlier; they are read still.
    """

    def __init__(self, header, attribute, widget, *, required=False, example="", help="", was=()):
        super().__init__(attribute=attribute, column_name=header, widget=widget)
        self.required = required
        self.example = example
        self.help = help
        self.was = was


def bare(value):
    """A cell without the blanks around it, None when nothing is left; nor the ' that keeps our own files from running as formulas."""
    if isinstance(value, str):
        value = undefused(value.strip()).strip()
    return None if value == "" else value


class Cell(Widget):
    is_text = False
    seen_by = ""  # the action somebody needs to see the column in a download
    is_exported = True  # whether a download has the column

    def parser(self, options):
        """A function of one non-blank cell; raises CellError."""
        raise NotImplementedError

    def clean(self, value, row=None, **kwargs):
        value = bare(value)
        return None if value is None else self.parser(ReadingOptions())(value)

    def render(self, value, obj=None, **kwargs):
        return "" if value is None else value

    def shown(self, value):
        """A value in words short enough for a page."""
        return cell_text(self.render(value))

    def quoted(self, text):
        """What a cell says, as a message about it quotes it."""
        return text


class TextCell(Cell):
    is_text = True

    def __init__(self, max_length=None, pattern=None, says=""):
        super().__init__()
        self.max_length, self.pattern, self.says = max_length, re.compile(pattern) if pattern else None, says

    def parser(self, options):
        def parse(value):
            if isinstance(value, (bool, datetime.date, PartDate, datetime.time, datetime.timedelta)):
                raise CellError(_not_text(value))
            text = cell_text(value)
            if self.max_length and len(text) > self.max_length:
                raise CellError(f"has {amount_words(len(text), 'characters')}; write at most {self.max_length}")
            if self.pattern and not self.pattern.fullmatch(text):
                raise CellError(self.says)
            return text

        return parse


def _not_text(value):
    """A text the spreadsheet has turned into something else; what was typed is lost, so it is not guessed."""
    if isinstance(value, bool):
        return f"is a yes-or-no value of the spreadsheet, not a text; format the column as text and write {str(value).upper()} again"
    if isinstance(value, (datetime.date, PartDate)):
        return f"is a date of the spreadsheet ({cell_text(value)}), not a text; format the column as text and write it again"
    return "is a time of the spreadsheet, not a text; format the column as text and write it again"


class NumberCell(Cell):
    """A number in the unit of the header. The decimal sign is as declared for the file, never guessed."""

    def __init__(self, low=None, high=None, whole=False):
        super().__init__()
        self.low, self.high, self.whole = low, high, whole

    def parser(self, options):
        decimal = options.decimal

        def parse(value):
            number = self.number(value, decimal)
            if self.whole:
                if not number.is_integer():
                    raise CellError("is not a whole number")
                number = int(number)
                if abs(number) > _INTEGER_MAX:
                    raise CellError("is larger than any count can be")
            if (self.low is not None and number < self.low) or (self.high is not None and number > self.high):
                raise CellError(f"is outside {_span(self.low, self.high)}")
            return number

        return parse

    @staticmethod
    def number(value, decimal):
        """A cell as a float. Raises CellError."""
        if isinstance(value, str):
            other = "." if decimal == "," else ","
            if other in value:
                raise CellError(
                    f"has a '{other}'; the decimal sign of this file is declared as '{decimal}', and thousands are not separated"
                )
            value = value.replace(decimal, ".")
            if not _NUMBER.fullmatch(value):
                raise CellError("is not a number")
        elif isinstance(value, bool) or not isinstance(value, (int, float)):
            raise CellError("is not a number")
        try:
            number = float(value)
        except OverflowError:
            raise CellError("is too large a number") from None
        if not math.isfinite(number):
            raise CellError("is not a number")
        return number


class DecimalCell(NumberCell):
    """A number stored exactly as it was written, such as a share of 0.1, with at most `places` decimals."""

    def __init__(self, low=None, high=None, places=None):
        super().__init__(low, high)
        self.places = places

    def parser(self, options):
        number = super().parser(options)

        def parse(value):
            exact = Decimal(repr(number(value)))
            if self.places is not None and -exact.normalize().as_tuple().exponent > self.places:
                raise CellError(f"has more than {self.places} decimals; round it")
            return exact

        return parse


def _span(low, high):
    if high is None:
        return f"{low} and more"
    return f"{low} to {high}" if low is not None else f"{high} and less"


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


class DatesCell(DateCell):
    """Several dates in one cell, with a semicolon between them."""

    def parser(self, options):
        one = super().parser(options)

        def parse(value):
            parts = value.split(";") if isinstance(value, str) else [value]
            return sorted({one(part.strip() if isinstance(part, str) else part) for part in parts if part})

        return parse

    def render(self, value, obj=None, **kwargs):
        return "; ".join(day.isoformat() for day in value or ())


class NameCell(TextCell):
    """The name of a person; one space between its parts, so that a name is the same however it was typed."""

    def parser(self, options):
        text = super().parser(options)
        return lambda value: " ".join(text(value).split())


class ChoiceCell(Cell):
    """One code of a list. `choices` is a function giving (code, label); a label is read as its code."""

    is_text = True

    def __init__(self, choices):
        super().__init__()
        self.choices = choices

    def parser(self, options):
        pairs = list(self.choices())
        known = {str(label).casefold(): code for code, label in pairs} | {str(code).casefold(): code for code, _ in pairs}

        def parse(value):
            code = known.get(cell_text(value).casefold())
            if code is None:
                raise CellError(f"is not in the list; write one of {', '.join(str(code) for code, _ in pairs)}")
            return code

        return parse


class YesNoCell(Cell):
    is_text = True

    def parser(self, options):
        def parse(value):
            word = cell_text(value).casefold()
            if word in {"yes", "y", "true", "1", "1.0"}:
                return True
            if word in {"no", "n", "false", "0", "0.0"}:
                return False
            raise CellError("is neither yes nor no")

        return parse

    def render(self, value, obj=None, **kwargs):
        return {True: "yes", False: "no"}.get(value, "")


class GenerationCell(Cell):
    """A generation code such as B3F2, with its synonyms, or another word that cannot be meant as a code."""

    is_text = True

    def parser(self, options):
        def parse(value):
            try:
                return read_generation(cell_text(value))
            except ValueError as error:
                raise CellError(str(error)) from None

        return parse

    def render(self, value, obj=None, **kwargs):
        return value.code if value else ""


class Ahead:
    """A record named by its code that is in the same sheet and not stored yet."""

    __slots__ = ("code",)

    def __init__(self, code):
        self.code = code


class RecordCell(Cell):
    """The code of another record, which must exist (or, with `same_sheet`, be in the sheet itself)."""

    is_text = True

    def __init__(self, model, by="code", same_sheet=False, queryset=None):
        super().__init__()
        self.model, self.by, self.same_sheet, self.queryset = model, by, same_sheet, queryset
        self.seen_by = "person.view" if by == "username" else ""  # sign-in names are half of a sign-in

    def parser(self, options):
        rows = self.queryset() if self.queryset else self.model._default_manager.all()
        records = {str(getattr(record, self.by)): record for record in rows}
        ahead = options.codes_in_sheet if self.same_sheet else frozenset()
        missing = self.missing(records, ahead)

        def parse(value):
            code = cell_text(value)
            record = records.get(code)
            if record is not None:
                return record
            if code in ahead:
                return Ahead(code)
            return missing(code)

        return parse

    def missing(self, records, ahead):
        """A function of a code that is neither on file nor in the sheet: raises CellError, or returns what the cell says all the same."""

        def refuse(code):
            name = self.model._meta.verbose_name
            raise CellError(f"is not the code of a {name} on file; correct it, or load that {name} first")

        return refuse

    def render(self, value, obj=None, **kwargs):
        return "" if value is None else str(getattr(value, self.by))


class RecordsCell(RecordCell):
    """Several codes separated by spaces or semicolons."""

    def parser(self, options):
        one = super().parser(options)

        def parse(value):
            return [one(code) for code in cell_text(value).replace(";", " ").split()]

        return parse

    def render(self, value, obj=None, **kwargs):
        records = value.all() if hasattr(value, "all") else value or ()
        return "; ".join(sorted(str(getattr(record, self.by)) for record in records))
