"""Counties of the United States from the shipped outlines. Where the places lie: general knowledge, coordinates from memory to 0.01 degree."""

import csv

import pytest
from django.core.exceptions import ValidationError

from plantings.maps.counties import county_layer, find_counties
from plantings.maps.jurisdiction import find_jurisdictions, shipped_layers
from plantings.models import Site
from plantings.selectors.gate.facts import site_place
from plantings.services.sites import boundary_layer_add, site_save, site_set_boundary
from registry.compliance.gate.place_codes import check_pattern
from registry.compliance.gate.places import NO, UNKNOWN, YES, matches
from registry.compliance.shared.counties import county_name
from registry.models import Partner
from registry.selectors.gate.code_lists import PLACE_CODES
from registry.selectors.gate.named_places import NamedPlaces
from registry.selectors.gate.questions import shipment_question
from registry.services.shared.records import record_save
from tests import factories
from tests.places import SHARED

TRUTH = SHARED / "boundaries/truth_points.csv"


@pytest.mark.parametrize(
    ("lon", "lat", "state", "county"),
    [
        (-73.21, 44.48, "US-VT", "Chittenden"),  # Burlington
        (-77.86, 40.79, "US-PA", "Centre"),  # State College
        (-89.40, 43.07, "US-WI", "Dane"),  # Madison
        (-90.07, 29.95, "US-LA", "Orleans"),  # New Orleans
        (-76.61, 39.29, "US-MD", "Baltimore city"),  # Baltimore, a city in no county
        (-76.60, 39.40, "US-MD", "Baltimore"),  # Towson, seat of Baltimore County
        (-66.11, 18.44, "US-PR", "San Juan"),
        (-149.90, 61.20, "US-AK", "Anchorage"),
    ],
)
def test_known_places_fall_into_their_county(lon, lat, state, county):
    assert find_counties([(lon, lat)], [state])[0].name == county


def test_a_county_is_not_looked_for_outside_the_united_states():
    assert find_counties([(-79.387, 43.643)], ["CA"])[0].name == ""  # Toronto


def test_a_point_near_a_county_line_names_both_sides():
    # own points on a line from south to north across the border of Addison and Chittenden, 222 m apart (0.002 degrees of latitude)
    here = find_counties([(-73.15, 44.15 + 0.002 * step) for step in range(150)], ["US-VT"] * 150)
    names = [one.name for one in here]
    border = names.index("Chittenden")
    assert names == ["Addison"] * border + ["Chittenden"] * (150 - border)
    assert here[border].near == ("US-VT/Addison",) and here[border - 1].near == ("US-VT/Chittenden",)
    assert "Within 1 km of US-VT/Addison: check on which side of the line it is." in here[border].note
    assert 3 <= sum(bool(one.near) for one in here) <= 20 and here[0].near == here[-1].near == ()


def test_every_county_has_a_name_of_its_own():
    codes = county_layer().frame["code"]
    numbers = county_layer().frame["name"]
    assert len(set(codes)) == 3231 and len(numbers) >= 3231  # the number of counties of us-atlas 3.0.1, by its page
    assert {"US-VA/Fairfax", "US-VA/Fairfax city", "US-MO/St. Louis city"} <= set(codes)


def test_points_of_published_data_fall_into_their_county():
    if not TRUTH.exists():
        pytest.skip("the shared points are not on this machine")
    with TRUTH.open(encoding="utf-8") as handle:
        rows = [row for row in csv.DictReader(handle) if row["county_fips"]]
    points = [(float(row["lon"]), float(row["lat"])) for row in rows]
    states = [found.code or "" for found in find_jurisdictions(points, shipped_layers())]
    found = find_counties(points, states)
    assert len(rows) > 400
    assert [one.name.removesuffix(" city") for one in found] == [row["county"] for row in rows]


@pytest.mark.parametrize(
    ("region", "typed", "name"),
    [
        ("US-VT", "Chittenden County", "Chittenden"),
        ("US-LA", "orleans parish", "Orleans"),
        ("US-NM", "Dona Ana", "Doña Ana"),
        ("US-MO", "Saint Louis", "St. Louis"),
        ("US-VT", "Kent", ""),
        ("CA-ON", "Lanark", "Lanark"),
    ],
)
def test_a_typed_county_is_read_in_its_usual_spellings(region, typed, name):
    assert county_name(region, typed) == name


@pytest.mark.parametrize(
    ("pattern", "words"),
    [
        ("US-VT/Chitenden", "“Chitenden” is not a county of US-VT. Did you mean Chittenden?"),
        ("US-VT/Chittenden County", "write the county as Chittenden"),
    ],
)
def test_a_rule_names_a_county_that_exists(pattern, words):
    with pytest.raises(ValueError, match=words.replace("?", r"\?")):
        check_pattern(pattern)
    check_pattern("CA-ON/Lanark")


@pytest.mark.django_db
class TestSites:
    @pytest.fixture
    def lead(self):
        return factories.person("lead")

    def site(self, lead, **fields):
        values = {"code": "ST-1", "name": "S", "longitude": -73.21, "latitude": 44.48} | fields
        values.setdefault("partner", factories.partner(region="US-NY", county="Kings"))
        return site_save(actor=lead, site=Site(**values))

    def test_the_site_has_its_own_county_not_its_owners(self, lead):
        place = site_place(self.site(lead))
        assert (place.code, place.county, place.county_typed) == ("US-VT", "Chittenden", False)

    def test_a_site_without_a_point_takes_the_country_of_an_office(self, lead):
        # the office is in New York; the site may be in any state
        place = site_place(self.site(lead, longitude=None, latitude=None))
        assert (place.code, place.county, place.areas_known) == ("US", "", False)

    def test_elsewhere_a_county_is_typed_and_marked(self, lead):
        site = self.site(lead, longitude=-76.25, latitude=44.9)  # Ontario
        site_save(actor=lead, site=site, jurisdiction="CA-ON", county="Lanark", reason="the deed says so")
        place = site_place(Site.objects.get())
        assert (place.code, place.county, place.county_typed) == ("CA-ON", "Lanark", True)
        assert "not checked" in Site.objects.get().county_basis

    def test_a_county_that_does_not_exist_is_refused(self, lead):
        with pytest.raises(ValidationError, match="“Kent” is not a county of US-VT"):
            site_save(actor=lead, site=self.site(lead), county="Kent")
        with pytest.raises(ValidationError, match="“Kent” is not a county of US-VT"):
            record_save(actor=lead, obj=Partner(code="P", name="P", kind="agency", region="US-VT", county="Kent"))

    def test_near_a_state_line_both_states_are_possible_until_somebody_decides(self, lead):
        # Rouses Point lies on the bridge between New York and Vermont
        site = self.site(lead, longitude=-73.345, latitude=44.99)
        near = site_place(site)
        assert matches(["US-VT"], near) == matches(["US-NY"], near) == UNKNOWN
        site = site_save(actor=lead, site=site, jurisdiction="US-VT", reason="the deed says so")
        decided = site_place(Site.objects.get())
        assert (matches(["US-VT"], decided), matches(["US-NY"], decided)) == (YES, NO)

    def test_an_outline_over_a_county_line_is_in_both(self, lead):
        site = self.site(lead, longitude=None, latitude=None)
        ring = [[-73.22, 44.20], [-73.10, 44.20], [-73.10, 44.42], [-73.22, 44.42], [-73.22, 44.20]]
        outline = str({"type": "Polygon", "coordinates": [ring]}).replace("'", '"')
        site_set_boundary(actor=lead, site=site, content=outline.encode(), filename="outline.geojson", is_meant=True)
        place = site_place(Site.objects.get())
        assert place.code == "US-VT"
        assert matches(["US-VT/Addison"], place) == matches(["US-VT/Chittenden"], place) == UNKNOWN

    def test_a_protected_area_is_a_layer_and_a_rule_names_it(self, lead):
        ring = [[-73.3, 44.4], [-73.1, 44.4], [-73.1, 44.6], [-73.3, 44.6], [-73.3, 44.4]]
        features = [{"type": "Feature", "properties": {"id": "EX-PARK"}, "geometry": {"type": "Polygon", "coordinates": [ring]}}]
        content = str({"type": "FeatureCollection", "features": features}).replace("'", '"').encode()
        site = self.site(lead)
        assert matches(["area:EX-PARK"], site_place(site)) == NO
        boundary_layer_add(
            actor=lead, kind="area", name="Parks", source="invented", code_column="id", content=content, filename="parks.geojson"
        )
        assert matches(["area:EX-PARK"], site_place(Site.objects.get())) == YES
        assert Site.objects.get().jurisdiction == "US-VT"
        assert PLACE_CODES.reader()("area:ex-park, area:EX-MARSH") == ["area:EX-PARK", "area:EX-MARSH"]
        assert NamedPlaces().missing(["area:EX-PARK", "outside area:EX-MARSH"]) == [
            "No area EX-MARSH is on file. Check the code: so far this fits no place here."
        ]

    def test_a_shipment_is_asked_about_the_receiver_and_the_site(self, lead):
        owner = factories.partner(region="US-VT", county="Addison")
        self.site(lead, partner=owner, longitude=-73.75, latitude=42.65)  # Albany, New York
        shipment = factories.shipment(actor=lead, receiver=owner, site_code="ST-1", lots=[(factories.seed_lot(seeds=9), "seed", 5)])
        question = shipment_question(shipment, factories.day(2026, 4, 1))
        assert [(place.code, place.county) for place in question.destinations] == [("US-NY", "Albany"), ("US-VT", "Addison")]

    def test_a_shipment_to_the_site_of_its_receiver_goes_to_one_place(self, lead):
        owner = factories.partner(region="US-VT", county="Chittenden")
        self.site(lead, partner=owner)
        shipment = factories.shipment(actor=lead, receiver=owner, site_code="ST-1", lots=[(factories.seed_lot(seeds=9), "seed", 5)])
        assert shipment_question(shipment, factories.day(2026, 4, 1)).also_to == ()
