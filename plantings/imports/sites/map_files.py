"""Map files sent as sheets: a row for each feature of a layer. `maps/map_tables.py` reads them."""

from contextlib import contextmanager
from dataclasses import replace

from registry.imports.shared.other_files import FileReader
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.table import Table, checked_headers

__all__ = ["MAP_FILES"]


def _fits(content):
    from plantings.maps.geo_files import is_map_file

    return is_map_file(content)


def _layer_names(content, filename):
    from plantings.maps.geo_files import layer_names

    with _as_sheet_error():
        names = layer_names(content, filename)
    return names if len(names) > 1 else []


def _read(content, filename, options):
    from plantings.maps.map_tables import read_map_table

    with _as_sheet_error():
        layer = read_map_table(content, filename, options.sheet, options.crs)
    headers = checked_headers(layer.headers, filename)
    return Table(headers, layer.rows, 1, layer.notes, [], replace(options, sheet=layer.layer))


@contextmanager
def _as_sheet_error():
    from plantings.maps.geo_files import BoundaryFileError

    try:
        yield
    except BoundaryFileError as error:
        raise SheetError(str(error)) from None


MAP_FILES = FileReader(_fits, _layer_names, _read)
