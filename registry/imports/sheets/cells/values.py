"""Cells of texts, numbers, codes of a list, yes or no, generations."""

import datetime
import math
import re
from decimal import Decimal

from registry.calc.pedigree.generation import read_generation
from registry.calc.shared.part_dates import PartDate
from registry.calc.shared.screen import amount_words
from registry.imports.sheets.cells.cell import Cell, CellError
from registry.imports.sheets.text import cell_text

_INTEGER_MAX = 2_147_483_647  # the largest whole number a column of the database holds
_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")


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
