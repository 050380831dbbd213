"""Which state, province or country a position lies in, found from boundary layers.

The shipped layers are generalised (positions along a line are good to a few hundred metres; see
`plantings/boundaries/SOURCE.md`), so a position within 2 km of another jurisdiction carries a flag: a person
must check on which side of the line the site lies before any rule is read for it.
"""

import csv
import gzip
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from plantings.maps.antimeridian import cut_at_antimeridian

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

BOUNDARIES = Path(__file__).resolve().parent.parent / "boundaries"

NEAR_M = 2000.0
METRES_PER_DEGREE = 111_320.0  # along the equator, WGS 84; only used to look around a point for 2 km

SUBDIVISION, COUNTRY = "subdivision", "country"

INSIDE = "inside"
NEAREST = "nearest within 2 km"
COUNTRY_ONLY = "country only"
NOT_COVERED = "no boundary layer covers this point"

# Outlying areas of the United States carry a country code of their own beside their code as a subdivision.
ALSO_A_COUNTRY = {"US-AS": "AS", "US-GU": "GU", "US-MP": "MP", "US-PR": "PR", "US-VI": "VI"}


@dataclass(frozen=True, slots=True)
class JurisdictionLayer:
    """Areas to look in: `frame` has the columns code (text or None), name and geometry, WGS 84."""

    name: str
    level: str
    frame: "GeoDataFrame"


@dataclass(frozen=True, slots=True)
class Jurisdiction:
    """Answer for one point.

    `code` is None where no layer covers the point, or where the area has no ISO code (then `name` says which).
    `basis` is one of INSIDE, NEAREST, COUNTRY_ONLY, NOT_COVERED; `distance_m` is 0 inside. `nearby` names the other
    jurisdictions within 2 km; when it is not empty, or the basis is not INSIDE, a person should confirm.
    """

    code: str | None
    name: str
    layer: str
    basis: str
    distance_m: float = 0.0
    nearby: tuple[str, ...] = ()

    @property
    def note(self) -> str:
        """One sentence for the site page; empty when there is nothing to check."""
        if self.basis == NOT_COVERED:
            return "No boundary layer covers this point. Check the coordinates, or choose the jurisdiction by hand."
        sentences = []
        if self.basis == NEAREST:
            sentences.append(f"The point is {self.distance_m:.0f} m outside the drawn line of {self.name}.")
        if self.basis == COUNTRY_ONLY:
            sentences.append("No layer of states or provinces covers this point; only the country is known.")
        if self.nearby:
            sentences.append(f"Within 2 km of {', '.join(self.nearby)}: check on which side of the line it is.")
        return " ".join(sentences)


class AreaNear(NamedTuple):
    """An area that holds a point (0 m) or lies within `NEAR_M` of it."""

    level: str
    layer: str
    code: str | None
    name: str
    distance_m: float

    @property
    def label(self) -> str:
        return self.code or self.name


def find_jurisdictions(points: Sequence[tuple[float, float]], layers: Sequence[JurisdictionLayer]) -> list[Jurisdiction]:
    """Jurisdiction of each point, in the order given.

    Parameters
    ----------
    points : (longitude, latitude) pairs, degrees, WGS 84, already checked (`calc.geometry.check_lon_lat`).
    layers : where several cover a point at the same level, the first layer given wins.

    Returns
    -------
    list of Jurisdiction, as long as `points`. A subdivision that holds the point comes first; then the nearest
    subdivision within 2 km if no other country holds the point (points on a shore); then the country; then the
    nearest country within 2 km; then NOT_COVERED.
    """
    if not points:
        return []
    candidates = areas_near(points, layers)
    return [_decide(candidates.get(number, [])) for number in range(len(points))]


def areas_near(points: Sequence[tuple[float, float]], layers: Sequence[JurisdictionLayer]) -> dict[int, list[AreaNear]]:
    """Every area within 2 km of every point, by one spatial join of the layers with a circle around each point.

    Parameters
    ----------
    points, layers
        As of `find_jurisdictions`.

    Returns
    -------
    {place in `points`: its areas, the nearest first}; a point near none is absent.
    """
    import geopandas
    import pandas

    if not layers:
        return {}
    areas = pandas.concat([_single_parts(layer, number) for number, layer in enumerate(layers)], ignore_index=True)
    circles = geopandas.GeoDataFrame(geometry=[_circle(lon, lat) for lon, lat in points], crs=4326)
    # The areas are on the left so that each large outline is prepared once for all points.
    pairs = geopandas.sjoin(areas, circles, predicate="intersects")
    if pairs.empty:
        return {}
    pairs["distance_m"] = _distances_m(pairs, points)
    pairs = pairs[pairs["distance_m"] <= NEAR_M].sort_values(["distance_m", "order", "name"])
    pairs = pairs.drop_duplicates(["index_right", "order", "code", "name"])
    found: dict[int, list[AreaNear]] = {}
    for row in pairs.itertuples():
        candidate = AreaNear(row.level, row.layer, row.code, row.name, row.distance_m)
        found.setdefault(row.index_right, []).append(candidate)
    return found


def _single_parts(layer: JurisdictionLayer, order: int) -> "GeoDataFrame":
    parts = layer.frame[["code", "name", "geometry"]].explode(ignore_index=True)
    parts["code"] = parts["code"].astype(object).where(parts["code"].notna(), None)
    return parts.assign(layer=layer.name, level=layer.level, order=order)


def _scale(lat: float) -> float:
    # Beyond 89 degrees a circle of 2 km no longer fits a box in degrees; no trees are planted there.
    return math.cos(math.radians(min(abs(lat), 89.0)))


def _circle(lon: float, lat: float):
    from shapely import Point, affinity

    # Slightly wide, because a polygon of 32 corners cuts inside its circle; the distance decides afterwards.
    circle = Point(0, 0).buffer(1.01 * NEAR_M / METRES_PER_DEGREE)
    return affinity.translate(affinity.scale(circle, 1 / _scale(lat), 1), lon, lat)


def _distances_m(pairs: "GeoDataFrame", points) -> list[float]:
    """Distance of each point to its area in m, 0 inside."""
    import shapely

    numbers = pairs["index_right"].to_numpy()
    positions = shapely.points([points[number] for number in numbers])
    outlines = pairs.geometry.to_numpy()
    shapely.prepare(outlines)
    holds = shapely.intersects(outlines, positions)
    return [
        0.0 if inside else _distance_m(outline, *points[number]) for outline, number, inside in zip(outlines, numbers, holds, strict=False)
    ]


def _distance_m(outline, lon: float, lat: float) -> float:
    """Distance over flat ground, which over 2 km is right to a few metres (the ellipsoid's radius varies by 0.6 %)."""
    import shapely

    reach = 1.1 * NEAR_M / METRES_PER_DEGREE
    across = reach / _scale(lat)
    near = shapely.clip_by_rect(outline, lon - across, lat - reach, lon + across, lat + reach)
    flat = shapely.transform(near, lambda c: (c - (lon, lat)) * (METRES_PER_DEGREE * _scale(lat), METRES_PER_DEGREE))
    distance = shapely.distance(flat, shapely.Point(0, 0))
    return math.inf if math.isnan(distance) else float(distance)


def _decide(candidates: list[AreaNear]) -> Jurisdiction:
    """Candidates come nearest first, and in layer order where equally near."""
    subdivisions = [c for c in candidates if c.level == SUBDIVISION]
    countries = [c for c in candidates if c.level == COUNTRY]
    state = subdivisions[0] if subdivisions else None
    country = countries[0] if countries else None
    if state and state.distance_m == 0:
        return _answer(state, INSIDE, candidates)
    abroad = country and country.distance_m == 0 and state and not _belongs(state, country)
    if state and not abroad:
        return _answer(state, NEAREST, candidates)
    if country:
        return _answer(country, COUNTRY_ONLY if country.distance_m == 0 else NEAREST, candidates)
    return Jurisdiction(None, "", "", NOT_COVERED)


def _answer(chosen: AreaNear, basis: str, candidates: list[AreaNear]) -> Jurisdiction:
    others = [c for c in candidates if c.label != chosen.label and not _belongs(chosen, c) and not _belongs(c, chosen)]
    nearby = tuple(dict.fromkeys(c.label for c in others))
    # A neighbouring foreign state implies its country: "Within 2 km of US-ME, US" says nothing more.
    nearby = tuple(label for label in nearby if not any(other.startswith(f"{label}-") for other in nearby))
    return Jurisdiction(chosen.code, chosen.name, chosen.layer, basis, round(chosen.distance_m, 1), nearby)


def _belongs(part: AreaNear, whole: AreaNear) -> bool:
    if not part.code or not whole.code or part.level == whole.level:
        return False
    return part.code.split("-")[0] == whole.code or ALSO_A_COUNTRY.get(part.code) == whole.code


@cache
def shipped_layers() -> tuple[JurisdictionLayer, ...]:
    """US states (ISO 3166-2) and the countries of the world (ISO 3166-1), as shipped; read once per process."""
    codes: dict[str, dict[str, str]] = {}
    with (BOUNDARIES / "codes.csv").open(encoding="utf-8", newline="") as handle:
        for row in csv.DictReader(handle):
            codes.setdefault(row["layer"], {})[row["source_name"]] = row["code"]
    return (
        JurisdictionLayer("US states", SUBDIVISION, _shipped("us-states-10m.json.gz", "states", codes["us-states"])),
        JurisdictionLayer("Countries", COUNTRY, _shipped("countries-10m.json.gz", "countries", codes["countries"])),
    )


def _shipped(filename: str, topology: str, codes: dict[str, str]) -> "GeoDataFrame":
    frame = read_shipped(filename, topology)
    frame["code"] = [codes[name] or None for name in frame["name"]]
    return whole_parts(frame)


def read_shipped(filename: str, topology: str) -> "GeoDataFrame":
    """The areas of a file of this package, as the source has them."""
    import geopandas

    # Unpacked here, because GDAL's own gzip reader writes a side file into this folder.
    content = io.BytesIO(gzip.decompress((BOUNDARIES / filename).read_bytes()))
    # The source declares no reference system; its documentation says longitude and latitude.
    return geopandas.read_file(content, layer=topology).set_crs(4326)


def whole_parts(frame: "GeoDataFrame") -> "GeoDataFrame":
    """The single polygons of areas (code, name, geometry), cut at 180° and valid."""
    parts = frame[["code", "name", "geometry"]].explode(ignore_index=True)
    parts["geometry"] = [cut_at_antimeridian(polygon) for polygon in parts.geometry]
    # Repairing single parts takes a tenth of a second; repairing whole countries takes three.
    broken = ~parts.geometry.is_valid
    parts.loc[broken, "geometry"] = parts.geometry[broken].make_valid(method="structure", keep_collapsed=False)
    return parts[parts.geometry.geom_type.isin(["Polygon", "MultiPolygon"])].reset_index(drop=True)
