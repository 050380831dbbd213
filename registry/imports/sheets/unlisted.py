"""Parents that a sheet names and nobody lists: one line of the mapping declares them founders."""

import json

from registry.calc.pedigree.pedigree import is_unknown
from registry.calc.pedigree.spelling import Spellings
from registry.calc.shared.screen import amount_words
from registry.imports.sheets.cells.cell import CellError, bare
from registry.imports.sheets.plan import Item, Problem
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.text import cell_text

_EXAMPLE = '{"taxon": "Juglans cinerea", "generation": "native"}'


class UnlistedParents:
    """The parents without a row in a sheet or on file, and what the mapping declares of them."""

    def __init__(self, sheet, spec, options):
        self.sheet = sheet
        self.values = _declared(sheet, spec["unlisted_parents"], options) if "unlisted_parents" in spec else None
        self.found = {}

    def codes(self, rows, listed):
        """Codes of the parents that become founders; empty where the mapping declares nothing."""
        if self.values is None:
            return set()
        model = self.sheet.model
        self.listed = set(listed) | set(model.objects.order_by().values_list(self.sheet.key[0], flat=True))
        sources = [self.sheet.sources[name] for name in self.sheet.parent_fields if name in self.sheet.sources]
        for number, row in rows:
            for source in sources:
                cell = bare(self._cell(source, row))
                code = "" if cell is None else cell_text(cell)
                if code and code not in self.listed and not is_unknown(code):
                    self.found.setdefault(code, number)
        return set(self.found)

    @staticmethod
    def _cell(source, row):
        try:
            return source.cell(row)
        except CellError:
            return None  # the row is refused where it is read

    def items(self, plan):
        """A new row for each, with a warning where it may be a slip for a code that is listed or for another of them."""
        spellings = Spellings([*self.listed, *self.found]) if self.found else None
        for code, number in self.found.items():
            for near in spellings.near(code):
                other = "becomes another" if near in self.found else "is listed"
                message = f"has no row and becomes a founder, but “{near}” {other}; if both are one tree, write its code the same way"
                plan.warnings.append(Problem(number, "", code, message))
        if self.found:
            plan.notes.append(f"{amount_words(len(self.found), 'parents')} without a row: founders, as the mapping declares.")
        return [Item(number, (), {self.sheet.key[0]: code} | self.values) for code, number in self.found.items()]


def _declared(sheet, given, options):
    if not sheet.parent_fields:
        raise SheetError('The mapping has "unlisted_parents", but this sheet has no parents. Take that line out.')
    fields = sheet.sheet_fields()
    if not isinstance(given, dict) or not given:
        raise SheetError(f'"unlisted_parents" of the mapping is {json.dumps(given)}. Write what all of them are, such as {_EXAMPLE}.')
    wrong = sorted(set(given) - set(fields) | set(given) & {*sheet.key, *sheet.parent_fields})
    if wrong:
        raise SheetError(
            f"\"unlisted_parents\" of the mapping gives '{wrong[0]}', which founders cannot share. Write, for example, {_EXAMPLE}."
        )
    values = {}
    for name, value in given.items():
        try:
            read = bare(value)
            if read is not None:
                values[name] = fields[name].widget.parser(options)(read)
        except (CellError, TypeError, AttributeError) as error:
            says = error if isinstance(error, CellError) else "is not a text or a number"
            raise SheetError(f"\"unlisted_parents\" of the mapping: {name} '{value}' {says}.") from None
    return values
