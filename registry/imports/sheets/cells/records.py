"""Cells with the codes of other records."""

from registry.imports.sheets.cells.cell import Cell, CellError
from registry.imports.sheets.text import cell_text


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
            article = "an" if name[0] in "aeiou" else "a"
            raise CellError(f"is not the code of {article} {name} on file; correct it, or load that {name} first")

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
