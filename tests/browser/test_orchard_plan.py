"""The plan of an orchard by keyboard, on a small phone and on paper."""

import pytest
from django.urls import reverse

from tests import factories

pytestmark = pytest.mark.browser

ADDRESS = f"{reverse('orchard_plan')}?orchard=Mill+Brook&block=A"


@pytest.fixture
def orchard(db):
    """Three rows of twelve trees; the second of the first row is decided to be rogued."""
    taxon = factories.taxon()
    trees = [
        factories.pedigree_tree(
            code=f"MB-A-{row:02d}{position:02d}", taxon=taxon, orchard="Mill Brook", block="A", row=row, position=position,
            backcrosses=3, intercrosses=1, recurrent_line="Winooski",
        )
        for row in (1, 2, 3) for position in range(1, 13)
    ]  # fmt: skip
    factories.decision(trees[1], "rogued")
    return trees


def test_a_plan_scrolls_in_its_own_box_on_a_phone(new_context, sign_in, orchard):
    context = new_context(viewport={"width": 375, "height": 700}, has_touch=True, is_mobile=True)
    sign_in(factories.person("manager"), context)
    page = context.new_page()
    page.goto(ADDRESS)
    assert page.evaluate("document.documentElement.scrollWidth") == 375
    box = page.get_by_role("region", name="Block A")
    assert box.evaluate("box => box.scrollWidth > box.clientWidth")
    heights = [link.bounding_box()["height"] for link in box.get_by_role("link").all()[:4]]
    assert min(heights) >= 44  # WCAG 2.2, 2.5.5 Target Size (Enhanced): 44 CSS pixels


def test_a_plan_is_read_changed_and_followed_by_keyboard_alone(page, sign_in, orchard, page_complaints):
    sign_in(factories.person("manager"))
    page.goto(ADDRESS)
    page.get_by_label("showing").focus()
    page.keyboard.type("recurrent")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.innerText") == "Show the plan"
    page.keyboard.press("Enter")
    page.get_by_text("Under each code: recurrent line.").wait_for()
    page.get_by_role("button", name="Show the plan").focus()
    page.keyboard.press("Tab")  # the box itself, which the arrows scroll
    assert page.evaluate("document.activeElement.className") == "positions-scroll"
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert "MB-A-0102: standing, to be rogued, B3F2, line Winooski" in page.evaluate("document.activeElement.textContent")
    page.keyboard.press("Enter")
    page.get_by_role("heading", level=1, name="MB-A-0102").wait_for()
    assert page_complaints == []


def test_a_plan_of_a_block_prints_on_one_sheet_across(page, sign_in, orchard, tmp_path):
    from pypdf import PdfReader

    sign_in(factories.person("manager"))
    page.goto(ADDRESS)
    page.pdf(path=tmp_path / "plan.pdf", prefer_css_page_size=True)
    sheets = PdfReader(tmp_path / "plan.pdf").pages
    assert len(sheets) == 1
    assert sheets[0].mediabox.width > sheets[0].mediabox.height
    text = sheets[0].extract_text()
    assert all(tree.code in text for tree in orchard)
