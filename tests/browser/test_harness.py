"""The browser fixtures themselves: every other browser test leans on them."""

from django.urls import reverse

from registry.models import Person
from tests import factories

OUTSIDE = "http://192.0.2.1/tile.png"  # an address set aside for documentation (RFC 5737)


def test_a_page_of_the_live_server_opens_with_its_style_sheets(page, page_complaints):
    page.goto(reverse("login"))
    assert page.get_by_role("heading").first.is_visible()
    loaded = page.evaluate("Array.from(document.styleSheets).map(sheet => sheet.cssRules.length)")
    assert loaded and all(loaded)
    assert page_complaints == []


def test_a_request_to_another_host_is_blocked_and_recorded(page, outside_requests):
    page.goto("about:blank")
    outcome = page.evaluate(f"fetch('{OUTSIDE}', {{mode: 'no-cors'}}).then(() => 'answered', () => 'refused')")
    assert (outcome, outside_requests) == ("refused", [OUTSIDE])
    outside_requests.clear()


def test_the_policy_refuses_the_same_request_before_it_leaves(page, outside_requests, page_complaints):
    page.goto(reverse("login"))
    outcome = page.evaluate(f"fetch('{OUTSIDE}', {{mode: 'no-cors'}}).then(() => 'answered', () => 'refused')")
    assert (outcome, outside_requests) == ("refused", [])
    assert any("Content Security Policy" in text for text in page_complaints)


def test_a_person_signs_in_with_the_form(page):
    person = factories.person("coordinator")
    page.goto(reverse("login"))
    page.fill("input[name=username]", person.username)
    page.fill("input[name=password]", factories.PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(lambda url: reverse("login") not in url)
    assert Person.objects.get(pk=person.pk).last_login is not None


def test_the_sign_in_helper_signs_in_one_context_only(page, new_context, sign_in):
    sign_in(factories.person("coordinator"))
    assert page.goto(reverse("today")).status == 200
    assert page.url.endswith(reverse("today"))
    other = new_context().new_page()
    other.goto(reverse("today"))
    assert reverse("login") in other.url
