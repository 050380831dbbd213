"""The outline of a site, or a layer of jurisdictions, from a file somebody sends; `geo_files` opens the file."""

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from plantings.calc.sites.geometry import measure_polygon
from plantings.maps.geo_files import BoundaryFileError, read_frame
from plantings.maps.outline_shapes import DECIMALS, OutlineError, as_geojson, repaired
from registry.calc.shared.screen import amount_words

if TYPE_CHECKING:
    from geopandas import GeoDataFrame, GeoSeries

_VALUES_SHOWN = 20
POLYGONS = ("Polygon", "MultiPolygon")


@dataclass(frozen=True, slots=True)
class Boundary:
    """An outline ready to keep.

    `geojson` is a Polygon or MultiPolygon, WGS 84, 7 decimals, outer rings counter-clockwise (RFC 7946);
    `area_m2` its geodesic area; `source_crs` the reference system of the file; `features_merged` how many polygons
    were joined; `notes` what was done to the file, one sentence each.
    """

    geojson: dict
    area_m2: float
    source_crs: str
    features_merged: int
    notes: tuple[str, ...]


def read_boundary(
    source: str | Path | bytes,
    filename: str = "",
    *,
    layer: str | None = None,
    source_crs: str | None = None,
    column: str = "",
    value: str = "",
) -> Boundary:
    """Outline of one site from GeoJSON, GeoPackage, KML or a zipped shapefile.

    Parameters
    ----------
    source : path, or the content of the file. `filename` : its name as sent; taken from a path when empty.
    layer : which layer of a GeoPackage, when it has several with polygons.
    source_crs : reference system ("EPSG:26918") for a file that declares none; ignored when the file declares one.
    column, value : the features whose attribute has this value, of a layer with many; case and blanks around it do not count.

    Raises
    ------
    BoundaryFileError : anything that keeps the file from giving one outline.

    Notes
    -----
    All polygons that are taken are joined into one outline. Heights are dropped. Outlines that cross themselves are
    repaired and noted. Points and lines beside polygons are left out and noted.
    """
    frame = read_frame(source, filename, layer=layer, source_crs=source_crs)
    notes: list[str] = []
    if column:
        frame = _chosen(frame, column, value, notes)
    polygons = _polygons(frame.geometry, notes)
    declared = frame.crs.to_string() if frame.crs else ""
    polygons = to_wgs84(polygons)
    outline = _joined(polygons, notes)
    geojson = as_geojson(outline)
    return Boundary(geojson, measure_polygon(geojson).area_m2, declared, len(polygons), tuple(notes))


def read_layer(
    source: str | Path | bytes,
    filename: str = "",
    *,
    code_column: str,
    name_column: str | None = None,
    layer: str | None = None,
    source_crs: str | None = None,
) -> "GeoDataFrame":
    """An administrator's jurisdiction layer: columns code, name, geometry (valid polygons, WGS 84).

    `code_column` holds the codes (ISO 3166-2 where there is one); `name_column` the names, the codes again when it
    is None. Features of one code stay apart; `maps.jurisdiction` does not mind. Raises BoundaryFileError, also
    for a column that is not there and for empty codes (numbered from 1).
    """
    frame = read_frame(source, filename, layer=layer, source_crs=source_crs, any_format=True)
    for column in (code_column, *([name_column] if name_column else [])):
        if column not in frame.columns:
            have = ", ".join(c for c in frame.columns if c != "geometry") or "none"
            raise BoundaryFileError(f"The layer has no column {column!r}. Its columns: {have}.")
    codes = frame[code_column].map(lambda value: "" if value is None or value != value else str(value).strip())
    if (codes == "").any():
        rows = ", ".join(str(number + 1) for number in range(len(codes)) if codes.iloc[number] == "")
        raise BoundaryFileError(f"No code in column {code_column!r} for feature {rows}. Every area needs its code.")
    names = frame[name_column].map(str) if name_column else codes
    layer_frame = frame[["geometry"]].assign(code=codes, name=names)[["code", "name", "geometry"]]
    if not layer_frame.geom_type.isin(POLYGONS).all():
        raise BoundaryFileError(f"The layer holds {_counted(layer_frame.geometry)}. A jurisdiction layer needs areas.")
    shapes = to_wgs84(layer_frame.geometry).make_valid(method="structure", keep_collapsed=False)
    return layer_frame.set_geometry(shapes)


def _chosen(frame: "GeoDataFrame", column: str, value: str, notes: list[str]) -> "GeoDataFrame":
    """The features whose attribute has a value."""
    columns = [name for name in frame.columns if name != frame.geometry.name]
    if column not in columns:
        raise BoundaryFileError(f"The file has no column {column!r}. Its columns: {', '.join(columns) or 'none'}.")
    said = frame[column].map(lambda cell: "" if cell is None or cell != cell else str(cell).strip())
    chosen = frame[said.str.casefold() == value.strip().casefold()]
    if chosen.empty:
        have = ", ".join(list(dict.fromkeys(said))[:_VALUES_SHOWN])
        raise BoundaryFileError(f"No feature has {value!r} in column {column!r}. It has: {have}.")
    notes.append(f"Taken: {amount_words(len(chosen), 'outlines')} of {len(frame)}, where {column} is {value.strip()}.")
    return chosen


def _polygons(shapes: "GeoSeries", notes: list[str]) -> "GeoSeries":
    """The polygons among the shapes, flat; whatever else there is gets a note."""
    shapes = shapes.force_2d().explode(ignore_index=True)
    areas = shapes[shapes.geom_type.isin(POLYGONS)].reset_index(drop=True)
    others = shapes[~shapes.geom_type.isin(POLYGONS)]
    if areas.empty:
        raise BoundaryFileError(
            f"The file holds {_counted(others)} and no polygon. A boundary must be drawn as a closed area. {_what_else(others)}".strip()
        )
    if len(others):
        notes.append(f"Left out: {_counted(others)}.")
    return areas


def _what_else(shapes: "GeoSeries") -> str:
    """What shapes that enclose no area can be used for."""
    kinds = set(shapes.geom_type)
    if kinds <= {"Point", "MultiPoint"}:
        return "Points can be the points of sites or blocks: send the file under Load a sheet, as sites or blocks."
    return "Close the line in the program that drew it, so that it becomes an area." if kinds & {"LineString", "MultiLineString"} else ""


def _counted(shapes: "GeoSeries") -> str:
    words = {"Point": "points", "MultiPoint": "points", "LineString": "lines", "MultiLineString": "lines", "LinearRing": "lines"}
    counts = Counter(words.get(kind, "other shapes") for kind in shapes.geom_type)
    return ", ".join(amount_words(count, unit) for unit, count in sorted(counts.items()))


def to_wgs84(shapes: "GeoSeries") -> "GeoSeries":
    """Shapes in longitude and latitude. Raises BoundaryFileError where their reference system cannot be right."""
    import numpy

    degrees = shapes if shapes.crs.equals("EPSG:4326", ignore_axis_order=True) else shapes.to_crs(4326)
    if not numpy.isfinite(degrees.get_coordinates().to_numpy()).all():
        raise BoundaryFileError(f"Some coordinates make no sense in {shapes.crs.to_string()}. Check the reference system.")
    west, south, east, north = degrees.total_bounds
    if max(abs(south), abs(north)) > 90 or max(abs(west), abs(east)) > 180:
        swapped = max(abs(west), abs(east)) <= 90 and max(abs(south), abs(north)) <= 180
        advice = "Longitude and latitude may be swapped." if swapped else "They look like metres: name the reference system they are in."
        raise BoundaryFileError(
            f"The coordinates are not longitude and latitude (x {west:g} to {east:g}, y {south:g} to {north:g}). {advice}"
        )
    return degrees


def _joined(polygons: "GeoSeries", notes: list[str]):
    import shapely

    broken = int((~polygons.is_valid).sum())
    if broken:
        reason = shapely.is_valid_reason(polygons[~polygons.is_valid].iloc[0]).split("[")[0].strip().lower()
        notes.append(f"{amount_words(broken, 'outlines')} repaired ({reason}): check the shape on the map.")
        try:
            polygons = polygons.map(lambda polygon: repaired(polygon)[0])
        except OutlineError as error:
            raise BoundaryFileError(f"The outline {error}.") from None
    outline = shapely.set_precision(polygons.union_all(), 10**-DECIMALS)
    parts = [part for part in shapely.get_parts(outline) if part.geom_type == "Polygon" and part.area > 0]
    if not parts:
        raise BoundaryFileError("The outline encloses no area. Draw it again as a closed area.")
    if len(polygons) > 1:
        notes.append(f"{len(polygons)} polygons joined into one boundary.")
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)
