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

from registry.calc.generation import parse_generation
from registry.imports.table import ReadingOptions

_DATE_PATTERNS = {
    "YYYY-MM-DD": "%Y-%m-%d",
    "DD.MM.YYYY": "%d.%m.%Y",
    "DD/MM/YYYY": "%d/%m/%Y",
    "MM/DD/YYYY": "%m/%d/%Y",
}
DATE_STYLES = tuple(_DATE_PATTERNS)


class CellError(ValueError):
    """A cell that cannot be read. The text says what is expected; the engine adds row, column and value."""


class SheetField(Field):
    """One column of a sheet: `name` in mapping files, `column_name` (with its unit) in the header."""

    def __init__(self, header, attribute, widget, *, required=False, example="", help=""):
        super().__init__(attribute=attribute, column_name=header, widget=widget)
        self.required = required
        self.example = example
        self.help = help


class Cell(Widget):
    is_text = False

    def parser(self, options):
        """A function of one non-blank cell; raises CellError."""
        raise NotImplementedError

    def clean(self, value, row=None, **kwargs):
        if value is None or (isinstance(value, str) and not value.strip()):
            return None
        return self.parser(ReadingOptions())(value.strip() if isinstance(value, str) else value)

    def render(self, value, obj=None, **kwargs):
        return "" if value is None else value


class TextCell(Cell):
    is_text = True

    def __init__(self, max_length=None, pattern=None, says=""):
        super().__init__()
        self.max_length, self.pattern, self.says = max_length, re.compile(pattern) if pattern else None, says

    def parser(self, options):
        def parse(value):
            if isinstance(value, float) and value.is_integer():
                value = int(value)  # a spreadsheet stores the tag 12 as 12.0
            text = _undefused(str(value))
            if self.max_length and len(text) > self.max_length:
                raise CellError(f"has {len(text)} characters; write at most {self.max_length}")
            if self.pattern and not self.pattern.fullmatch(text):
                raise CellError(self.says)
            return text

        return parse


def _undefused(text):
    """Our own exports put ' before a text a spreadsheet would run as a formula; take it off again."""
    return text[1:] if len(text) > 1 and text[0] == "'" and text[1] in "=+-@\t\r＝＋－＠" else text


class NumberCell(Cell):
    """A number in the unit of the header. The decimal sign is as declared for the file, never guessed."""

    def __init__(self, low=None, high=None, whole=False):
        super().__init__()
        self.low, self.high, self.whole = low, high, whole

    def parser(self, options):
        decimal = options.decimal

        def parse(value):
            number = self._number(value, decimal)
            if self.whole:
                if not number.is_integer():
                    raise CellError("is not a whole number")
                number = int(number)
            if (self.low is not None and number < self.low) or (self.high is not None and number > self.high):
                raise CellError(f"is outside {_span(self.low, self.high)}")
            return number

        return parse

    @staticmethod
    def _number(value, decimal):
        if isinstance(value, (bool, datetime.date, datetime.datetime)):
            raise CellError("is not a number")
        if isinstance(value, (int, float)):
            number = float(value)
        else:
            other = "." if decimal == "," else ","
            if other in value:
                raise CellError(
                    f"has a '{other}'; the decimal sign of this file is declared as '{decimal}', and thousands are not separated"
                )
            try:
                number = float(value.replace(decimal, "."))
            except ValueError:
                raise CellError("is not a number") from None
        if not math.isfinite(number):
            raise CellError("is not a number")
        return number


class DecimalCell(NumberCell):
    """A number kept exactly as it was written, such as a share of 0.1, with at most `places` decimals."""

    def __init__(self, low=None, high=None, places=None):
        super().__init__(low, high)
        self.places = places

    def parser(self, options):
        number = super().parser(options)

        def parse(value):
            exact = Decimal(repr(number(value)))
            if self.places is not None and -exact.normalize().as_tuple().exponent > self.places:
                raise CellError(f"has more decimals than the {self.places} that are kept; round it")
            return exact

        return parse


def _span(low, high):
    if high is None:
        return f"{low} and more"
    return f"{low} to {high}" if low is not None else f"{high} and less"


class DateCell(Cell):
    def parser(self, options):
        style = options.dates
        if style not in _DATE_PATTERNS:
            raise CellError(f"the date style '{style}' is not known; declare one of {', '.join(DATE_STYLES)}")

        def parse(value):
            if isinstance(value, datetime.datetime):
                return value.date()
            if isinstance(value, datetime.date):
                return value
            try:
                if style == "YYYY-MM-DD":
                    return datetime.date.fromisoformat(value)
                return datetime.datetime.strptime(value, _DATE_PATTERNS[style]).date()
            except (ValueError, TypeError):
                raise CellError(f"is not a date written {style}; write it so, or declare how this file writes dates") from None

        return parse

    def render(self, value, obj=None, **kwargs):
        return value.isoformat() if value else ""


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
            if isinstance(value, float) and value.is_integer():
                value = int(value)
            code = known.get(str(value).casefold())
            if code is None:
                raise CellError(f"is not in the list; write one of {', '.join(str(code) for code, _ in pairs)}")
            return code

        return parse


class YesNoCell(Cell):
    is_text = True

    def parser(self, options):
        def parse(value):
            word = str(value).casefold()
            if word in {"yes", "y", "true", "1", "1.0"}:
                return True
            if word in {"no", "n", "false", "0", "0.0"}:
                return False
            raise CellError("is neither yes nor no")

        return parse

    def render(self, value, obj=None, **kwargs):
        return {True: "yes", False: "no"}.get(value, "")


class GenerationCell(Cell):
    """A generation code such as B3F2; BC3F3 and B3-F3 are read as synonyms."""

    is_text = True

    def parser(self, options):
        def parse(value):
            try:
                return parse_generation(str(value))
            except ValueError as error:
                raise CellError(str(error)) from None

        return parse

    def render(self, value, obj=None, **kwargs):
        return value.code if value else ""


class Ahead:
    """A record named by its code that stands in the same sheet and is not stored yet."""

    __slots__ = ("code",)

    def __init__(self, code):
        self.code = code


class RecordCell(Cell):
    """The code of another record, which must exist (or, with `same_sheet`, stand in the sheet itself)."""

    is_text = True

    def __init__(self, model, by="code", same_sheet=False, queryset=None):
        super().__init__()
        self.model, self.by, self.same_sheet, self.queryset = model, by, same_sheet, queryset

    def parser(self, options):
        rows = self.queryset() if self.queryset else self.model._default_manager.all()
        records = {str(getattr(record, self.by)): record for record in rows}
        ahead = options.codes_in_sheet if self.same_sheet else frozenset()
        name = self.model._meta.verbose_name

        def parse(value):
            if isinstance(value, float) and value.is_integer():
                value = int(value)
            code = _undefused(str(value))
            record = records.get(code)
            if record is not None:
                return record
            if code in ahead:
                return Ahead(code)
            raise CellError(f"names no {name} in the book; correct it, or load that {name} first")

        return parse

    def render(self, value, obj=None, **kwargs):
        return "" if value is None else str(getattr(value, self.by))


class RecordsCell(RecordCell):
    """Several codes separated by spaces or semicolons."""

    def parser(self, options):
        one = super().parser(options)

        def parse(value):
            return [one(code) for code in str(value).replace(";", " ").split()]

        return parse

    def render(self, value, obj=None, **kwargs):
        records = value.all() if hasattr(value, "all") else value or ()
        return "; ".join(sorted(str(getattr(record, self.by)) for record in records))
