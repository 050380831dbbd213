"""Columns of measurements in the sheets of the census: those of the table, and those of a programme's own."""

from plantings.calc.census.measurements import SHEET, measured_at
from plantings.models.measured_columns import choices_of
from plantings.selectors.census.asked import own_measurements
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.values import ChoiceCell, NumberCell


def measured_columns(attribute="{field}"):
    """{name: column} of every measurement of a sheet; `attribute` says where a record holds it."""
    return {item.field: _measured_column(item, attribute.format(field=item.field)) for item in measured_at(SHEET)}


def _measured_column(item, attribute):
    cell = ChoiceCell(choices_of(item)) if item.is_word else NumberCell(*item.range, whole=item.is_whole)
    return SheetField(item.sheet_header, attribute, cell, example=item.sheet_example)


def own_cell(item):
    """What the cells of a measurement of the programme's own may say."""
    classes = [(code, label) for code, label, _ in item.classes]
    return ChoiceCell(lambda: classes) if classes else NumberCell(*item.range, whole=item.whole)


class OwnColumns:
    """A sheet that gets a column for each measurement of the programme's own. Override `own_column` to say where a record holds it."""

    own = ()  # the measurements it has columns for

    @classmethod
    def with_own_columns(cls):
        return cls.asking(own_measurements())

    @classmethod
    def asking(cls, own):
        """The sheet with a column for each of these measurements of the programme's own."""
        columns = {item.field: cls.own_column(item) for item in own}
        return type(cls)(cls.__name__, (cls,), columns | {"own": tuple(own)}) if own else cls

    @classmethod
    def own_column(cls, item):
        """The column of one of them."""
        raise NotImplementedError
