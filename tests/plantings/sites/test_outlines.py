"""The outlines a print draws, against borders that everybody knows."""

import pytest

from plantings.maps.outlines import names_within, outlines_within

pytestmark = pytest.mark.one_database


def test_the_line_between_new_york_and_pennsylvania_is_the_42nd_parallel():
    # New York and Pennsylvania meet along 42° N west of the Delaware (from memory)
    lines = outlines_within((-78.5, 41.8, -76.0, 42.2))
    on_it = [lon for line in lines for lon, lat in line if abs(lat - 42.0) < 0.01]
    assert min(on_it) < -78.4 and max(on_it) > -76.1


def test_the_border_with_canada_is_drawn_once():
    # New York and Quebec meet near 45° N
    lines = outlines_within((-74.4, 44.9, -73.5, 45.1))
    lats = [lat for line in lines for _lon, lat in line]
    assert lats and all(44.9 <= lat <= 45.1 for lat in lats)


def test_no_line_leaves_the_box():
    box = (-75.0, 43.0, -71.0, 46.0)
    for line in outlines_within(box):
        for lon, lat in line:
            assert box[0] <= lon <= box[2] and box[1] <= lat <= box[3]


def test_the_states_in_a_box_are_named_inside_it():
    # the corner of Vermont, New Hampshire, Massachusetts and New York: from memory of the map
    box = (-73.6, 42.4, -71.8, 43.4)
    found = names_within(box)
    assert sorted(code for _lon, _lat, code in found) == ["US-MA", "US-NH", "US-NY", "US-VT"]
    for lon, lat, _code in found:
        assert box[0] <= lon <= box[2] and box[1] <= lat <= box[3]
    assert [code for *_at, code in names_within((2.0, 48.0, 3.0, 49.0))] == ["FR"]
