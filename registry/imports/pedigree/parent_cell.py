"""The cell of a parent in a sheet of trees."""

from functools import cache

from registry.calc.pedigree.pedigree import is_unknown
from registry.calc.pedigree.spelling import Spellings
from registry.imports.sheets.cells.cell import CellError
from registry.imports.sheets.cells.records import RecordCell


class ParentCell(RecordCell):
    """A parent in the same sheet or on file. 0, NA, unknown and the like make no statement, unless a record has that code."""

    def __init__(self, model):
        super().__init__(model, same_sheet=True)

    def missing(self, records, ahead):
        refuse = super().missing(records, ahead)

        @cache
        def spellings():
            return Spellings([*records, *sorted(ahead)])

        def say(code):
            if is_unknown(code):
                return None
            near = spellings().near(code)
            if near:
                raise CellError(f"is not the code of a tree, but “{near[0]}” is; if both are one tree, write its code the same way")
            return refuse(code)

        return say
