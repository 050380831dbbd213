"""What a marker prints, and the layer of sites as files."""

import io
import json
import re

import geopandas
import pytest

from plantings.maps.layers import (
    MapInputError,
    check_boundaries,
    marker_label,
    share_step,
    site_layer,
    to_geojson_bytes,
    to_geopackage_bytes,
)
from tests.places import PROJECT
from tests.plantings.sites.map_examples import BLURRED, blurred_site, outline, site

STYLES = PROJECT / "plantings/static/plantings/map/site-map.css"


@pytest.mark.parametrize(
    ("alive", "n", "label", "step"),
    [
        # Source: own rule (LOOK: the number is printed; under ten trees the count leads). Steps are fifths.
        (126, 180, ".70", 3),
        (124, 180, ".69", 3),
        (0, 180, ".00", 0),
        (180, 180, "1.0", 4),
        (999, 1000, ".99", 4),  # 0.999 must not read as all alive
        (1, 1000, ".01", 0),  # 0.001 must not read as all dead
        (36, 180, ".20", 1),
        (798, 1000, ".80", 4),  # the step follows the printed figure
        (10, 10, "1.0", 4),
        (7, 9, "7/9", None),
        (0, 1, "0/1", None),
        (0, 0, "–", None),
    ],
)
def test_a_marker_prints_two_digits_or_the_count(alive, n, label, step):
    point = site(alive=alive, n=n, share=alive / n if n else None)
    assert (marker_label(point), share_step(point)) == (label, step)


def test_a_share_that_is_not_estimable_prints_a_dash():
    point = site(share=None, low=None, high=None)
    assert (marker_label(point), share_step(point)) == ("–", None)


def test_the_layer_says_how_each_position_was_generalised():
    layer = site_layer([site(), blurred_site(), blurred_site("PA-003", data_generalizations=""), site("PA-004", lon=None, lat=None)])
    assert list(layer["position_is_exact"]) == [True, False, False, True]
    assert list(layer["data_generalizations"]) == [
        "Coordinates as recorded, not generalised.",
        BLURRED.statement,
        f"Coordinates generalised; the true position is within {BLURRED.uncertainty_m} m.",
        "No position recorded.",
    ]
    assert layer.crs == "EPSG:4326"
    assert layer.geometry.iloc[3] is None


def test_geojson_follows_rfc_7946():
    # Source: RFC 7946 (check value V8.5): no crs member, longitude first, null geometry, null for the unknown, UTF-8.
    unknown = site("PA-004", name="Québec line", lon=None, lat=None, share=None, low=None, high=None)
    content = to_geojson_bytes(site_layer([site(), unknown]))
    document = json.loads(content)
    assert set(document) == {"type", "features"}
    assert document["features"][0]["geometry"] == {"type": "Point", "coordinates": [-77.8678, 40.7935]}
    assert document["features"][1]["geometry"] is None
    assert document["features"][1]["properties"]["share"] is None
    assert "Québec".encode() in content
    assert b"NaN" not in content


def test_geopackage_comes_back_with_the_same_rows(tmp_path):
    path = tmp_path / "sites.gpkg"
    path.write_bytes(to_geopackage_bytes(site_layer([site(), blurred_site()])))
    back = geopandas.read_file(path, layer="sites")
    assert list(back["code"]) == ["PA-001", "PA-002"]
    assert back["share"].dtype == float
    assert list(back["data_generalizations"]) == ["Coordinates as recorded, not generalised.", BLURRED.statement]
    assert back.geometry.iloc[1].coords[0] == (BLURRED.lon, BLURRED.lat)
    assert back.crs == "EPSG:4326"


def test_no_site_still_makes_both_files():
    empty = site_layer([])
    assert json.loads(to_geojson_bytes(empty)) == {"type": "FeatureCollection", "features": []}
    assert len(geopandas.read_file(io.BytesIO(to_geojson_bytes(empty)))) == 0
    assert to_geopackage_bytes(empty).startswith(b"SQLite format 3")


@pytest.mark.parametrize(
    ("changes", "part_of_message"),
    [
        ({"exact": False, "uncertainty_m": None}, "does not say how far"),
        ({"lon": None}, "half a position"),
    ],
)
def test_points_with_an_untrue_note_are_refused(changes, part_of_message):
    with pytest.raises(MapInputError, match=part_of_message):
        site_layer([site(**changes)])


def test_the_outline_of_a_blurred_site_is_refused():
    with pytest.raises(MapInputError, match="PA-002"):
        check_boundaries([site(), blurred_site()], [outline(), outline("PA-002")])
    check_boundaries([site(), blurred_site()], [outline()])


def colours(selector):
    text = STYLES.read_text(encoding="utf-8")
    found = re.findall(rf"\.{selector}\.share-(\d) {{ fill: #([0-9A-F]{{6}}); }}", text)
    return [tuple(int(value[i : i + 2], 16) for i in (0, 2, 4)) for _, value in sorted(found)]


def luminance(colour):
    # Source: WCAG 2.2, relative luminance and contrast ratio.
    linear = [c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in colour]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_ramp_is_one_hue_and_its_figures_are_readable():
    import colorsys

    fills, figures = colours("mark"), colours("figure")
    assert len(fills) == len(figures) == 5
    hues = [colorsys.rgb_to_hsv(*(c / 255 for c in colour))[0] * 360 for colour in fills]
    # Source: own tolerance; within 10 degrees of the colour wheel reads as one hue.
    assert max(hues) - min(hues) < 10
    lights = [luminance(colour) for colour in fills]
    assert lights == sorted(lights, reverse=True)
    for fill, figure in zip(fills, figures, strict=False):
        light, dark = sorted((luminance(fill), luminance(figure)), reverse=True)
        # Source: WCAG 2.2 success criterion 1.4.3, 4.5 to 1.
        assert (light + 0.05) / (dark + 0.05) >= 4.5
