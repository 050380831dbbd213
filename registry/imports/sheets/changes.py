"""Stated changes of a cell on its way into one of our columns."""

import json
import re

from registry.calc.sheets.lengths import METRES, length_in
from registry.calc.sheets.name_patterns import name_pattern
from registry.imports.sheets.cells.cell import CellError, bare
from registry.imports.sheets.cells.values import NumberCell
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.text import cell_text

CHANGES = ("split", "part", "pattern", "take", "after_last", "before_last", "values", "rest", "unit")
_RESTS = ("as it is", "blank", "refuse")
_OUR_UNIT = re.compile(r"\((mm|cm|m)\)")
_EXPECTED = {
    "split": "Write the sign between the parts, as a text.",
    "part": "Write which part, from 1, or -1 for the last.",
    "pattern": "Write how the cell is written, such as {family}_{garden:letters}_{bed:letters}.",
    "take": "Write the name of one place of the pattern.",
    "values": 'Write {"their value": "our value"}, with "" for a blank cell and "*" for anything else.',
    "rest": f"Write what becomes of values that are not listed: {', '.join(_RESTS)}.",
    "after_last": "Write the character after which the value begins, as a text.",
    "before_last": "Write the character before which the value ends, as a text.",
    "unit": f"Write the unit of their column: {', '.join(METRES)}.",
}
_FITS = {
    "part": lambda given: type(given) is int and given != 0,
    "values": lambda given: isinstance(given, dict) and all(isinstance(ours, (str, int, float)) for ours in given.values()),
    "rest": lambda given: isinstance(given, str) and given in _RESTS,
    "unit": lambda given: isinstance(given, str) and given in METRES,
    "split": lambda given: isinstance(given, str) and given != "",
}
_TOGETHER = (("split", "part"), ("part", "split"), ("pattern", "take"), ("take", "pattern"), ("rest", "values"))


class Changes:
    """The changes of one field, read from a mapping once and made for each of its cells."""

    def __init__(self, steps):
        self.steps = steps

    def __call__(self, value):
        for step in self.steps:
            value = step(value)
        return value

    @classmethod
    def read(cls, name, given, header, decimal):
        """The changes that a mapping states of a field, None without any. Raises SheetError."""
        for part in CHANGES:
            if part in given and not _FITS.get(part, lambda value: isinstance(value, str))(given[part]):
                _refuse(name, given, part)
        for part, needed in _TOGETHER:
            if part in given and needed not in given:
                raise SheetError(f'The mapping of \'{name}\' has "{part}" without "{needed}". {_EXPECTED[needed]}')
        steps = []
        if "split" in given:
            steps.append(_split(given["split"], given["part"]))
        if "pattern" in given:
            steps.append(_take(name, given))
        if given.get("after_last"):
            steps.append(_after_last(given["after_last"]))
        if given.get("before_last"):
            steps.append(_before_last(given["before_last"]))
        if "values" in given:
            steps.append(_listed(given["values"], given.get("rest", "as it is")))
        if "unit" in given:
            steps.append(_length(name, given["unit"], header, decimal))
        return cls(steps) if steps else None


def _refuse(name, given, part):
    raise SheetError(f"The mapping of '{name}' has \"{part}\": {json.dumps(given[part])}. {_EXPECTED[part]}")


def _split(sign, part):
    def change(value):
        text = cell_text(value)
        if not text:
            return ""
        parts = text.split(sign)
        if abs(part) > len(parts):
            raise CellError(f"has {len(parts)} of the parts between “{sign}”, and the mapping takes part {part}")
        return parts[part if part < 0 else part - 1].strip()

    return change


def _take(name, given):
    try:
        pattern = name_pattern(given["pattern"])
    except ValueError as error:
        raise SheetError(f"The mapping of '{name}': {error}") from None
    place = given["take"]
    if place not in pattern.names:
        raise SheetError(f"The mapping of '{name}' takes '{place}', and its pattern has: {', '.join(pattern.names)}.")

    def change(value):
        text = cell_text(value)
        if not text:
            return ""
        try:
            return pattern.read(text)[place].strip()
        except ValueError as error:
            raise CellError(str(error)) from None

    return change


def _after_last(sign):
    return lambda value: cell_text(value).rpartition(sign)[2]


def _before_last(sign):
    def change(value):
        text = cell_text(value)
        return text.rpartition(sign)[0] or text

    return change


def _listed(values, rest):
    # as for codes: neither the case nor blanks around a value count, unless the list itself tells two cases apart
    folded = {}
    for theirs, ours in values.items():
        folded.setdefault(theirs.strip().casefold(), ours)
    others = {"blank": "", "refuse": None}

    def change(value):
        text = cell_text(value)
        if text in values and text != "*":
            return values[text]
        if text.casefold() in folded and text != "*":
            return folded[text.casefold()]
        if not text:
            return ""
        if "*" in values:
            return values["*"]
        if rest == "refuse":
            raise CellError(
                f"is not one of the values that the mapping lists ({', '.join(filter(None, values))}); add it there, or correct it"
            )
        return others.get(rest, value)

    return change


def _length(name, unit, header, decimal):
    ours = _OUR_UNIT.search(header)
    if not ours:
        raise SheetError(f"The mapping of '{name}' has a \"unit\", and that column of ours holds no length. Take the unit out.")

    def change(value):
        value = bare(value)
        return "" if value is None else length_in(NumberCell.number(value, decimal), unit, ours[1])

    return change
