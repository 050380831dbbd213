"""Distances, areas, position checks and blurring. Degrees are longitude, latitude unless a line says otherwise."""

import itertools

import pytest

from plantings.calc.sites.geometry import (
    CoordinateError,
    check_lon_lat,
    generalise_point,
    geodesic_distance_m,
    geodesic_inverse,
    measure_polygon,
)

# The plot of check value V8.3 (own corners; area by GeographicLib and pyproj), written latitude, longitude.
PLOT = [(40.79350, -77.86780), (40.79350, -77.86600), (40.79480, -77.86600), (40.79480, -77.86780)]
# The eastern programme area of the examples below: our own choice.
EAST = (-93.0, 34.0, -66.0, 48.0)


def ring(lat_lon):
    positions = [[lon, lat] for lat, lon in lat_lon]
    return positions + positions[:1]


def polygon(lat_lon, *holes):
    return {"type": "Polygon", "coordinates": [ring(lat_lon), *(ring(hole) for hole in holes)]}


@pytest.mark.parametrize(
    ("lat1", "lon1", "lat2", "lon2", "metres", "azimuth"),
    [
        # Source: GeographicLib documentation, Wellington to Salamanca (check value V8.1).
        (-41.32, 174.81, 40.96, -5.50, 19959679.2674, 161.0676699862),
        # Source: Karney 2013, J. Geod. 87:43-55, algorithm as run in GeographicLib (V8.1): two airports.
        (40.6, -73.8, 51.6, -0.5, 5551759.4003, 51.1988828456),
        # Source: the same; a pair near which Vincenty's inverse converges slowly.
        (0.0, 0.0, 0.5, 179.5, 19936288.5790, 25.6718728683),
    ],
)
def test_distance_and_azimuth_match_published_geodesics(lat1, lon1, lat2, lon2, metres, azimuth):
    distance, angle = geodesic_inverse(lon1, lat1, lon2, lat2)
    assert distance == pytest.approx(metres, abs=1e-3)
    assert angle == pytest.approx(azimuth, abs=1e-8)


@pytest.mark.parametrize(
    ("lon1", "lat1", "lon2", "lat2", "metres"),
    [
        (0, 0, 179.7, 0.5, 19944127.4208),  # Vincenty's inverse fails here (V8.1, GeographicLib)
        (0, 0, 0, 90, 10001965.7293),  # quarter meridian of WGS 84 (V8.1, GeographicLib)
        (0, 0, 90, 0, 10018754.1714),  # 90 degrees of the equator: a pi / 2 with a = 6378137 m
        (-77.8, 40.8, -77.8, 40.8, 0.0),  # by definition
    ],
)
def test_distance_holds_where_simpler_formulas_fail(lon1, lat1, lon2, lat2, metres):
    assert geodesic_distance_m(lon1, lat1, lon2, lat2) == pytest.approx(metres, abs=1e-3)


def test_distance_agrees_with_the_australian_survey_manual():
    # Source: ICSM GDA94 Technical Manual v2.4, Flinders Peak to Buninyong, 54972.271 m, azimuth 306 52 05.37 (V8.2,
    # numbers from memory there). GRS 80 and WGS 84 differ by 0.1 mm in the short axis.
    def degrees(d, m, s):
        return d + m / 60 + s / 3600

    distance, azimuth = geodesic_inverse(
        degrees(144, 25, 29.52440), -degrees(37, 57, 3.72030), degrees(143, 55, 35.38390), -degrees(37, 39, 10.15610)
    )
    assert distance == pytest.approx(54972.271, abs=2e-3)
    assert azimuth % 360 == pytest.approx(degrees(306, 52, 5.37), abs=1e-5)


def test_plot_area_is_geodesic_and_not_planar():
    measure = measure_polygon(polygon(PLOT))
    # Source: check value V8.3, GeographicLib and pyproj.
    assert measure.area_m2 == pytest.approx(21930.982, abs=1e-3)
    assert measure.perimeter_m == pytest.approx(592.557, abs=1e-3)


def test_planar_utm_area_is_wrong_by_the_scale_factor_squared():
    from pyproj import Transformer
    from shapely import Polygon, transform

    to_utm = Transformer.from_crs(4326, 32618, always_xy=True)
    planar = transform(Polygon(ring(PLOT)), lambda xy: list(zip(*to_utm.transform(xy[:, 0], xy[:, 1]), strict=False))).area
    # Source: check value V8.3: UTM 18N gives 21945.026 m2, 1.000640 times the plot.
    assert planar == pytest.approx(21945.026, abs=1e-3)
    assert planar / measure_polygon(polygon(PLOT)).area_m2 == pytest.approx(1.000640, abs=1e-6)


def test_antarctica_polygon_matches_geographiclib():
    # Source: GeographicLib documentation, polygon of Antarctica (V8.3; corners from the same page, from memory).
    lat_lon = [
        *((-63.1, -58), (-72.9, -74), (-71.9, -102), (-74.9, -102), (-74.3, -131), (-77.5, -163)),
        *((-77.4, 163), (-71.7, 172), (-65.9, 140), (-65.7, 113), (-66.6, 88), (-66.9, 59)),
        *((-69.8, 25), (-70.0, -4), (-71.0, -14), (-77.3, -33), (-77.9, -46), (-74.7, -61)),
    ]
    measure = measure_polygon(polygon(lat_lon))
    assert measure.perimeter_m == pytest.approx(16831067.893, abs=1e-3)
    assert measure.area_m2 == pytest.approx(13662703680020.1, rel=1e-14)
    assert measure_polygon(polygon(lat_lon[::-1])).area_m2 == pytest.approx(measure.area_m2, rel=1e-14)


def test_octant_is_an_eighth_of_the_ellipsoid():
    # Source: check value V8.3 (GeographicLib), the triangle (0,0) (0,90) (90,0).
    assert measure_polygon(polygon([(0, 0), (0, 90), (90, 0)])).area_m2 == pytest.approx(63758202715511, abs=1)


def test_holes_are_taken_off_and_parts_added_up():
    # Source: arithmetic; a hole or second part that is the plot itself, moved along the same latitude.
    wide = [(40.79, -77.88), (40.79, -77.85), (40.80, -77.85), (40.80, -77.88)]
    whole, plot = measure_polygon(polygon(wide)), measure_polygon(polygon(PLOT))
    holed = measure_polygon(polygon(wide, PLOT))
    assert holed.area_m2 == pytest.approx(whole.area_m2 - plot.area_m2, abs=1e-6)
    assert holed.perimeter_m == pytest.approx(whole.perimeter_m + plot.perimeter_m, abs=1e-6)
    twin = [(lat, lon + 0.01) for lat, lon in PLOT]
    both = {"type": "MultiPolygon", "coordinates": [[ring(PLOT)], [ring(twin)]]}
    assert measure_polygon(both).area_m2 == pytest.approx(2 * plot.area_m2, abs=1e-3)


@pytest.mark.parametrize(
    ("geojson", "part_of_message"),
    [
        ({"type": "Point", "coordinates": [0, 1]}, "not Point"),
        ({"type": "Polygon", "coordinates": []}, "no ring"),
        ({"type": "Polygon", "coordinates": [[[0, 1], [1, 1], [1, 2], [0, 3]]]}, "last position equal"),
        ({"type": "Polygon", "coordinates": [[[0, 1], [1, 1], [0, 1]]]}, "four positions"),
        ({"type": "Polygon", "coordinates": [[[0, 1], [1, 200], [1, 2], [0, 1]]]}, "beyond 90"),
    ],
)
def test_shapes_without_an_area_are_refused(geojson, part_of_message):
    # Source: RFC 7946 section 3.1.6 (rings closed, four positions).
    with pytest.raises(ValueError, match=part_of_message):
        measure_polygon(geojson)


@pytest.mark.parametrize(
    ("lon", "lat", "kind", "part_of_message"),
    [
        # Source: common practice, no source; the faults people make with coordinates.
        (float("nan"), 40.8, "not_a_number", "Longitude nan is not a number"),
        ("-77.8", 40.8, "not_a_number", "Longitude '-77.8' is not a number"),
        (0, 0, "zero", "empty position"),
        (40.79, -177.8, "out_of_range", "may be swapped"),
        (256789.0, 4520111.0, "out_of_range", "not metres"),
        (190.0, 40.8, "out_of_range", "Longitude 190 is beyond 180"),
        (40.7935, -77.8678, "swapped", "is it -77.8678, 40.7935"),
        (77.8678, 40.7935, "sign", "is it longitude -77.8678, latitude 40.7935"),
        (-77.8678, -40.7935, "sign", "is it longitude -77.8678, latitude 40.7935"),
        (-120.0, 40.0, "outside_extent", "widen the programme's area"),
    ],
)
def test_impossible_positions_get_a_reason(lon, lat, kind, part_of_message):
    with pytest.raises(CoordinateError) as caught:
        check_lon_lat(lon, lat, extent=EAST)
    assert caught.value.kind == kind
    assert part_of_message in str(caught.value)


def test_good_positions_pass_with_and_without_an_extent():
    # Source: the plot of V8.3; Fiji for an extent that crosses 180 degrees (RFC 7946 section 5.2: west > east).
    check_lon_lat(-77.8678, 40.7935)
    check_lon_lat(-77.8678, 40.7935, extent=EAST)
    check_lon_lat(179.5, -16.8, extent=(177.0, -20.0, -178.0, -15.0))
    check_lon_lat(-179.5, -16.8, extent=(177.0, -20.0, -178.0, -15.0))


def test_lost_minus_signs_of_a_published_data_set_are_all_recognised():
    # Source: a published table of forest trees of the eastern United States whose longitudes are written without
    # their sign; three of its rows, rounded to 0.01 degree.
    for lon, lat in ((83.49, 35.55), (70.84, 44.31), (78.94, 39.70)):
        with pytest.raises(CoordinateError) as caught:
            check_lon_lat(lon, lat, extent=EAST)
        assert caught.value.kind == "sign"


def test_blurring_gives_the_centre_of_the_cell_and_says_so():
    # Source: Chapman 2020 (doi 10.15468/doc-5jp4-5g10), grid of 0.1 degree; the numbers by hand.
    blurred = generalise_point(-77.8678, 40.7935)
    assert (blurred.lon, blurred.lat) == (-77.85, 40.75)
    assert "0.1 by 0.1 degree" in blurred.statement
    assert "within 7 km" in blurred.statement


@pytest.mark.parametrize("grid", [0.1, 0.01, 0.001])
def test_the_true_position_is_never_farther_than_stated(grid):
    # Property, by construction: no source. Positions spread over the globe by a fixed stride.
    positions = itertools.product([-179.99, -77.86781, -0.0301, 0.3, 123.45678], [-89.99, -41.32, 0.3, 40.7935, 77.7])
    for lon, lat in positions:
        blurred = generalise_point(lon, lat, grid)
        assert geodesic_distance_m(lon, lat, blurred.lon, blurred.lat) <= blurred.uncertainty_m
        assert abs(blurred.lon - lon) <= grid / 2 + 1e-9
        assert abs(blurred.lat - lat) <= grid / 2 + 1e-9


def test_every_position_of_a_cell_blurs_to_the_same_point():
    # Property, by construction: no source. 0.3 / 0.1 is less than 3 in binary arithmetic; it still opens its own cell.
    answers = {generalise_point(lon, lat) for lon in (0.3, 0.35, 0.3999) for lat in (40.7, 40.7999)}
    assert len(answers) == 1
    answer = answers.pop()
    assert generalise_point(answer.lon, answer.lat) == answer
    assert generalise_point(180.0, 90.0)[:2] == (-179.95, 89.95)


def test_a_grid_that_does_not_divide_the_globe_is_refused():
    # Source: own rule; such a grid would leave a cell cut at 180 degrees.
    for grid in (0, -0.1, 0.07, 45):
        with pytest.raises(ValueError, match="does not divide"):
            generalise_point(-77.8678, 40.7935, grid)
