"""The plan beside a tree on the phone: where the walk starts, and the whole planting where it can be read on a small screen."""

import pytest
from playwright.sync_api import expect

from plantings.views.phone import data as phone_data
from tests import factories
from tests.browser.phone import Field, begin, opened, signed_in

__all__ = ["signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# the dots of the trees, where the ring and the mark are, and how all of it comes out on the screen
_DRAWN = """() => {
    const svg = document.querySelector(".plan"), dots = svg.querySelector(".edge").getAttribute("d").match(/M[^h]+/g).map(dot => dot.slice(1));
    const ring = svg.querySelector(".first"), here = svg.querySelector(".here"), frame = svg.getBoundingClientRect();
    const at = mark => mark && mark.getAttribute("cx") + " " + mark.getAttribute("cy");
    const inFrame = mark => {
        const box = mark.getBoundingClientRect();
        return box.left >= frame.left - 1 && box.right <= frame.right + 1 && box.top >= frame.top - 1 && box.bottom <= frame.bottom + 1;
    };
    return {
        trees: dots.length, start: dots[0], ring: at(ring), here: at(here), step: svg.getScreenCTM().a, mark: here.getBoundingClientRect().width,
        isInside: inFrame(here) && (!ring || inFrame(ring)), isScrolled: document.documentElement.scrollWidth > window.innerWidth,
        words: document.querySelector(".plan-box p").textContent, label: svg.getAttribute("aria-label"),
    };
}"""


@pytest.fixture
def field(transactional_db):
    return Field(count=0)


def plant(field, blocks, rows, across, *, alike=False):
    """Blocks of rows of trees; with `alike` each block numbers its rows from 1."""
    lot = factories.stock_lot(actor=field.lead)
    for block in range(1, blocks + 1):
        for row in range(1, rows + 1):
            at = row if alike else (block - 1) * rows + row
            factories.trees(field.planting, lot, across, actor=field.lead, row=at, block=f"{block}", tag=f"B{block}-")


def at_tree(signed_in, field):
    page = opened(signed_in(), field.address)
    begin(page)
    return page


def to_last(page, tag):
    page.get_by_role("button", name="Find a tree").tap()
    page.locator("#find-box").fill(tag)
    page.locator(".picks button").first.tap()
    expect(page.locator("#open-tree code")).to_have_text(tag)


def test_a_planting_of_many_blocks_is_drawn_whole_with_its_start(signed_in, field):
    plant(field, 24, 2, 4)
    page = at_tree(signed_in, field)
    drawn = page.evaluate(_DRAWN)
    assert (drawn["trees"], drawn["ring"], drawn["here"]) == (192, drawn["start"], drawn["start"])
    assert drawn["words"] == "Ring: first tree, B1-01001" and drawn["label"].endswith(". Ring: first tree, B1-01001")
    assert drawn["isInside"] and not drawn["isScrolled"] and drawn["step"] >= 4 and drawn["mark"] >= 8
    to_last(page, "B24-48004")
    last = page.evaluate(_DRAWN)
    assert (last["trees"], last["ring"]) == (192, drawn["start"]) and last["here"] != drawn["start"] and last["isInside"]


def test_blocks_that_number_their_rows_alike_are_drawn_apart(signed_in, field):
    plant(field, 3, 3, 5, alike=True)
    page = at_tree(signed_in, field)
    to_last(page, "B2-01001")
    drawn = page.evaluate(_DRAWN)
    assert (drawn["trees"], drawn["ring"]) == (15, drawn["start"])
    assert drawn["words"] == "Block 2, 2 of 3 Ring: first tree, B2-01001"
    assert drawn["isInside"] and not drawn["isScrolled"]


@pytest.mark.parametrize(("rows", "across", "trees"), [(16, 16, 256), (20, 18, 180)])
def test_a_broad_planting_is_whole_while_its_dots_can_be_told_apart(signed_in, field, rows, across, trees):
    plant(field, 2, rows // 2, across)
    drawn = at_tree(signed_in, field).evaluate(_DRAWN)
    assert drawn["trees"] == trees and drawn["step"] >= 4
    assert drawn["isInside"] and not drawn["isScrolled"]


def test_a_block_that_came_in_part_has_no_ring_without_its_start(signed_in, field, monkeypatch):
    monkeypatch.setattr(phone_data, "WHOLE_TREES_MOST", 10)
    monkeypatch.setattr(phone_data, "PART_TREES_MOST", 10)
    plant(field, 1, 5, 4)
    page = opened(signed_in(), field.address)
    page.locator("#blocks").get_by_role("button").nth(2).tap()
    expect(page.get_by_text("1 of 2 are here.")).to_be_visible()
    begin(page)
    drawn = page.evaluate(_DRAWN)
    assert (drawn["trees"], drawn["ring"], drawn["words"]) == (10, None, "")
