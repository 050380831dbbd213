"""On a phone: a landowner's own page by a private link, and the census form under its cautions."""

import datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.models import Observation
from registry.models import CautionSeen, LandNotice, Receipt
from tests import factories
from tests.plantings.land.land_scene import Land
from tests.registry.safety.test_cautions import caution

pytestmark = pytest.mark.django_db(transaction=True)

WIDTHS = (320, 375)


def fits(page):
    return page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_landowner_confirms_a_box_and_tells_of_a_sale_on_a_phone(new_context, script):
    land = Land("Hazel")
    lead = land.lead
    for number in range(3):
        caution(f"C{number}", actor=lead, hazard=f"Hazard {number}", text="Keep your eyes open and your boots clean.")
    context = new_context(viewport={"width": 375, "height": 700}, java_script_enabled=script)
    page = context.new_page()
    page.goto(land.url())
    page.get_by_role("link", name="Confirm what arrived").click()
    [line] = land.box.lines.all()
    page.fill(f"[name=sound_{line.pk}]", "9")
    page.fill(f"[name=spoiled_{line.pk}]", "1")
    page.fill("[name=temperature_c]", "5")
    page.select_option("[name=box_condition]", "good")
    page.get_by_role("button", name="Send the receipt").click()
    page.get_by_text("saved. Thank you.").wait_for()
    part = Receipt.objects.get().lines.get()
    assert (part.sound, part.spoiled, part.receipt.temperature_c, part.receipt.entered_by) == (9, 1, 5, land.person)
    page.get_by_role("link", name="Send us a message").click()
    page.get_by_label("the land is being sold or handed on").check()
    page.fill("[name=text]", "Sold to the mill in May.")
    page.get_by_role("button", name="Send the message").click()
    page.get_by_text("The coordinator can see it").wait_for()
    assert LandNotice.objects.get().entered_by == land.person


def test_no_page_behind_the_link_scrolls_sideways_on_a_small_phone(new_context):
    land = Land("Hazel")
    addresses = [
        land.url(), land.url("land_tell"), land.url("land_receipt", land.box.pk), land.url("land_agreement", land.paper.pk),
        reverse("land_page", args=["never-a-link"]),
    ]  # fmt: skip
    for width in WIDTHS:
        page = new_context(viewport={"width": width, "height": 700}).new_page()
        for address in addresses:
            page.goto(address)
            assert fits(page), (width, address)


def test_the_secret_address_is_never_sent_as_referrer(new_context, live_server):
    land = Land("Hazel")
    page = new_context().new_page()
    page.goto(land.url())
    assert page.evaluate("fetch('/sign-in/').then(() => document.referrer)") == ""
    sent = []
    page.on("request", lambda request: sent.append(request.headers.get("referer", "")))
    page.goto(land.url())
    page.get_by_role("link", name="Send us a message").click()
    page.wait_for_url("**/tell/")
    assert sent and set(sent) == {""}


def test_the_census_form_is_usable_at_once_under_its_cautions(page, sign_in):
    volunteer, lead = factories.person("volunteer"), factories.person("lead")
    planting = factories.planting(crew=[volunteer], site=factories.site(cautions="Dead limbs along the east edge."))
    [tree, *_] = factories.trees(planting, count=2, actor=lead)
    today = timezone.localdate()
    census_round = factories.census_round(planting, opens_on=today, closes_on=today + datetime.timedelta(days=20))
    for number in range(15):
        task = "census" if number % 2 else "any"
        caution(f"C{number:02d}", actor=lead, task=task, hazard=f"Hazard {number}", text="Look up, look down, and keep your boots clean.")
    sign_in(volunteer)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 667})
        page.goto(reverse("census_tree", args=[census_round.pk, tree.pk]))
        assert fits(page)
        assert page.get_by_text("Hazard 1 ·").is_visible()
        # within two screens of a small phone, with nothing to open or to press before
        assert page.locator("[name=status]").first.bounding_box()["y"] < 2 * 667
        assert page.locator("[name=status]").first.is_enabled()
    page.locator("[name=status][value=A]").check()
    page.get_by_label("I have read these").check()
    page.get_by_role("button", name="Save and go to the next tree").click()
    page.get_by_text(" saved.").wait_for()
    assert Observation.objects.get().status == "A"
    assert len(CautionSeen.objects.get().versions) == 15
    assert page.get_by_label("I have read these").count() == 0
