"""The map page in a real browser, with every other host cut off. Common practice, no source."""

import pytest
from django.urls import reverse

from tests import factories
from tests.browser.settling import INKED, map_libraries, settled
from tests.plantings.survival.survival_examples import counted, planting_on

__all__ = ["map_libraries"]
# what the browser does with these pages; tests/plantings/sites and survival ask both databases for them
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("map_libraries")]


@pytest.fixture
def lead():
    person = factories.person("lead")
    place = factories.site(code="FALLS", name="Falls Road", longitude=-73.2, latitude=44.5)
    counted(planting_on(place), factories.stock_lot(), 100, 69)
    counted(planting_on(factories.site(code="POND", name="Long Pond", longitude=-70.2, latitude=43.1)), factories.stock_lot(), 9, 7)
    return person


def test_the_map_draws_its_markers_with_the_network_off(page, sign_in, lead, page_complaints, outside_requests):
    sign_in(lead)
    page.goto(reverse("map"))
    frame = page.frame_locator("iframe")
    frame.locator(".site-icon").first.wait_for()
    assert sorted(frame.locator(".site-icon .figure").all_text_contents()) == [".69", "7/9"]
    assert frame.locator("canvas").evaluate(INKED) > 1_000
    assert frame.get_by_text("VT", exact=True).count() == 1
    assert page_complaints == [] and outside_requests == []


def test_a_card_of_the_map_opens_the_site_in_the_window(page, sign_in, lead, page_complaints):
    sign_in(lead)
    page.goto(reverse("map"))
    frame = page.frame_locator("iframe")
    settled(frame)
    frame.get_by_label("Falls Road: ").click()
    assert "0.69 (0.59–0.77), n 100" in frame.locator(".card").text_content()
    # by key: a press of the mouse that falls while the map still pans the card into view lands beside it and closes it
    frame.get_by_role("link", name="Open this site").press("Enter")
    page.wait_for_url("**/sites/*/")
    assert page_complaints == []


@pytest.mark.parametrize("width", [375, 1280])
def test_a_slow_first_press_on_a_mark_opens_its_card(page, sign_in, lead, width):
    """The map takes the focus at the first press; were the page to scroll by it, the button would come up beside the mark."""
    page.set_viewport_size({"width": width, "height": 560})
    sign_in(lead)
    page.goto(reverse("map"))
    frame = page.frame_locator("iframe")
    settled(frame)
    mark = frame.get_by_label("Falls Road: ")
    mark.scroll_into_view_if_needed()
    before, box = page.evaluate("scrollY"), mark.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.wait_for_timeout(300)
    page.mouse.up()
    frame.locator(".card").wait_for()
    assert page.evaluate("scrollY") == before


@pytest.mark.parametrize("width", [375, 1280])
@pytest.mark.parametrize("route", ["results", "survival", "map"])
def test_no_result_page_scrolls_sideways(page, sign_in, lead, route, width):
    page.set_viewport_size({"width": width, "height": 800})
    sign_in(lead)
    page.goto(reverse(route))
    assert page.evaluate("document.documentElement.scrollWidth") <= width
