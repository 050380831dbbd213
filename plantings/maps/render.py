"""The site map as one HTML document: composed by folium, drawn by `static/plantings/map/site-map.js` from `site-parts.js`.

Scripts and styles come by link, each with the nonce; nothing comes from another host. `stand_alone` makes the same map
as one file that needs nothing beside it.
"""

import html
import json
import re
import secrets
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from urllib.parse import urlsplit

from plantings.maps.document import drawn_layer_class, legend_class, page_class, site_map_class
from plantings.maps.layers import (
    MapInputError,
    SitePoint,
    check_boundaries,
    check_points,
    generalisation_note,
    marker_label,
    position,
    rounded,
    share_step,
    whole,
)
from plantings.maps.words import MAP_WORDS

LEAFLET = "vendor/leaflet-1.9.4"
MAP_FOLDER = "plantings/map"
SCRIPTS = {"leaflet": f"{LEAFLET}/leaflet.js", "site_parts": f"{MAP_FOLDER}/site-parts.js", "site_map": f"{MAP_FOLDER}/site-map.js"}
STYLES = {"leaflet": f"{LEAFLET}/leaflet.css", "site_map": f"{MAP_FOLDER}/site-map.css"}
BASE_SCRIPT = f"{MAP_FOLDER}/base-layer.js"

SHIPPED_BASE = "shipped"
BASE_CREDIT = "Lines: US Census Bureau, Natural Earth"
WHOLE_WORLD = [[-55.0, -140.0], [70.0, 150.0]]
CLOSEST_FIRST_VIEW = 7  # a single site is first shown with the states around it

StaticUrl = str | Callable[[str], str]
FeatureCollection = Mapping


def map_html(
    points: Sequence[SitePoint],
    *,
    boundaries: Sequence[Mapping] = (),
    base: str | FeatureCollection | None = SHIPPED_BASE,
    nonce: str,
    static_url: StaticUrl,
    title: str,
    caption: str = "Survival by site",
    tiles_url: str | None = None,
    tiles_attribution: str = "",
    words: Mapping[str, str] = MAP_WORDS,
) -> str:
    """The map as an HTML document for its own, sandboxed address.

    Parameters
    ----------
    points : sites, already limited to what the reader may see and blurred where they must be.
    boundaries : mappings with code, name and geojson (Polygon or MultiPolygon), of sites with exact positions only.
    base : SHIPPED_BASE draws the shipped states and countries from a static script the browser keeps; a GeoJSON
        FeatureCollection is drawn instead of it (properties: level, "country" or "subdivision"; label; at, [lon, lat]
        of the label; from, the zoom at which it appears); None draws no lines.
    nonce : the nonce of the answer's Content-Security-Policy, set on every script, style and style-sheet link.
    static_url : prefix ("/static/") or function that makes the address of a static file from its path.
    title, caption : title of the document; heading of the legend (say which age or date the figures are of).
    tiles_url, tiles_attribution : a tile address an administrator switched on, and the credit its maker asks for.
        This is the only way another host comes into the document; the policy must then admit it as an image source.

    words : every word the document and its script write, as in `MAP_WORDS`.

    Raises
    ------
    MapInputError : a blurred point without an uncertainty, half a position, the boundary of a blurred site, a link
        that is neither a path nor http(s), tiles without a credit.
    """
    scripts = SCRIPTS | ({"base": BASE_SCRIPT} if base == SHIPPED_BASE else {})
    links = (_addresses(scripts, static_url, "script"), _addresses(STYLES, static_url, "style"))
    document = compose(points, boundaries, base, title, caption, links=links, tiles=(tiles_url, tiles_attribution), words=words)
    attribute = f'nonce="{html.escape(nonce)}"'
    # Texts are escaped by now, so that these three can only be tags of the document itself.
    return re.sub(r"<(script|style|link)\b", lambda tag: f"{tag.group(0)} {attribute}", document)


def _addresses(files: Mapping[str, str], static_url: StaticUrl, kind: str) -> list[tuple[str, str]]:
    make = static_url if callable(static_url) else (lambda path: f"{static_url.rstrip('/')}/{path}")
    return [(f"{name}_{kind}", html.escape(make(path))) for name, path in files.items()]


def compose(points, boundaries, base, title, caption, *, links=((), ()), tiles=(None, ""), page=("", "", ""), words=MAP_WORDS) -> str:
    """The document without nonces. `links`: (name, address) of scripts and of styles; `page`: HTML for the head,
    above the map and below it, already escaped."""
    import folium

    check_points(points)
    check_boundaries(points, boundaries)
    site_map = site_map_class()(*links, credit=BASE_CREDIT)
    site_map.add_to(page_class()(html.escape(title), *page, words, script_json(dict(words))))
    held = _HeldBack()
    tiles_url, credit = tiles
    if tiles_url:
        if not credit:
            raise MapInputError("Tiles need the credit their maker asks for (tiles_attribution).")
        folium.TileLayer(tiles_url, attr=html.escape(credit), name="Map tiles", control=False).add_to(site_map)
    for call, name, data, further in _layers(points, boundaries, base, bool(tiles_url), words):
        drawn_layer_class()(call, name, held.back(data), further).add_to(site_map)
    folium.FitBounds(_first_view(points, boundaries), padding=(40, 40), max_zoom=CLOSEST_FIRST_VIEW).add_to(site_map)
    legend_class()(held.back(script_json(_about(points, caption)))).add_to(site_map)
    if boundaries:
        control = folium.LayerControl(position="bottomright")
        control._id = "document"
        control.add_to(site_map)
    return held.put_in(site_map.get_root().render())


class _HeldBack:
    """Data that is put into the document once it is made: folium reads what its elements give as templates again, so that braces in the
    name of a site would be carried out, and two megabytes take it a tenth of a second."""

    def __init__(self):
        self._word, self._data = f"data{secrets.token_hex(16)}", []

    def back(self, data: str) -> str:
        """A word in place of data, which no text of a document can know."""
        self._data.append(data)
        return f"{self._word}_{len(self._data) - 1}_"

    def put_in(self, document: str) -> str:
        return re.sub(f"{self._word}_([0-9]+)_", lambda place: self._data[int(place[1])], document)


def _layers(points, boundaries, base, over_tiles: bool, words: Mapping[str, str]):
    """(function of site-map.js, name, data as JavaScript, further arguments), from the bottom up."""
    if base is not None:
        data = "window.mastbookBase" if base == SHIPPED_BASE else script_json(base)
        yield "baseLayer", words["lines"], data, ", true" if over_tiles else ""
    if boundaries:
        yield "boundaryLayer", words["boundaries"], script_json(_collection(map(_boundary_feature, boundaries))), ""
    located = [point for point in points if point.lon is not None]
    yield "siteLayer", words["siteLayer"], f'{{"type":"FeatureCollection","features":[{",".join(map(_site_json, located))}]}}', ""


@lru_cache(maxsize=10_000)
def _site_json(point: SitePoint) -> str:
    """Its feature as JavaScript, made again only where something of the point changed."""
    return script_json(site_feature(point))


def _collection(features) -> dict:
    return {"type": "FeatureCollection", "features": list(features)}


def _boundary_feature(boundary: Mapping) -> dict:
    about = {"code": boundary["code"], "name": boundary["name"]}
    return {"type": "Feature", "properties": about, "geometry": boundary["geojson"]}


def site_feature(point: SitePoint) -> dict:
    """What the map needs to know of one site, as a GeoJSON feature."""
    properties = {
        "code": point.code,
        "name": point.name,
        "jurisdiction": point.jurisdiction,
        "text": point.text,
        "planted": point.planted,
        "alive": point.alive,
        "n": point.n,
        "countable": whole(point),
        "share": rounded(point.share),
        "low": rounded(point.low),
        "high": rounded(point.high),
        "band_low": rounded(point.band_low),
        "band_high": rounded(point.band_high),
        "label": marker_label(point),
        "step": share_step(point),
        "exact": point.exact,
    }
    if not point.exact:
        properties |= {"uncertainty_m": point.uncertainty_m, "note": generalisation_note(point)}
    if point.detail_url:
        properties["detail_url"] = _checked_link(point)
    return {"type": "Feature", "properties": properties, "geometry": {"type": "Point", "coordinates": position(point)}}


def _checked_link(point: SitePoint) -> str:
    parts = urlsplit(point.detail_url)
    is_path = not parts.scheme and not parts.netloc and point.detail_url.startswith("/") and "\\" not in point.detail_url
    if not is_path and parts.scheme not in ("http", "https"):
        raise MapInputError(f"The link of site {point.code} is neither a path nor an http address: {point.detail_url}")
    return point.detail_url


def _about(points: Sequence[SitePoint], caption: str) -> dict:
    located = [point for point in points if point.lon is not None]
    blurred = sum(not point.exact for point in located)
    return {
        "caption": caption,
        "sites": len(located),
        "generalised": blurred,
        "unlocated": len(points) - len(located),
    }


def _first_view(points, boundaries) -> list[list[float]]:
    """Corners (south-west, north-east) of what is drawn, latitude first as Leaflet takes it."""
    import shapely

    corners = [(point.lon, point.lat) for point in points if point.lon is not None]
    if boundaries:
        west, south, east, north = shapely.total_bounds([shapely.geometry.shape(boundary["geojson"]) for boundary in boundaries])
        corners += [(west, south), (east, north)]
    if not corners:
        return WHOLE_WORLD
    lons, lats = zip(*corners, strict=True)
    west, south, east, north = min(lons), min(lats), max(lons), max(lats)
    return [[float(south), float(west)], [float(north), float(east)]]


def script_json(value) -> str:
    """JSON that is safe inside a <script>: no text in it can close the script or open a tag.

    Raises ValueError for NaN and infinity, which are not JSON.
    """
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    for character in "<>&\u2028\u2029":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text
