"""Positions on the ground: checking them, measuring them, and how far a public position is blurred.

All positions are WGS 84 longitude and latitude in decimal degrees, in that order (RFC 7946). Lengths and areas
are geodesic, on the WGS 84 ellipsoid: planar areas in a projection such as UTM carry its scale factor squared
and are not plot areas.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

Extent = tuple[float, float, float, float]

DEFAULT_GRID_DEGREES = 0.1


class CoordinateError(ValueError):
    """A position that cannot be right.

    `kind` is one of "not_a_number", "zero", "out_of_range", "swapped", "sign", "outside_extent", so that a caller
    may treat the last one as a warning.
    """

    def __init__(self, kind: str, message: str):
        super().__init__(message)
        self.kind = kind


class GeneralisedPoint(NamedTuple):
    """A blurred position: degrees, the greatest distance to the true position in metres, and the note to publish."""

    lon: float
    lat: float
    uncertainty_m: int
    statement: str


@dataclass(frozen=True, slots=True)
class PolygonMeasure:
    """Area without the holes in m², and the length of all rings, outer and inner, in m."""

    area_m2: float
    perimeter_m: float


@cache
def _wgs84():
    from pyproj import Geod

    return Geod(ellps="WGS84")


def check_lon_lat(lon: float, lat: float, extent: Extent | None = None) -> None:
    """Refuse a position that cannot be right, and say what is probably wrong with it.

    Parameters
    ----------
    lon, lat : float
        Longitude -180 to 180 and latitude -90 to 90, decimal degrees, WGS 84.
    extent : (west, south, east, north) or None
        Degrees, where the programme works; west > east crosses 180°.

    Raises
    ------
    CoordinateError
        When they are not finite numbers, are exactly 0, 0, are out of range, or lie outside `extent`. Where exchanging the two numbers
        or restoring a minus sign would put the point inside the extent, the message says so.

    Notes
    -----
    The hint is a guess for a person to confirm. Nothing is corrected here.

    Source
    ------
    Common practice, no source. A lost minus sign put American trees into central Asia in a published data set, and 0, 0 is what empty
    cells become.

    Examples
    --------
    >>> check_lon_lat(-77.8678, 40.7935, extent=(-93.0, 34.0, -66.0, 48.0))
    >>> try:
    ...     check_lon_lat(77.8678, 40.7935, extent=(-93.0, 34.0, -66.0, 48.0))
    ... except CoordinateError as error:
    ...     error.kind
    'sign'
    """
    _check_range(lon, lat)
    if extent is None or _inside(lon, lat, extent):
        return
    where = f"Longitude {_degrees(lon)}, latitude {_degrees(lat)} is outside the programme's area"
    if _inside(lat, lon, extent):
        raise CoordinateError("swapped", f"{where}. Longitude and latitude look swapped: is it {lat:g}, {lon:g}?")
    for sign_lon, sign_lat in ((-1, 1), (1, -1), (-1, -1)):
        fixed_lon, fixed_lat = sign_lon * lon, sign_lat * lat
        if _inside(fixed_lon, fixed_lat, extent):
            fixed = f"longitude {_degrees(fixed_lon)}, latitude {_degrees(fixed_lat)}"
            raise CoordinateError("sign", f"{where}. A minus sign may be lost or added: is it {fixed}?")
    raise CoordinateError("outside_extent", f"{where}. Check both numbers, or widen the programme's area.")


def _check_range(lon: float, lat: float) -> None:
    for name, value in (("Longitude", lon), ("Latitude", lat)):
        if not isinstance(value, (int, float)) or isinstance(value, bool) or not math.isfinite(value):
            raise CoordinateError("not_a_number", f"{name} {value!r} is not a number. Give decimal degrees.")
    if lon == 0 and lat == 0:
        raise CoordinateError("zero", "Longitude 0, latitude 0 is in the sea off Africa: an empty position. Give both.")
    if abs(lat) > 90:
        hint = (
            f" Longitude and latitude may be swapped: check longitude {_degrees(lon)}, latitude {_degrees(lat)}."
            if abs(lat) <= 180 and abs(lon) <= 90
            else " Give decimal degrees, not metres and not degrees with minutes."
        )
        raise CoordinateError("out_of_range", f"Latitude {_degrees(lat)} is beyond 90 degrees.{hint}")
    if abs(lon) > 180:
        raise CoordinateError(
            "out_of_range",
            f"Longitude {_degrees(lon)} is beyond 180 degrees. Give decimal degrees, not metres and not degrees with minutes.",
        )


def _degrees(value: float) -> str:
    return f"{value:.7f}".rstrip("0").rstrip(".")


def _inside(lon: float, lat: float, extent: Extent) -> bool:
    west, south, east, north = extent
    within = west <= lon <= east if west <= east else lon >= west or lon <= east
    return within and south <= lat <= north


def geodesic_inverse(lon1: float, lat1: float, lon2: float, lat2: float) -> tuple[float, float]:
    """Distance, and azimuth at the first point, of the shortest line between two points.

    Parameters
    ----------
    lon1, lat1, lon2, lat2 : float
        Decimal degrees, WGS 84.

    Returns
    -------
    (float, float)
        Metres; degrees clockwise from north, -180 to 180. The azimuth of two coincident points is not defined; PROJ gives 180.

    Raises
    ------
    CoordinateError
        When a position is not a number or out of range.

    Source
    ------
    Karney 2013, Algorithms for geodesics, J. Geod. 87:43-55, as implemented in PROJ; good to nanometres and for nearly antipodal points,
    where the spherical formula is 0.3 % off and Vincenty's fails.

    Examples
    --------
    >>> round(geodesic_inverse(-73.8, 40.6, -0.5, 51.6)[0], 1)
    5551759.4
    """
    for lon, lat in ((lon1, lat1), (lon2, lat2)):
        if (lon, lat) != (0, 0):
            _check_range(lon, lat)
    azimuth, _, distance = _wgs84().inv(lon1, lat1, lon2, lat2)
    return distance, azimuth


def geodesic_distance_m(lon1: float, lat1: float, lon2: float, lat2: float) -> float:
    """Length of the shortest line on the ellipsoid.

    Parameters, Raises, Source
    --------------------------
    As `geodesic_inverse`.

    Returns
    -------
    float, metres
    """
    return geodesic_inverse(lon1, lat1, lon2, lat2)[0]


def measure_polygon(geojson: dict) -> PolygonMeasure:
    """Geodesic area and perimeter of a GeoJSON Polygon or MultiPolygon.

    Parameters
    ----------
    geojson : dict
        Geometry object with "type" and "coordinates" in degrees; rings closed, at least four positions. A third number (height) is
        ignored. Rings may run either way (RFC 7946 section 3.1.6: do not reject).

    Returns
    -------
    PolygonMeasure
        m² and m. Holes are subtracted from the area; their edges count in the perimeter.

    Raises
    ------
    ValueError
        When it is another geometry type, has no rings, or a ring is open or too short.
    CoordinateError
        When a position is not a number or out of range.

    Notes
    -----
    Edges are geodesics. Rings that cross themselves, and parts that overlap, are not looked for: clean the shape first
    (`plantings.maps.boundary_files` does). Each ring is taken to enclose the smaller side.

    Source
    ------
    Karney 2013, J. Geod. 87:43-55, section 6, as implemented in PROJ.
    """
    kind, coordinates = geojson.get("type"), geojson.get("coordinates")
    if kind not in ("Polygon", "MultiPolygon"):
        raise ValueError(f"An area needs a Polygon or MultiPolygon, not {kind}.")
    parts = [coordinates] if kind == "Polygon" else coordinates
    if not parts or not all(parts):
        raise ValueError(f"The {kind} has no ring.")
    area_m2 = perimeter_m = 0.0
    for part in parts:
        for number, ring in enumerate(part):
            ring_area, ring_length = _ring_measure(ring)
            area_m2 += -ring_area if number else ring_area
            perimeter_m += ring_length
    return PolygonMeasure(area_m2, perimeter_m)


def _ring_measure(ring: Sequence[Sequence[float]]) -> tuple[float, float]:
    if len(ring) < 4 or list(ring[0][:2]) != list(ring[-1][:2]):
        raise ValueError("A ring needs at least four positions, and its last position equal to its first.")
    lons, lats = [position[0] for position in ring], [position[1] for position in ring]
    for lon, lat in zip(lons, lats, strict=False):
        if (lon, lat) != (0, 0):
            _check_range(lon, lat)
    area, length = _wgs84().polygon_area_perimeter(lons[:-1], lats[:-1])
    return abs(area), length


def generalise_point(lon: float, lat: float, grid_degrees: float = DEFAULT_GRID_DEGREES) -> GeneralisedPoint:
    """Blur a position to the centre of its grid cell.

    Parameters
    ----------
    lon, lat : float
        The exact position, decimal degrees.
    grid_degrees : float
        Side of a cell; it must divide 180 evenly. The published categories are 0.1, 0.01 and 0.001.

    Returns
    -------
    GeneralisedPoint
        Centre of the cell; distance from it to the farthest corner of the cell, rounded up to a metre; and the sentence for Darwin
        Core `dataGeneralizations`.

    Raises
    ------
    CoordinateError
        When it is not a position.
    ValueError
        When the grid does not divide 180 degrees.

    Notes
    -----
    The same position always gives the same cell, so nobody can average many answers to find the place, as they could with random
    shifts. A site's name, boundary or access notes can still give it away: hide those too.

    Source
    ------
    Chapman 2020, Current Best Practices for Generalizing Sensitive Species Occurrence Data, GBIF Secretariat,
    doi 10.15468/doc-5jp4-5g10 (grid cells of 0.1, 0.01 or 0.001 degrees, and say what was done).

    Examples
    --------
    >>> generalise_point(-77.8678, 40.7935)[:3]
    (-77.85, 40.75, 6977)
    """
    _check_range(lon, lat)
    if not 0 < grid_degrees <= 10 or abs(180 / grid_degrees - round(180 / grid_degrees)) > 1e-6:
        raise ValueError(f"A grid of {grid_degrees} degrees does not divide 180 degrees evenly. Use 0.1, 0.01 or 0.001.")
    centre_lon = _cell_centre(-180.0 if lon == 180 else lon, grid_degrees)
    centre_lat = _cell_centre(min(lat, 90 - grid_degrees / 2), grid_degrees)
    half = grid_degrees / 2
    uncertainty_m = math.ceil(
        max(geodesic_distance_m(centre_lon, centre_lat, centre_lon + half, centre_lat + side) for side in (-half, half))
    )
    statement = (
        f"Coordinates generalised to the centre of a {grid_degrees:g} by {grid_degrees:g} degree grid cell; "
        f"the true position is within {_rounded_up(uncertainty_m)} of it. The programme holds the exact coordinates."
    )
    return GeneralisedPoint(centre_lon, centre_lat, uncertainty_m, statement)


def _cell_centre(degrees: float, grid_degrees: float) -> float:
    # 0.3 / 0.1 is slightly under 3 in binary; rounding leaves a position on a grid line in its own cell.
    cell = math.floor(round(degrees / grid_degrees, 9))
    return round((cell + 0.5) * grid_degrees, 9)


def _rounded_up(metres: int) -> str:
    return f"{metres} m" if metres < 1000 else f"{math.ceil(metres / 100) / 10:g} km"
