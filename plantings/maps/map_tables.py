"""A layer of a map file as a table: a row for each feature, a column for each attribute, and columns for its place in WGS 84."""

import json
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from plantings.maps.boundary_files import to_wgs84
from plantings.maps.geo_files import BoundaryFileError, no_shape, read_features
from plantings.maps.outline_shapes import CORNERS_MAX, DECIMALS, OutlineError, repaired
from registry.calc.shared.screen import amount_words, list_words

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

__all__ = ["BOUNDARY", "INSIDE", "POINT", "MapTable", "read_map_table"]

# the headers of ours that take the place of a feature, and two that are offered beside a boundary
POINT = ("Longitude (degrees, WGS 84)", "Latitude (degrees, WGS 84)")
BOUNDARY = "Boundary"
INSIDE = ("Point inside: longitude", "Point inside: latitude")
LAYER_CORNERS_MAX = 2_000_000
_ROWS_NAMED = 10


@dataclass(frozen=True, slots=True)
class MapTable:
    """Header and rows of a layer, feature by feature, its name (blank where the file has one drawing), and notes on how it was read."""

    headers: list[str]
    rows: list[tuple]
    layer: str
    notes: list[str]


def read_map_table(content: bytes, filename: str, layer: str = "", source_crs: str = "") -> MapTable:
    """Every feature of one layer as a row, numbered from 1 in the order of the file.

    An area gives its outline as GeoJSON and a point inside it, a point its longitude and latitude; of other shapes the column of the
    boundary says what they are. Heights are dropped. `source_crs` ("EPSG:26918") is taken where the file declares none.

    Raises
    ------
    BoundaryFileError
        For a file that is not read, several layers of which none is named, no reference system, or more corners than any map of sites has.
    """
    import shapely

    frame, names = read_features(content, filename, layer=layer, source_crs=source_crs)
    corners = int(shapely.get_num_coordinates(frame.geometry.to_numpy()).sum())
    if corners > LAYER_CORNERS_MAX:
        raise BoundaryFileError(f"{filename} has {amount_words(corners, 'corners')}; up to {LAYER_CORNERS_MAX:,} are read. Simplify it.")
    layer = layer or (names[0] if len(names) == 1 else "")
    notes = [f"Read the layer “{layer}” of {len(names)}."] if len(names) > 1 else []
    notes += _notes(frame)
    places = [_place(shape) for shape in shapely.force_2d(to_wgs84(frame.geometry).to_numpy())]
    if left_out := [number for number, place in enumerate(places, start=1) if place.get("left_out")]:
        notes.append(f"Beside areas, points and lines are left out of {_rows(left_out)}.")
    ours = [header for header in (BOUNDARY, *POINT, *INSIDE) if any(header in place for place in places)]
    if BOUNDARY not in ours:
        notes.append("The shapes of this layer are points: they can be the points of sites, blocks or trees, not boundaries.")
    attributes = [place for place, name in enumerate(frame.columns) if name != frame.geometry.name]  # two may have one name
    headers = [_header(frame.columns[place], ours) or f"Attribute {number}" for number, place in enumerate(attributes, start=1)]
    columns = [[_cell(value) for value in frame.iloc[:, place]] for place in attributes]
    cells = zip(*columns, strict=True) if attributes else [()] * len(frame)
    rows = [(*(place.get(header) for header in ours), *row) for place, row in zip(places, cells, strict=True)]
    return MapTable([*ours, *headers], rows, layer, notes)


def _notes(frame: "GeoDataFrame") -> list[str]:
    notes = []
    if not frame.crs.equals("EPSG:4326", ignore_axis_order=True):
        notes.append(f"Turned from {frame.crs.to_string()[:40]} ({frame.crs.name}) into WGS 84.")
    if frame.geometry.has_z.any():
        notes.append("Heights of the shapes are dropped.")
    if (without := no_shape(frame)).any():
        notes.append(f"No shape in {_rows([number for number, blank in enumerate(without, start=1) if blank])}: their cells are blank.")
    return notes


def _rows(numbers: Sequence[int]) -> str:
    shown = [f"{number:,}" for number in numbers[:_ROWS_NAMED]]
    if len(numbers) > _ROWS_NAMED:
        shown.append(f"{len(numbers) - _ROWS_NAMED:,} more")
    return f"{'row' if len(numbers) == 1 else 'rows'} {list_words(shown, 'and')}"


def _header(name: str, ours: Sequence[str]) -> str:
    header = str(name).strip()
    return f"{header} (attribute)" if header.casefold() in {our.casefold() for our in ours} else header


def _cell(value):
    """An attribute as the cell of a sheet: a text, a number, a yes or no, a moment without its zone; None where it is missing."""
    import pandas

    if isinstance(value, str):
        return value
    if isinstance(value, (list, tuple, dict)) or hasattr(value, "tolist") and getattr(value, "ndim", 0):
        return json.dumps(value.tolist() if hasattr(value, "tolist") else value, ensure_ascii=False, default=str)
    if value is None or pandas.isna(value):
        return None
    if isinstance(value, pandas.Timestamp):
        return value.to_pydatetime().replace(tzinfo=None)
    value = value.item() if hasattr(value, "item") else value
    return value if isinstance(value, (int, float, bool)) or hasattr(value, "isoformat") else str(value)


def _place(shape) -> dict:
    """The cells of our columns that a shape fills."""
    import shapely

    if shape is None or shape.is_empty:
        return {}
    parts = [shape] if shape.geom_type in ("Point", "Polygon") else _simple_parts(shape)
    areas = [part for part in parts if part.geom_type == "Polygon"]
    if areas:
        return _area(areas) | ({"left_out": True} if len(areas) < len(parts) else {})
    if all(part.geom_type == "Point" for part in parts):
        if len(parts) > 1:
            return dict.fromkeys(POINT, amount_words(len(parts), "points"))
        return {POINT[0]: round(parts[0].x, 9), POINT[1]: round(parts[0].y, 9)}
    return {BOUNDARY: f"line of {amount_words(int(shapely.get_num_coordinates(shape)), 'points')}"}


def _simple_parts(shape) -> list:
    """The points, lines and areas of a shape, however its collections are nested."""
    import shapely

    parts = shapely.get_parts([shape])
    while any(part.geom_type.startswith("Multi") or part.geom_type == "GeometryCollection" for part in parts):
        parts = shapely.get_parts(parts)
    return [part for part in parts if not part.is_empty]


def _area(areas: list) -> dict:
    import shapely

    area = areas[0] if len(areas) == 1 else shapely.MultiPolygon(areas)
    corners = int(shapely.get_num_coordinates(area))
    if corners > CORNERS_MAX:
        return {BOUNDARY: f"area of {amount_words(corners, 'corners')}"}
    cells = {BOUNDARY: shapely.to_geojson(shapely.transform(area, lambda corners: corners.round(DECIMALS)))}
    with suppress(OutlineError):  # the cell of the boundary is refused for it
        whole = repaired(area)[0]
        if whole.is_empty:  # its corners lie on one line, for which the cell of the boundary is refused as well
            return cells
        inside = whole.representative_point()
        cells |= {INSIDE[0]: round(inside.x, DECIMALS), INSIDE[1]: round(inside.y, DECIMALS)}
    return cells
