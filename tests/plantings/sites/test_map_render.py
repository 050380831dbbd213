"""The map as a document: what is in it, and what must never be in it. `test_map_browser` opens it."""

import json
import re
from html.parser import HTMLParser

import pytest

from plantings.maps.layers import MapInputError
from plantings.maps.render import script_json
from plantings.maps.stand_alone import POLICY, stand_alone_html, survival_text
from tests.plantings.sites.map_examples import BLURRED, HOSTILE, NONCE, blurred_site, many_sites, outline, rendered, site


class Tags(HTMLParser):
    """Start tags with their attributes, as a browser would see them."""

    def __init__(self, document):
        super().__init__()
        self.found = []
        self.feed(document)

    def handle_starttag(self, tag, attributes):
        self.found.append((tag, dict(attributes)))


def test_nothing_in_the_document_comes_from_another_host():
    document = rendered([site(), blurred_site()], boundaries=[outline()])
    addresses = [a.get("src") or a.get("href") for t, a in Tags(document).found if "src" in a or "href" in a]
    assert len(addresses) == 6
    assert all(address.startswith("/static/") for address in addresses)
    assert "http:" not in document and "https:" not in document
    assert not re.search(r"""["'(=]//""", document)


def test_every_script_and_style_carries_the_nonce():
    tags = Tags(rendered([site()])).found
    loading = [attributes for tag, attributes in tags if tag in ("script", "style", "link")]
    assert len(loading) == 7
    assert {attributes.get("nonce") for attributes in loading} == {NONCE}
    assert not any("style" in a or any(name.startswith("on") for name in a) for _, a in tags)


def test_sites_are_one_layer_of_data_and_not_markers():
    document = rendered(many_sites(50))
    assert document.count("mastbookMap.siteLayer(") == 1
    assert "L.marker" not in document and "L.circleMarker" not in document
    assert document.count('"type":"Point"') == 50


def test_the_same_points_give_the_same_document():
    points = many_sites(5)
    assert rendered(points, boundaries=[outline("S-0001")]) == rendered(points, boundaries=[outline("S-0001")])


def test_a_hostile_name_cannot_leave_its_place():
    point = site(HOSTILE, name=HOSTILE, text=HOSTILE, jurisdiction=HOSTILE)
    boundary = outline(HOSTILE) | {"name": HOSTILE}
    calm = [tag for tag, _ in Tags(rendered([site()], boundaries=[outline()])).found]
    document = rendered([point], boundaries=[boundary], title=HOSTILE, caption=HOSTILE)
    assert [tag for tag, _ in Tags(document).found] == calm
    assert "<img" not in document and "alert(1)</script>" not in document
    alone = stand_alone_html([point], boundaries=[boundary], title=HOSTILE, caption=HOSTILE)
    assert "<img" not in alone and "<script>alert" not in alone


@pytest.mark.parametrize("name", ["{{ 7 * 7 }}", "{% raw %}", "{# a remark #}", "{{ this._parent }}"])
def test_braces_in_a_name_are_text_and_no_template(name):
    for document in (
        rendered([site(name=name)], boundaries=[outline() | {"name": name}]),
        stand_alone_html([site(name=name)], title="Sites"),
    ):
        assert f'"name":"{name}"' in document


def test_script_json_keeps_the_text_and_refuses_what_is_not_json():
    assert json.loads(script_json({"name": HOSTILE})) == {"name": HOSTILE}
    assert not set("<>&\u2028") & set(script_json(HOSTILE))
    with pytest.raises(ValueError):
        script_json(float("nan"))


@pytest.mark.parametrize("link", ["javascript:alert(1)", "//elsewhere/x", "/\\elsewhere", "data:text/html,x", "sites/1/"])
def test_links_that_could_run_code_or_leave_the_site_are_refused(link):
    with pytest.raises(MapInputError, match="PA-001"):
        rendered([site(detail_url=link)])


def test_the_exact_position_of_a_blurred_site_is_nowhere():
    document = rendered([blurred_site()])
    assert str(BLURRED.lon) in document
    assert "77.5512" not in document and "41.2034" not in document
    with pytest.raises(MapInputError, match="PA-002"):
        rendered([blurred_site()], boundaries=[outline("PA-002", -77.5512, 41.2034)])


def test_tiles_come_only_when_switched_on_and_with_their_credit():
    tiles = "https://tiles.invalid/{z}/{x}/{y}.png"
    document = rendered([site()], tiles_url=tiles, tiles_attribution="Maps by <b>us</b>")
    assert tiles in document and "<b>us" not in document
    with pytest.raises(MapInputError, match="credit"):
        rendered([site()], tiles_url=tiles)


def test_static_addresses_and_the_base_can_be_given():
    own = {"type": "FeatureCollection", "features": []}
    document = rendered([], static_url=lambda path: f"/s/{path}?v=abc", base=own)
    assert "/s/vendor/leaflet-1.9.4/leaflet.js?v=abc" in document
    assert "base-layer.js" not in document and 'baseLayer(map_document, {"type":"FeatureCollection"' in document
    assert "baseLayer" not in rendered([], base=None)


def test_the_stand_alone_file_needs_no_other_file():
    document = stand_alone_html([site(), blurred_site()], title="Sites", caption="Growing season 5")
    tags = Tags(document).found
    assert not any(name in attributes for _, attributes in tags for name in ("src", "href"))
    assert [a["content"] for t, a in tags if t == "meta" and a.get("http-equiv") == "Content-Security-Policy"] == [POLICY]
    assert "url(images/" not in document
    assert "0.70 (0.63–0.76), n 180" in document and BLURRED.statement in document
    assert "/plantings/sites/1/" not in document


def test_figures_in_the_table_lead_with_the_count_under_ten_trees():
    # Source: own rule; an interval is written 0.69 (0.62–0.75), n 180.
    assert survival_text(site(alive=7, n=9, share=7 / 9, band_low=7 / 9, band_high=7 / 9)) == "7 of 9"
    assert survival_text(site(alive=0, n=0, share=None)) == "not assessed"
    assert survival_text(site(low=None, high=None, band_low=None, band_high=None)) == "0.70, n 180"
    assert survival_text(site(band_low=0.7, band_high=0.75)).endswith(", n 180, band 0.70–0.75")
    assert survival_text(site(alive=7, n=9, share=7 / 9, band_low=7 / 9, band_high=8 / 9)) == "7 of 9, band 0.78–0.89"
