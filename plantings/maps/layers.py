"""Sites as a map layer: what a marker says, and the layer as GeoJSON or GeoPackage for download.

The points come already limited to what the reader may see, and already blurred where they must be
(`plantings.calc.sites.geometry.generalise_point`); nothing here looks anything up.
"""

import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

COUNT_FIRST_BELOW = 10  # under ten trees the count leads, not the share
SHARE_STEPS = 5
EXACT_DECIMALS = 6
SHARE_DECIMALS = 4

DOWNLOAD_COLUMNS = (
    *("code", "name", "jurisdiction", "population", "planted", "countable", "alive", "n", "share", "low", "high", "band_low", "band_high"),
    *("text", "position_is_exact", "coordinate_uncertainty_m", "data_generalizations"),
)

FRACTION_COLUMNS = ("share", "low", "high", "band_low", "band_high", "coordinate_uncertainty_m")

NOT_GENERALISED = "Coordinates as recorded, not generalised."


@dataclass(frozen=True, slots=True)
class SitePoint:
    """One site on the map.

    `lon` and `lat` in degrees, both None for a site without a position; `exact` False when blurred, then
    `uncertainty_m` is the greatest distance to the true position and `data_generalizations` the published sentence.
    `planted`, `alive`, `n` are trees, or seeds where `population` is "sown"; n are those assessed, out of `countable` (None where
    that is all); `share`, `low`, `high` survival and its 95 %
    interval, `band_low`, `band_high` from all unaccounted dead to all alive, each 0-1 or None when not estimable.
    `text` is one more line for the popup; `detail_url` a path of Mastbook or an http(s) address.
    """

    code: str
    name: str
    lon: float | None
    lat: float | None
    exact: bool
    uncertainty_m: float | None
    jurisdiction: str
    planted: int
    alive: int
    n: int
    share: float | None
    low: float | None
    high: float | None
    band_low: float | None
    band_high: float | None
    population: str = "planted"
    countable: int | None = None
    text: str = ""
    detail_url: str | None = None
    data_generalizations: str = ""


class MapInputError(ValueError):
    """Points or boundaries that must not be drawn as they are; a fault of the calling code."""


def whole(point: SitePoint) -> int:
    """How many there are to assess."""
    return point.n if point.countable is None else point.countable


def marker_label(point: SitePoint) -> str:
    """What the marker prints: ".69", or "7/9" under ten trees, or "–" when no tree has been counted.

    Rounding never claims more than was seen: ".99" and not "1.0" while one tree is missing, ".01" and not ".00"
    while one lives.
    """
    if point.n <= 0 or point.share is None:
        return "–"
    if point.n < COUNT_FIRST_BELOW:
        return f"{point.alive}/{point.n}"
    hundredths = _hundredths(point.share)
    return "1.0" if hundredths == 100 else f".{hundredths:02d}"


def _hundredths(share: float) -> int:
    return min(max(round(share * 100), 1), 99) if 0 < share < 1 else round(share * 100)


def share_step(point: SitePoint) -> int | None:
    """Step 0 (fewest alive) to 4 of the colour ramp, by fifths of the printed share; None where the count leads."""
    if point.share is None or point.n < COUNT_FIRST_BELOW:
        return None
    return min(_hundredths(point.share) * SHARE_STEPS // 100, SHARE_STEPS - 1)


def generalisation_note(point: SitePoint) -> str:
    """The sentence for `dataGeneralizations`: the one that came with the point, or one made from its uncertainty."""
    if point.data_generalizations:
        return point.data_generalizations
    if point.lon is None:
        return "No position recorded."
    if point.exact:
        return NOT_GENERALISED
    return f"Coordinates generalised; the true position is within {point.uncertainty_m:.0f} m."


def check_points(points: Sequence[SitePoint]) -> None:
    """Refuse points whose note would be untrue: blurred without an uncertainty, or with half a position."""
    for point in points:
        if (point.lon is None) != (point.lat is None):
            raise MapInputError(f"Site {point.code} has half a position; give both numbers or neither.")
        if not point.exact and point.lon is not None and not point.uncertainty_m:
            raise MapInputError(f"Site {point.code} is generalised but does not say how far (uncertainty_m).")


def check_boundaries(points: Sequence[SitePoint], boundaries: Sequence[Mapping]) -> None:
    """Refuse the outline of a site whose position is blurred: the outline would give the place away."""
    blurred = {point.code for point in points if not point.exact}
    shown = sorted(blurred.intersection(boundary["code"] for boundary in boundaries))
    if shown:
        raise MapInputError(f"Boundary given for a site with a generalised position: {', '.join(shown)}.")


def site_layer(points: Sequence[SitePoint]) -> "GeoDataFrame":
    """One row per site, WGS 84; empty geometry for a site without a position."""
    import geopandas
    import shapely

    check_points(points)
    shapes = [None if p.lon is None else shapely.Point(*position(p)) for p in points]
    rows = [_download_row(point) for point in points]
    frame = geopandas.GeoDataFrame(rows, columns=list(DOWNLOAD_COLUMNS), geometry=shapes, crs=4326)
    # A column of nothing but None would otherwise be written as text.
    return frame.astype(dict.fromkeys(FRACTION_COLUMNS, "float64"))


def position(point: SitePoint) -> tuple[float, float]:
    return round(point.lon, EXACT_DECIMALS), round(point.lat, EXACT_DECIMALS)


def _download_row(point: SitePoint) -> tuple:
    shares = (point.share, point.low, point.high, point.band_low, point.band_high)
    return (
        *(point.code, point.name, point.jurisdiction, point.population, point.planted, whole(point), point.alive, point.n),
        *(rounded(share) for share in shares),
        *(point.text, point.exact, point.uncertainty_m, generalisation_note(point)),
    )


def rounded(share: float | None) -> float | None:
    return None if share is None else round(share, SHARE_DECIMALS)


def to_geojson_bytes(frame: "GeoDataFrame") -> bytes:
    """The layer as GeoJSON (RFC 7946): WGS 84, no "crs" member, null for what is not known, UTF-8."""
    document = json.loads(frame.to_json(drop_id=True, na="null", to_wgs84=True))
    return json.dumps(document, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def to_geopackage_bytes(frame: "GeoDataFrame") -> bytes:
    """The layer as a GeoPackage with one layer, `sites`."""
    import pyogrio

    handle = io.BytesIO()
    pyogrio.write_dataframe(frame, handle, driver="GPKG", layer="sites", geometry_type="Point")
    return handle.getvalue()
