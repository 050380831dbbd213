"""Make the boundary files of this folder, and the lines drawn under the site map, from two npm packages.

    npm pack us-atlas@3.0.1 world-atlas@2.0.2
    (unpack both archives)
    python -m plantings.boundaries.build US_ATLAS_FOLDER WORLD_ATLAS_FOLDER

Run it only for a new edition of the boundaries; `SOURCE.md` then needs the new edition and checksums.
It needs pycountry, geopandas and shapely 2.1 or later; Mastbook itself does not need this script.
"""

import argparse
import csv
import gzip
import json
import math
from pathlib import Path

import geopandas
import pycountry
import shapely

from plantings.maps.antimeridian import cut_at_antimeridian

HERE = Path(__file__).resolve().parent
COUNTY_NAMES = HERE.parent.parent / "registry/compliance/shared/us_counties.txt"
BASE_LAYER = HERE.parent / "static/plantings/map/base-layer.js"

# Three names of the Census Bureau differ from those of ISO 3166-2.
STATE_NAMES_IN_ISO = {
    "Commonwealth of the Northern Mariana Islands": "Northern Mariana Islands",
    "United States Virgin Islands": "Virgin Islands, U.S.",
}
COUNTRY_TOLERANCE_DEGREES = 0.05
SMALLEST_ISLAND_SQUARE_DEGREES = 0.02


def state_code(name: str) -> str:
    """ISO 3166-2 code of a US state, district or territory; ISO and the Census Bureau share the names."""
    wanted = STATE_NAMES_IN_ISO.get(name, name)
    matches = [s.code for s in pycountry.subdivisions.get(country_code="US") if s.name == wanted]
    if len(matches) != 1:
        raise SystemExit(f"No single ISO 3166-2 code for the state named {name!r}.")
    return matches[0]


def country_code(numeric: str | None) -> str:
    """ISO 3166-1 alpha-2 code of a numeric code; empty where the area has none (disputed areas, bases)."""
    country = pycountry.countries.get(numeric=numeric) if numeric else None
    return country.alpha_2 if country else ""


def read_topology(path: Path, layer: str) -> geopandas.GeoDataFrame:
    frame = geopandas.read_file(path, layer=layer).set_crs(4326)
    frame["geometry"] = [polygons_only(geometry) for geometry in frame.geometry]
    return frame


def polygons_only(geometry) -> shapely.MultiPolygon:
    cut = [cut_at_antimeridian(polygon) for polygon in shapely.get_parts(geometry)]
    valid = shapely.union_all([shapely.make_valid(part, method="structure", keep_collapsed=False) for part in cut])
    return shapely.MultiPolygon([p for p in shapely.get_parts(valid) if p.geom_type == "Polygon"])


def write_source(source: Path, target: str) -> None:
    """Keep the source file unchanged, packed; a fixed time stamp makes the packed file repeatable."""
    (HERE / target).write_bytes(gzip.compress(source.read_bytes(), 9, mtime=0))


def write_codes(states, countries) -> None:
    with (HERE / "codes.csv").open("w", newline="", encoding="utf-8") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["layer", "source_id", "source_name", "code"])
        for row in sorted(states.itertuples(), key=lambda r: r.id):
            writer.writerow(["us-states", row.id, row.name, state_code(row.name)])
        for row in sorted(countries.itertuples(), key=lambda r: r.name):
            numeric = row.id if isinstance(row.id, str) else None
            writer.writerow(["countries", numeric or "", row.name, country_code(numeric)])


def write_county_names() -> None:
    """Every county as rules name it, for checking what somebody types; the registry needs the names without the outlines."""
    from plantings.maps.counties import county_layer

    COUNTY_NAMES.write_text("".join(f"{code}\n" for code in sorted(county_layer().frame["code"].unique())), encoding="utf-8")


def without_specks(geometry) -> shapely.MultiPolygon:
    """Leave out islands too small to see at the scale of the map, but keep every country's largest part."""
    parts = sorted(shapely.get_parts(geometry), key=lambda part: part.area, reverse=True)
    return shapely.MultiPolygon(parts[:1] + [p for p in parts[1:] if p.area >= SMALLEST_ISLAND_SQUARE_DEGREES])


def drawn_feature(geometry, level: str, label: str, decimals: int) -> dict:
    largest = max(shapely.get_parts(geometry), key=lambda part: part.area)
    at = largest.representative_point() if level == "country" else shapely.maximum_inscribed_circle(largest, 0.05)
    at = shapely.Point(at.coords[0])
    return {
        "type": "Feature",
        "properties": {"level": level, "label": label, "at": [round(at.x, 2), round(at.y, 2)], "from": fits_from(largest, label)},
        "geometry": json.loads(json.dumps(shapely.geometry.mapping(geometry)), parse_float=lambda t: round(float(t), decimals)),
    }


def fits_from(area, label: str) -> int:
    """The zoom at which the label is about as wide as its area (256 pixels span the world at zoom 0)."""
    west, _, east, _ = area.bounds
    pixels = 9 * len(label)
    return min(max(math.ceil(math.log2(pixels * 360 / 256 / (east - west))), 3), 12)


def write_base_layer(states, countries) -> None:
    """Countries at 2 decimals, simplified together so that neighbours keep one line; US states at 3 decimals."""
    countries = countries[countries["id"] != "840"].copy()
    countries["geometry"] = shapely.coverage_simplify(countries.geometry.values, COUNTRY_TOLERANCE_DEGREES)
    features = [drawn_feature(without_specks(r.geometry), "country", r.name, 2) for r in countries.itertuples()]
    features += [drawn_feature(r.geometry, "subdivision", state_code(r.name)[3:], 3) for r in states.itertuples()]
    text = json.dumps({"type": "FeatureCollection", "features": features}, separators=(",", ":"), ensure_ascii=False)
    BASE_LAYER.parent.mkdir(parents=True, exist_ok=True)
    BASE_LAYER.write_text(f"window.mastbookBase={text};\n", encoding="utf-8")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("us_atlas", type=Path, help="folder with states-10m.json and counties-10m.json")
    parser.add_argument("world_atlas", type=Path, help="folder with countries-10m.json and countries-50m.json")
    folders = parser.parse_args()
    states_file, countries_file = folders.us_atlas / "states-10m.json", folders.world_atlas / "countries-10m.json"
    states = read_topology(states_file, "states")
    write_source(states_file, "us-states-10m.json.gz")
    write_source(countries_file, "countries-10m.json.gz")
    write_codes(states, read_topology(countries_file, "countries"))
    write_source(folders.us_atlas / "counties-10m.json", "us-counties-10m.json.gz")
    write_county_names()
    write_base_layer(states, read_topology(folders.world_atlas / "countries-50m.json", "countries"))


if __name__ == "__main__":
    main()
