"""Which state or country a point lies in, from the shipped boundaries and from layers of an administrator."""

import csv

import geopandas
import pycountry
import pytest
from shapely import MultiPolygon, Point, Polygon, box

from plantings.calc.sites.geometry import geodesic_distance_m
from plantings.maps.antimeridian import cut_at_antimeridian
from plantings.maps.jurisdiction import (
    COUNTRY,
    COUNTRY_ONLY,
    INSIDE,
    NEAREST,
    NOT_COVERED,
    SUBDIVISION,
    JurisdictionLayer,
    find_jurisdictions,
    shipped_layers,
)
from tests.places import PROJECT, SHARED

TRUTH = SHARED / "boundaries/truth_points.csv"


def layer(level, *areas, name="own"):
    """A layer from (code, shape) pairs."""
    codes, shapes = zip(*areas, strict=False)
    frame = geopandas.GeoDataFrame({"code": codes, "name": [f"name of {c}" for c in codes]}, geometry=list(shapes), crs=4326)
    return JurisdictionLayer(name, level, frame)


def found(lon, lat, *layers):
    return find_jurisdictions([(lon, lat)], layers or shipped_layers())[0]


@pytest.mark.parametrize(
    ("lon", "lat", "code", "basis"),
    [
        # Source: the coordinates of check values V8.1 and V8.3; in which state the places lie: general knowledge.
        (-77.8678, 40.7935, "US-PA", INSIDE),  # State College, Pennsylvania
        (-77.0365, 38.8977, "US-DC", INSIDE),  # the White House
        (-73.8, 40.6, "US-NY", INSIDE),  # Jamaica Bay, New York
        (-79.387139, 43.642566, "CA", COUNTRY_ONLY),  # the CN Tower, Toronto
        (2.2945, 48.8583, "FR", COUNTRY_ONLY),  # the Eiffel Tower
        (174.81, -41.32, "NZ", COUNTRY_ONLY),  # Wellington
        # Source: from memory; capitals of outlying areas, to 0.01 degree.
        (-66.11, 18.42, "US-PR", INSIDE),  # San Juan
        (-149.90, 61.22, "US-AK", INSIDE),  # Anchorage
    ],
)
def test_known_places_fall_into_their_jurisdiction(lon, lat, code, basis):
    answer = found(lon, lat)
    assert (answer.code, answer.basis) == (code, basis)


def test_open_sea_is_covered_by_nothing_and_says_so():
    # Source: general knowledge; the middle of the Atlantic, also where uncut outlines of Russia and Fiji would run.
    for lon, lat in ((-40.0, 35.0), (-30.0, 67.0), (0.0, -17.0)):
        answer = found(lon, lat)
        assert (answer.code, answer.basis) == (None, NOT_COVERED)
        assert "No boundary layer covers this point" in answer.note


def test_land_on_both_sides_of_180_degrees_is_found():
    # Source: general knowledge; Chukotka (Russia) lies on both sides of 180 degrees, Brasilia and Oslo do not.
    codes = [j.code for j in find_jurisdictions([(179.5, 68.3), (-179.5, 66.5), (-47.9, -15.8), (10.75, 59.91)], shipped_layers())]
    assert codes == ["RU", "RU", "BR", "NO"]


def test_every_shipped_code_is_in_iso_3166_and_carries_the_right_name():
    # Source: ISO 3166-1 and 3166-2 as in pycountry; check value V8.4 (57 US codes; US-UM is not in the file).
    states, countries = shipped_layers()
    iso = {s.code: s.name for s in pycountry.subdivisions.get(country_code="US")}
    ours = dict(zip(states.frame["code"], states.frame["name"], strict=False))
    assert set(iso) - set(ours) == {"US-UM"}
    assert set(ours) - set(iso) == set()
    differing = {code for code in ours if ours[code] != iso[code]}
    assert differing == {"US-MP", "US-VI"}
    known = {c.alpha_2 for c in pycountry.countries}
    assert set(countries.frame["code"].dropna()) <= known
    assert {"US", "CA", "MX", "GB", "JP"} <= set(countries.frame["code"])


def test_state_codes_agree_with_the_federal_numeric_codes():
    # Source: FIPS 5-2 state codes; the pairs from memory.
    with (PROJECT / "plantings/boundaries/codes.csv").open(encoding="utf-8") as handle:
        codes = {row["source_id"]: row["code"] for row in csv.DictReader(handle) if row["layer"] == "us-states"}
    pairs = {"42": "PA", "51": "VA", "54": "WV", "11": "DC", "28": "MS", "29": "MO", "72": "PR", "66": "GU", "78": "VI"}
    assert {number: codes[number] for number in pairs} == {number: f"US-{letters}" for number, letters in pairs.items()}
    assert len(codes) == 56


def test_a_point_on_the_shore_takes_the_nearest_state_and_is_flagged():
    # Source: own squares; 1 km is 0.00899 degree of latitude (quarter meridian of V8.1 / 90 degrees).
    state = layer(SUBDIVISION, ("US-PA", box(-80, 40, -79, 41)))
    near, far = found(-79.5, 41.009, state), found(-79.5, 41.02, state)
    assert (near.code, near.basis) == ("US-PA", NEAREST)
    assert near.distance_m == pytest.approx(geodesic_distance_m(-79.5, 41.009, -79.5, 41.0), rel=0.005)
    assert "outside the drawn line" in near.note
    assert (far.code, far.basis) == (None, NOT_COVERED)


def test_distance_accounts_for_shorter_degrees_of_longitude():
    # Source: own square; at 60 degrees north a degree of longitude is half as long, so 0.03 degree is 1.7 km.
    state = layer(SUBDIVISION, ("US-AK", box(-151, 59, -150, 61)))
    answer = found(-149.97, 60.0, state)
    assert (answer.code, answer.basis) == ("US-AK", NEAREST)
    assert answer.distance_m == pytest.approx(geodesic_distance_m(-149.97, 60.0, -150.0, 60.0), rel=0.01)
    assert found(-149.96, 60.0, state).basis == NOT_COVERED


def test_a_country_that_holds_the_point_beats_a_foreign_state_nearby():
    # Source: own squares around 45 degrees north; by definition of the order of answers.
    maine, north = box(-69, 44, -68, 45), box(-69, 45, -68, 46)
    layers = (layer(SUBDIVISION, ("US-ME", maine)), layer(COUNTRY, ("US", maine), ("CA", north)))
    abroad = found(-68.5, 45.009, *layers)
    assert (abroad.code, abroad.basis, abroad.nearby) == ("CA", COUNTRY_ONLY, ("US-ME",))
    home = found(-68.5, 44.991, *layers)
    assert (home.code, home.basis, home.nearby) == ("US-ME", INSIDE, ("CA",))
    assert "check on which side" in home.note
    assert found(-68.5, 44.5, *layers).note == ""


def test_the_shore_of_ones_own_country_still_takes_the_nearest_state():
    # Source: own squares; the country is drawn a little wider than its state, as differently generalised layers are.
    layers = (layer(SUBDIVISION, ("US-ME", box(-69, 44, -68, 45))), layer(COUNTRY, ("US", box(-69, 44, -68, 45.015))))
    answer = found(-68.5, 45.009, *layers)
    assert (answer.code, answer.basis) == ("US-ME", NEAREST)


def test_a_point_on_a_line_names_the_other_side():
    # Source: own squares.
    state = layer(SUBDIVISION, ("US-PA", box(-80, 40, -79, 41)), ("US-NY", box(-80, 41, -79, 42)))
    answer = found(-79.5, 41.0, state)
    assert answer.basis == INSIDE
    assert {answer.code, *answer.nearby} == {"US-PA", "US-NY"}


def test_a_layer_of_the_administrator_comes_first_when_given_first():
    # Source: own square over Toronto (V8.3 coordinates); CA-ON is valid (V8.4).
    provinces = layer(SUBDIVISION, ("CA-ON", box(-80, 43, -79, 44)), name="Provinces")
    answer = found(-79.387139, 43.642566, provinces, *shipped_layers())
    assert (answer.code, answer.layer, answer.basis) == ("CA-ON", "Provinces", INSIDE)


def test_no_points_and_no_layers_give_no_surprises():
    assert find_jurisdictions([], shipped_layers()) == []
    assert [j.basis for j in find_jurisdictions([(-77.0, 40.0)], [])] == [NOT_COVERED]


def test_a_ring_over_180_degrees_is_cut_into_two_parts():
    # Source: RFC 7946 section 3.1.9; a square of 2 by 2 degrees, 1 degree on each side, with a hole of 0.5 by 0.5.
    square = Polygon(
        [(179, 0), (-179, 0), (-179, 2), (179, 2)],
        [[(179.5, 0.5), (179.5, 1), (-180, 1), (-180, 0.5)]],
    )
    cut = cut_at_antimeridian(square)
    assert sorted(part.bounds for part in cut.geoms) == [(-180, 0, -179, 2), (179, 0, 180, 2)]
    assert cut.area == pytest.approx(4 - 0.25)
    assert not cut.intersects(Point(0, 1))


def test_a_ring_around_a_pole_is_closed_over_it():
    # Source: own ring at 70 degrees south; 360 by 20 degrees on the flat sheet.
    cut = cut_at_antimeridian(Polygon([(lon, -70) for lon in range(-180, 180, 30)]))
    assert cut.area == pytest.approx(360 * 20)
    assert cut.intersects(Point(45, -89))
    assert isinstance(cut, MultiPolygon)


def test_real_points_agree_with_the_reference_and_their_labels():
    if not TRUTH.exists():
        pytest.skip("../shared is absent")
    with TRUTH.open(encoding="utf-8") as handle:
        rows = list(csv.DictReader(handle))
    answers = find_jurisdictions([(float(r["lon"]), float(r["lat"])) for r in rows], shipped_layers())
    in_states = [(row, answer) for row, answer in zip(rows, answers, strict=False) if row["state"]]
    # Source: truth_points.csv (569 points, same edition of the state lines): 492 of them in a state.
    assert len(rows) == 569 and len(in_states) == 492
    assert [row["id"] for row, answer in in_states if (answer.name, answer.basis) != (row["state"], INSIDE)] == []
    # Source: the note beside the file: 13 labels that say Tennessee are in North Carolina.
    disagree = {row["own_label"]: answer.code for row, answer in in_states if row["agrees_with_own_label"] == "False"}
    assert disagree == {"Tennessee": "US-NC"}
    # The finer country lines put the lake-shore lot back into Switzerland, its own label, and flag the other shore.
    swiss = next(answer for row, answer in zip(rows, answers, strict=False) if row["id"] == "FS_CH1")
    assert (swiss.code, swiss.nearby) == ("CH", ("DE",))


def test_rows_within_2_km_of_another_state_are_all_flagged():
    if not TRUTH.exists():
        pytest.skip("../shared is absent")
    with TRUTH.open(encoding="utf-8") as handle:
        rows = [r for r in csv.DictReader(handle) if r["within_2km_of_a_state_line"] == "True" and r["state"]]
    answers = find_jurisdictions([(float(r["lon"]), float(r["lat"])) for r in rows], shipped_layers())
    # Source: truth_points.csv; the rest of its 30 rows lie on the Pacific shore, where no other state is near.
    unflagged = {answer.code for answer in answers if not answer.nearby}
    assert len(rows) == 30
    assert unflagged == {"US-WA", "US-CA"}
