"""One shape as the boundary of a site: checked, repaired where that is safe, and written as GeoJSON in WGS 84."""

import json
from collections.abc import Sequence
from dataclasses import dataclass

from plantings.calc.sites.geometry import geodesic_distance_m, measure_polygon

__all__ = [
    "CORNERS_MAX",
    "DECIMALS",
    "Outline",
    "OutlineError",
    "as_geojson",
    "distance_m",
    "distances_m",
    "is_same_outline",
    "outline_from_text",
    "repaired",
]

DECIMALS = 7  # about a centimetre on the ground
CORNERS_MAX = 20_000
# Repairing a ring takes time by its crossings: one of 501 corners where every side crosses every other takes 12 s.
_REPAIRED_CORNERS_MAX, _REPAIRED_CROSSINGS_MAX, _NEAR_MAX = 2_000, 100, 20
_NO_AREA = (
    "encloses no area, so it cannot be a boundary. Close a line in the program that drew it; longitude and latitude of a point can be "
    "those of a site, a block or a tree"
)


class OutlineError(ValueError):
    """A shape that cannot be a boundary; the message is the end of a sentence that begins with the shape."""


@dataclass(frozen=True, slots=True)
class Outline:
    """A boundary: a GeoJSON Polygon or MultiPolygon (WGS 84, 7 decimals), its geodesic area in m², and what was done to it."""

    geojson: dict
    area_m2: float
    notes: tuple[str, ...] = ()


def outline_from_text(text: str) -> Outline:
    """The boundary that a GeoJSON geometry in longitude and latitude says.

    Raises
    ------
    OutlineError
        For anything that is no area, has too many corners, or crosses itself more often than is repaired.
    """
    import numpy
    import shapely
    from shapely.errors import ShapelyError
    from shapely.geometry import shape

    if not text.startswith("{"):
        raise OutlineError(_too_large() if text.startswith("area") else _NO_AREA)
    try:
        said = json.loads(text)
    except (ValueError, RecursionError):
        raise OutlineError("is not GeoJSON. Copy the whole text of the shape, or load the map file itself") from None
    if said.get("type") not in ("Polygon", "MultiPolygon"):
        raise OutlineError(_NO_AREA)
    try:
        area = shapely.force_2d(shape(said))
    except (ValueError, TypeError, LookupError, AttributeError, OverflowError, ShapelyError):
        raise OutlineError("has a ring that cannot be drawn: it needs three corners and ends where it begins") from None
    if shapely.get_num_coordinates(area) > CORNERS_MAX:
        raise OutlineError(_too_large())
    corners = shapely.get_coordinates(area)
    if not numpy.isfinite(corners).all() or (abs(corners) > (180, 90)).any():
        raise OutlineError("is not in longitude and latitude")
    return _outline(area)


def _too_large() -> str:
    return f"has more than {CORNERS_MAX:,} corners. Simplify it in the program that drew it: a corner every few metres is enough"


def _outline(area) -> Outline:
    import shapely

    area, notes = repaired(area)
    rounded = shapely.set_precision(area, 10**-DECIMALS)
    parts = [part for part in shapely.get_parts(rounded) if part.geom_type == "Polygon" and part.area > 0]
    if not parts:
        raise OutlineError("encloses no area. Draw it again as a closed area")
    geojson = as_geojson(parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts))
    return Outline(geojson, measure_polygon(geojson).area_m2, notes)


def as_geojson(area) -> dict:
    """A polygon as RFC 7946 wants it: outer rings counter-clockwise, with 7 decimals. The same area always gives the same text."""
    import shapely

    oriented = shapely.orient_polygons(shapely.normalize(area), exterior_cw=False)
    return json.loads(shapely.to_geojson(oriented), parse_float=lambda text: round(float(text), DECIMALS))


def repaired(area):
    """(valid shape, notes on what was done). Raises OutlineError for one that crosses itself too often to repair it in a moment."""
    import shapely

    if area.is_valid:
        return area, ()
    reason = shapely.is_valid_reason(area).split("[")[0].strip().lower()
    if shapely.get_num_coordinates(area) > _REPAIRED_CORNERS_MAX or _crossings(area) > _REPAIRED_CROSSINGS_MAX:
        raise OutlineError(f"is drawn wrong ({reason}) in too many places to repair it here. Repair it in the program that drew it")
    return shapely.make_valid(area, method="structure", keep_collapsed=False), (f"repaired ({reason}): check the shape on the map",)


def _crossings(area) -> int:
    """How many pairs of sides cross each other, or may do so where they are too many to look at each."""
    import numpy
    import shapely

    rings = shapely.get_rings(shapely.get_parts(area))
    lines = [shapely.get_coordinates(ring) for ring in rings]
    sides = shapely.linestrings(numpy.concatenate([numpy.stack([line[:-1], line[1:]], axis=1) for line in lines]))
    tree = shapely.STRtree(sides)
    near = len(tree.query(sides)[0])  # quick, and each side is near itself and its neighbours anyway
    return near if near > max(_NEAR_MAX * len(sides), 10_000) else len(tree.query(sides, predicate="crosses")[0]) // 2


def is_same_outline(one: dict | None, other: dict | None) -> bool:
    """Whether two boundaries enclose the same: wherever their rings begin, within the last decimal."""
    import shapely
    from shapely.geometry import shape

    if one == other or one is None or other is None:
        return one == other
    shapes = [shapely.normalize(shapely.orient_polygons(shape(geojson))) for geojson in (one, other)]
    return bool(shapely.equals_exact(*shapes, tolerance=1.5 * 10**-DECIMALS))


def distance_m(geojson: dict, point: tuple[float, float]) -> float:
    """Metres from a boundary to a (longitude, latitude), 0 inside it: geodesic, from the corner or side that is nearest in degrees."""
    return distances_m(geojson, [point])[0]


def distances_m(geojson: dict, points: Sequence[tuple[float, float]]) -> list[float]:
    """`distance_m` of many points."""
    import shapely
    from shapely.geometry import shape

    outline = shape(geojson)
    shapely.prepare(outline)
    places = shapely.points(points)
    inside = shapely.intersects(outline, places)
    distances = [0.0] * len(points)
    for number in (~inside).nonzero()[0].tolist():
        nearest = shapely.get_coordinates(shapely.shortest_line(outline, places[number]))[0]
        distances[number] = geodesic_distance_m(*nearest.tolist(), *points[number])
    return distances
