"""The keying grid by keyboard alone, as somebody types a paper sheet in."""

import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.models import Observation
from plantings.services.field_form.pages import form_pages_store
from plantings.services.field_form.scans import form_scans_add
from tests import factories
from tests.plantings.census.test_scans import photo

pytestmark = pytest.mark.browser


@pytest.fixture
def sheet(db, sign_in):
    """(round, its trees): five in a row, the third recorded already; the coordinator is signed in."""
    coordinator = factories.person("coordinator")
    planting = factories.planting()
    trees = factories.trees(planting, count=5)
    census_round = factories.census_round(planting)
    factories.observe(census_round, {trees[2]: "A"}, actor=coordinator)
    sign_in(coordinator)
    return census_round, trees


def at(page):
    return page.evaluate("document.activeElement.name")


def test_a_sheet_is_typed_in_and_stored_by_keyboard_alone(page, sheet, page_complaints):
    census_round, trees = sheet
    page.goto(reverse("census_grid", args=[census_round.pk]))
    page.locator("input[name=observed_on]").focus()
    page.keyboard.type("09142019")
    status = f"input[name=t{trees[0].pk}-status]"
    page.locator(status).focus()

    for code in ("A", "A", "D", "NF"):  # down the column; the recorded row has no box and is passed over
        page.keyboard.type(code)
        page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.type") == "submit"

    page.locator(status).focus()
    page.keyboard.press("Tab")
    assert at(page) == f"t{trees[0].pk}-cause"
    page.keyboard.press("Tab")
    assert at(page) == f"t{trees[0].pk}-height_cm"
    page.keyboard.type("142")
    page.keyboard.press("ArrowDown")
    assert at(page) == f"t{trees[1].pk}-height_cm"
    page.keyboard.type("97.5")
    page.keyboard.press("ArrowDown")
    assert at(page) == f"t{trees[3].pk}-height_cm"
    page.keyboard.press("ArrowUp")
    page.keyboard.type("98.5")  # the text of a box is selected, so typing replaces it
    page.keyboard.press("Shift+Enter")
    assert at(page) == f"t{trees[0].pk}-height_cm"
    assert Observation.objects.count() == 1  # no key has sent the page yet

    page.locator(f"input[name=t{trees[3].pk}-cause]").focus()
    page.keyboard.type("can")
    page.locator(f"input[name=t{trees[4].pk}-status]").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.get_by_text("Records of 4 trees saved.").wait_for()

    stored = dict(Observation.objects.exclude(tree=trees[2]).values_list("tree__tag", "status"))
    assert stored == {trees[0].tag: "A", trees[1].tag: "A", trees[3].tag: "D", trees[4].tag: "NF"}
    assert list(Observation.objects.filter(height_cm__isnull=False).order_by("tree").values_list("height_cm", flat=True)) == [142, 98.5]
    assert Observation.objects.get(tree=trees[3]).cause == "canker"
    assert page_complaints == []


@pytest.mark.parametrize(("key", "times"), [("ArrowUp", 20), ("Shift+Tab", 150)])
def test_a_box_with_the_focus_is_never_under_the_photographed_page(page, sheet, key, times):
    """The photo stays at the top while the grid scrolls under it. WCAG 2.2, 2.4.11 Focus Not Obscured."""
    census_round, _trees = sheet
    coordinator = factories.person("coordinator")
    trees = factories.trees(census_round.planting, count=30, row=2)
    [form_page] = form_pages_store(actor=coordinator, census_round=census_round, pages=[[tree.pk for tree in trees]])
    form_scans_add(actor=coordinator, census_round=census_round, files=[(photo((1600, 1200)), "page.jpg")], page=form_page)
    page.goto(reverse("formpage_key", args=[form_page.pk]))
    page.wait_for_function("document.querySelector('.scans img').complete")
    page.locator(f"input[name=t{trees[25].pk}-status]").focus()
    under = "document.activeElement.getBoundingClientRect().top < document.querySelector('.scans').getBoundingClientRect().bottom"
    hidden = []
    for _ in range(times):
        page.keyboard.press(key)
        hidden += [at(page)] if page.evaluate(under) else []
    assert hidden == [] and at(page) != f"t{trees[25].pk}-status"


@pytest.mark.parametrize("size", [(390, 700), (700, 700), (1100, 800)])
def test_a_box_with_the_focus_is_never_under_the_head_of_the_grid(page, sheet, size):
    """Head and first column stay in sight while the grid scrolls under them. WCAG 2.2, 2.4.11 Focus Not Obscured."""
    census_round, _trees = sheet
    trees = factories.trees(census_round.planting, count=30, row=2)
    page.set_viewport_size(dict(zip(("width", "height"), size, strict=True)))
    page.goto(reverse("census_grid", args=[census_round.pk]))
    beside = """() => {
        const box = document.activeElement.getBoundingClientRect(), head = document.activeElement.closest("tr").querySelector("th");
        const above = document.activeElement.closest("table").querySelector("thead th").getBoundingClientRect();
        return box.left >= head.getBoundingClientRect().right - 1 && box.top >= above.bottom - 1;
    }"""
    hidden = []
    for start, key, times in ((f"t{trees[20].pk}-note", "Shift+Tab", 10), (f"t{trees[25].pk}-status", "ArrowUp", 20)):
        page.locator(f"input[name={start}]").focus()
        for _ in range(times):
            page.keyboard.press(key)
            hidden += [] if page.evaluate(beside) else [at(page)]
    assert hidden == []


def test_a_page_with_something_typed_asks_before_it_is_left(page, sheet):
    census_round, trees = sheet
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    page.goto(reverse("census_grid", args=[census_round.pk]))
    page.locator(f"input[name=t{trees[0].pk}-status]").click()
    page.keyboard.type("A")
    page.get_by_role("link", name="Back to the round").click()
    page.wait_for_url("**" + reverse("round_detail", args=[census_round.pk]))
    assert asked == ["beforeunload"]
    page.goto(reverse("census_grid", args=[census_round.pk]))
    page.get_by_role("link", name="Back to the round").click()
    page.wait_for_url("**" + reverse("round_detail", args=[census_round.pk]))
    assert asked == ["beforeunload"]


def test_a_date_box_offers_days_until_less_than_a_day_is_known(page, sheet):
    census_round, trees = sheet
    page.goto(reverse("census_tree", args=[census_round.pk, trees[0].pk]))
    box = page.get_by_label("Seen on")
    assert (box.get_attribute("type"), box.input_value()) == ("date", timezone.localdate().isoformat())
    page.get_by_role("button", name="Only the month or year is known").click()
    assert page.get_by_text("A day such as 2019-05-12").is_visible() and at(page) == "observed_on"
    box.fill("May 2019")
    page.get_by_role("button", name="Choose a day").click()
    assert (box.get_attribute("type"), box.input_value()) == ("date", "")
    page.get_by_role("button", name="Only the month or year is known").click()
    assert box.input_value() == "May 2019"


def test_the_plain_form_can_be_filled_with_a_thumb_on_a_small_phone(new_context, sheet, sign_in, live_server):
    census_round, trees = sheet
    context = new_context(viewport={"width": 320, "height": 640}, has_touch=True, is_mobile=True)
    sign_in(factories.person("lead"), context)
    page = context.new_page()
    page.goto(reverse("census_tree", args=[census_round.pk, trees[0].pk]))
    heights = [box["height"] for box in (label.bounding_box() for label in page.locator(".choices label").all())]
    assert len(heights) == 8 and min(heights) >= 44  # WCAG 2.2, 2.5.5 Target Size (Enhanced): 44 CSS pixels
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.locator(".choices label", has_text="Alive (A)").tap()
    page.locator("input[name=observed_on]").fill("2019-09-14")
    page.get_by_role("button", name="Save and go to the next tree").tap()
    page.get_by_text(f"Record of tree {trees[0].tag} saved.").wait_for()
    assert page.get_by_role("heading", level=1).inner_text() == f"Tree {trees[1].tag}"
