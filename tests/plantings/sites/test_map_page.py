"""The map page, its frame and its downloads: the same sites, as exactly as the person may see them, everywhere."""

import json
import re

import geopandas
import pytest
from django.urls import reverse

from tests import factories
from tests.people import everyone
from tests.plantings.survival.survival_examples import counted, planting_on

pytestmark = pytest.mark.django_db

EXACT = (-73.21734, 44.48321)
CENTRE = (-73.25, 44.45)
DOWNLOADS = ("map_geojson", "map_geopackage", "map_file")


def book():
    """One site with a figure, one without a point."""
    place = factories.site(code="FALLS", name="Falls Road", longitude=EXACT[0], latitude=EXACT[1], jurisdiction="US-VT")
    counted(planting_on(place), factories.stock_lot(), 263, 81)
    factories.site(code="LOST", name="Lost meadow", longitude=None, latitude=None)


def words(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def enter(client, role):
    client.force_login(factories.person(role))


def geojson(client, **query):
    return json.loads(client.get(reverse("map_geojson"), query).content)


def test_the_page_holds_the_frame_and_the_same_as_a_table(client):
    book()
    enter(client, "lead")
    response = client.get(reverse("map"))
    assert re.search(rf'<iframe[^>]+src="{reverse("map_embed")}"[^>]+sandbox="allow-scripts[ "]', response.content.decode())
    assert "allow-same-origin" not in response.content.decode()
    text = words(response)
    # 81/263: Newcombe 1998, Stat. Med. 17:857-872, Table I, method 3
    assert "0.31 (0.26–0.37), n 263" in text and "44.48321, -73.21734" in text
    assert "1 site on the map. No point recorded for 1: LOST Lost meadow" in text
    assert "generalised" not in text


def test_the_frame_sets_its_own_policy_with_its_own_nonce(client):
    book()
    enter(client, "lead")
    first, second = client.get(reverse("map_embed")), client.get(reverse("map_embed"))
    policy, html = first["Content-Security-Policy"], first.content.decode()
    [nonce] = set(re.findall(r"'nonce-([\w-]{20,})'", policy))
    assert f"script-src 'self' 'nonce-{nonce}'" in policy and f"style-src 'self' 'nonce-{nonce}'" in policy
    assert "default-src 'none'" in policy and "frame-ancestors 'self'" in policy and "unsafe" not in policy
    assert all(f'nonce="{nonce}"' in tag for tag in re.findall(r"<(?:script|style|link)\b[^>]*>", html))
    assert first["X-Frame-Options"] == "SAMEORIGIN"
    assert nonce not in second["Content-Security-Policy"]
    assert not re.search(r'(?:src|href)="(?:https?:)?//', html)


def test_tiles_admit_their_host_as_images_and_nothing_else(client, settings):
    settings.MAP_TILES_URL = "https://{s}.tiles.example.org/{z}/{x}/{y}.png"
    book()
    enter(client, "lead")
    response = client.get(reverse("map_embed"))
    policy = dict(part.strip().split(" ", 1) for part in response["Content-Security-Policy"].split(";"))
    assert policy["img-src"] == "'self' data: https://*.tiles.example.org"
    assert [name for name, value in policy.items() if "tiles" in value] == ["img-src"]
    assert "tiles.example.org/{z}/{x}/{y}.png" in response.content.decode()


def test_the_geojson_follows_rfc_7946(client):
    # RFC 7946 (2016): sections 3.1.1 position order, 3.2 null geometry, 4 no crs, 5 bbox, 12 media type
    book()
    enter(client, "lead")
    response = client.get(reverse("map_geojson"))
    assert response["Content-Type"] == "application/geo+json"
    document = json.loads(response.content)
    assert (document["type"], "crs" in document, document["bbox"]) == ("FeatureCollection", False, [*EXACT, *EXACT])
    falls, lost = document["features"]
    assert falls["geometry"] == {"type": "Point", "coordinates": list(EXACT)}
    assert lost["geometry"] is None
    assert (falls["properties"]["alive"], falls["properties"]["n"], falls["properties"]["position_is_exact"]) == (81, 263, True)
    # Newcombe 1998, Table I, method 3
    assert (falls["properties"]["low"], falls["properties"]["high"]) == (0.2553, 0.3662)
    assert (lost["properties"]["share"], lost["properties"]["data_generalizations"]) == (None, "No position recorded.")


def test_the_box_around_several_sites_is_west_south_east_north(client):
    # RFC 7946 section 5
    for lon, lat in ((-73.5, 44.0), (-72.5, 43.0), (-73.0, 44.5)):
        factories.site(longitude=lon, latitude=lat)
    enter(client, "lead")
    assert geojson(client)["bbox"] == [-73.5, 43.0, -72.5, 44.5]


def test_the_geopackage_is_read_back_by_geopandas(client, tmp_path):
    book()
    enter(client, "lead")
    response = client.get(reverse("map_geopackage"))
    path = tmp_path / "sites.gpkg"
    path.write_bytes(response.content)
    frame = geopandas.read_file(path, layer="sites").set_index("code")
    assert frame.crs.to_epsg() == 4326
    assert (frame.geometry["FALLS"].x, frame.geometry["FALLS"].y) == EXACT
    assert frame.loc["FALLS", ["planted", "alive", "n"]].tolist() == [263, 81, 263]
    assert frame.loc["FALLS", "share"] == pytest.approx(81 / 263, abs=5e-5)
    assert frame.geometry["LOST"] is None


def test_geojson_is_read_back_by_geopandas_too(client, tmp_path):
    book()
    enter(client, "lead")
    path = tmp_path / "sites.geojson"
    path.write_bytes(client.get(reverse("map_geojson")).content)
    frame = geopandas.read_file(path).set_index("code")
    assert frame.crs.to_epsg() == 4326 and (frame.geometry["FALLS"].x, frame.geometry["FALLS"].y) == EXACT


def test_the_stand_alone_map_is_a_file_and_never_a_page_of_this_site(client):
    book()
    enter(client, "lead")
    response = client.get(reverse("map_file"))
    assert response["Content-Type"] == "application/octet-stream"
    assert re.search(r'attachment; filename="sites-\d{4}-\d\d-\d\d\.html"', response["Content-Disposition"])
    html = response.content.decode()
    assert "0.31 (0.26–0.37), n 263" in html and "44.48321, -73.21734" in html
    assert not re.search(r"<(?:link|iframe|script[^>]*\bsrc=)", html)


def test_a_manager_gets_generalised_places_in_page_and_downloads(client):
    # grid cells of 0.1 degrees: Chapman 2020, GBIF, doi 10.15468/doc-5jp4-5g10
    book()
    enter(client, "manager")
    answers = {name: client.get(reverse(name)).content for name in ("map", "map_embed", *DOWNLOADS)}
    for name, content in answers.items():
        assert b"73.2173" not in content and b"44.4832" not in content and b"Falls Road" not in content, name
        assert b"generalised" in content, name
    text = re.sub(r"\s+", " ", answers["map"].decode())
    assert "Places are generalised" in text and "about 44.45, -73.25; generalised, within" in text
    feature = json.loads(answers["map_geojson"])["features"][0]
    assert (feature["geometry"]["coordinates"], feature["properties"]["position_is_exact"]) == (list(CENTRE), False)
    assert feature["properties"]["coordinate_uncertainty_m"] > 5_000


def test_a_hidden_site_is_in_no_answer_and_the_page_says_how_many(client):
    factories.site(code="HID-7", partner=factories.partner(map_privacy="hidden"))
    factories.site(code="OPEN")
    enter(client, "manager")
    for name in ("map", "map_embed", *DOWNLOADS):
        assert b"HID-7" not in client.get(reverse(name)).content, name
    assert "1 site left off, because the landowner asked to keep it off shared maps" in words(client.get(reverse("map")))
    enter(client, "coordinator")
    assert b"HID-7" in client.get(reverse("map")).content


def test_downloads_hold_the_persons_sites_at_the_chosen_age(client):
    people = everyone()
    mine = factories.site(code="MINE", partner=people["landowner"].partner)
    counted(planting_on(mine, crew=[people["volunteer"]]), factories.stock_lot(), 20, 10, season=2)
    factories.site(code="YOURS")
    seen = {}
    for name, person in people.items():
        client.force_login(person)
        statuses = {client.get(reverse(route)).status_code for route in ("map", "map_embed", *DOWNLOADS)}
        seen[name] = sorted(f["properties"]["code"] for f in geojson(client)["features"]) if statuses == {200} else statuses
    everything = ["MINE", "YOURS"]
    assert seen == dict.fromkeys(("lead", "coordinator", "manager", "auditor"), everything) | {
        "landowner": ["MINE"], "volunteer": ["MINE"], "other landowner": [], "other volunteer": [], "unknown role": {403},
    }  # fmt: skip
    client.force_login(people["landowner"])
    texts = [geojson(client, season=season)["features"][0]["properties"]["text"] for season in (2, 3)]
    assert texts == ["After 2 growing seasons.", "No complete census after 3 growing seasons."]


def test_an_age_that_is_not_a_number_is_named_on_the_usual_map(client):
    book()
    enter(client, "lead")
    response = client.get(reverse("map"), {"season": "spring"})
    assert response.status_code == 400
    assert "Growing seasons completed is a whole number, such as 3." in words(response) and "n 263" in words(response)
    for name in DOWNLOADS:
        assert client.get(reverse(name), {"season": "spring"}).status_code == 400, name


def test_a_round_that_is_not_complete_is_asked_for_and_marked(client):
    planting = planting_on(factories.site(code="FALLS"))
    trees = factories.trees(planting, count=20)
    factories.observe(factories.census_round(planting, 1, label="first"), dict.fromkeys(trees, "A"))
    factories.observe(factories.census_round(planting, 2, label="second"), dict.fromkeys(trees[:12], "D"))
    enter(client, "lead")
    page = words(client.get(reverse("map")))
    assert "1.00 (0.84–1.00), n 20" in page and "second at FALLS, thinly visited: 12 of 20 positions assessed" in page
    assert "census not complete" not in page
    asked = words(client.get(reverse("map"), {"at": "age-2", "open": "on"}))
    assert "n 12 of 20" in asked and "census not complete" in asked and "in the figures above" in asked
    assert client.get(reverse("map"), {"at": "age-"}).status_code == 400


def test_an_empty_map_says_what_will_be_here(client):
    enter(client, "volunteer")
    assert "No site to show" in words(client.get(reverse("map")))
