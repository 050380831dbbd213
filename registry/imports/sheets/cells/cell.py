"""What one cell of a sheet may hold: widgets of django-import-export that read strictly and say what to do.

A widget reads (`parser(options)`, used by imports; `clean`, the library's own entry) and writes (`render`).
A blank cell is never zero: it makes no statement at all, and leaves a stored value as it is.
"""

from import_export.fields import Field
from import_export.widgets import Widget

from registry.imports.sheets.reading_options import ReadingOptions
from registry.imports.sheets.text import cell_text, undefused


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
