"""The cell that holds the boundary of a site, and the answer to the question whether it is right."""

import json

from plantings.calc.sites.geometry import measure_polygon
from plantings.calc.sites.outlines import outline_doubts
from registry.calc.shared.screen import amount_words
from registry.imports.sheets.cells.cell import Cell, CellError
from registry.imports.sheets.cells.values import YesNoCell
from registry.imports.sheets.text import cell_text

__all__ = ["AnswerCell", "OutlineCell", "outline_questions"]

_QUOTED = 40


class OutlineCell(Cell):
    """A boundary as GeoJSON in longitude and latitude, as a map file fills it in. Its value is an `Outline`.

    No sheet of sites has it as a column, since a cell of a workbook is too short for it; the map files of `export_book` have it.
    """

    is_exported = False

    def parser(self, options):
        from plantings.maps.outline_shapes import OutlineError, outline_from_text

        def parse(value):
            try:
                return outline_from_text(cell_text(value))
            except OutlineError as error:
                raise CellError(str(error)) from None

        return parse

    def render(self, value, obj=None, **kwargs):
        return "" if value is None else json.dumps(_geojson(value), separators=(",", ":"))

    def shown(self, value):
        if value is None:
            return ""
        geojson = _geojson(value)
        parts = [geojson["coordinates"]] if geojson["type"] == "Polygon" else geojson["coordinates"]
        corners = sum(len(ring) - 1 for part in parts for ring in part)
        return f"{measure_polygon(geojson).area_m2 / 10_000:,.2f} ha, {amount_words(corners, 'corners')}"

    def quoted(self, text):
        return text if len(text) <= _QUOTED else f"{text[: _QUOTED - 1]}…"


class AnswerCell(YesNoCell):
    """An answer that a load is given and that no record holds."""

    is_exported = False


def _geojson(value):
    """The GeoJSON of a boundary that was read, or of one on file."""
    return value if isinstance(value, dict) else value.geojson


def outline_questions(outline, point):
    """What to ask before a boundary is stored; `point` is the (longitude, latitude) of the site, or None."""
    from plantings.maps.outline_shapes import distance_m

    return outline_doubts(outline.area_m2, distance_m(outline.geojson, point) if point else None)
