"""The band of words on a phone: in reach of the thumb whatever a round asks for, and never over the box that has the focus."""

import pytest
from playwright.sync_api import expect

from plantings.calc.census.measurements import MEASUREMENTS
from plantings.services.census.reviews import records_review
from plantings.services.trees import counted_plot_add
from tests import factories
from tests.browser.axe import RUN, SCRIPT, TAGS
from tests.browser.phone import OLD_PHONE, begin, field, opened, signed_in

__all__ = ["field", "signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

ASKED = [*(item.name for item in MEASUREMENTS), "crown_v1"]
SIZES = [(320, 640), (375, 667), (667, 375)]
KEYBOARD = 216  # pixels of a number pad on a phone of 320 to 375 pixels, from memory
STRIPS = [160, 125]  # pixels left above the keyboard of a phone held sideways, without and with the bars of its browser; from memory

# what is in sight of a word, and what lies over the box that has the focus: looked up at its corners and middle, as a finger would find it
_LOOK = """() => {
  const seen = window.visualViewport.height, of = element => element.getBoundingClientRect();
  const at = (x, y) => document.elementFromPoint(x, y);
  const words = [...document.querySelectorAll('#band button')];
  const inSight = words.map(word => { const r = of(word); return r.top >= 0 && r.bottom <= seen && word.contains(at((r.left + r.right) / 2, (r.top + r.bottom) / 2)); });
  const box = document.activeElement, r = of(box);
  const free = [[r.left + 4, r.top + 4], [r.right - 4, r.top + 4], [(r.left + r.right) / 2, (r.top + r.bottom) / 2], [r.left + 4, r.bottom - 4], [r.right - 4, r.bottom - 4]]
    .every(point => box.contains(at(...point)));
  return { inSight, free: free && r.bottom <= seen, focus: box.id || box.className };
}"""
_SETTLED = "() => new Promise(done => requestAnimationFrame(() => setTimeout(() => requestAnimationFrame(done))))"
# as the browser of a phone says it: the page keeps its size, and less of it is seen
_SHOW_KEYBOARD = """height => {
  const seen = window.visualViewport, full = seen.height;
  Object.defineProperty(seen, 'height', { configurable: true, get: () => full - height });
  seen.dispatchEvent(new Event('resize'));
}"""


@pytest.fixture
def at_tree(new_context, sign_in, field):
    """`at_tree(asked, size)`: the first tree of the round, which asks for so many measurements, on a phone of that size."""

    def make(asked, size, *, letters="100%", language="en"):
        factories.own_measurement(actor=field.lead, code="crown", name="Crown", unit="cm", low=0, high=900)
        field.round.protocol = factories.protocol(ASKED[:asked], actor=field.lead)
        field.round.save()
        context = new_context(**OLD_PHONE | {"viewport": dict(zip(("width", "height"), size, strict=True))})
        sign_in(field.crew, context)
        page = opened(context, field.address)
        if language == "fr":
            page.get_by_role("button", name="Français").tap()
        page.evaluate("size => { document.documentElement.style.fontSize = size; }", letters)
        begin(page, is_sent=True)
        return page

    return make


def looked(page):
    page.evaluate(_SETTLED)
    return page.evaluate(_LOOK)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("asked", [0, 3, 8])
def test_the_words_are_in_sight_and_cover_no_box_with_focus(at_tree, asked, size, page_complaints):
    page = at_tree(asked, size)
    boxes = page.locator(".measure input, .measure select")
    expect(boxes).to_have_count(asked)
    assert looked(page)["inSight"] == [True] * 8
    for place in range(asked):
        expect(boxes.nth(place)).to_be_focused()
        seen = looked(page)
        assert seen["free"], (place, seen)
        assert seen["inSight"][0], (place, seen)
        page.keyboard.press("Enter")
    page.locator("summary", has_text="Note").focus()
    assert looked(page)["free"]
    page.evaluate(SCRIPT)
    assert page.evaluate(RUN, [TAGS, []]) == []
    page.locator("#band").get_by_role("button", name="Dead", exact=True).tap()
    expect(page.locator("#ask h3")).to_be_focused()
    assert looked(page)["free"]
    assert page_complaints == []


def asked_back(field):
    """A record of the first tree that the office asks about, in about as many words as fit in a sentence."""
    factories.observe(field.round, {field.trees[0]: "A"}, actor=field.crew)
    question = "is the shelter still up? the height on file is that of its rim, and last year the tree was a hand lower"
    records_review(actor=field.lead, observations=field.trees[0].observations.all(), state="asked_back", reason=question)


@pytest.mark.parametrize("size", SIZES)
def test_a_question_pushes_no_box_with_focus_under_the_words(at_tree, field, size):
    asked_back(field)
    page = at_tree(8, size, language="fr")
    expect(page.locator("#question")).to_be_visible()
    seen = looked(page)
    assert seen["free"], seen
    page.locator("#box-height_cm").focus()
    page.keyboard.type("142")
    seen = looked(page)
    assert seen["free"] and seen["focus"] == "box-height_cm", seen


@pytest.mark.parametrize(("size", "seen_height"), [(SIZES[0], SIZES[0][1] - KEYBOARD), *((SIZES[2], strip) for strip in STRIPS)])
def test_the_count_of_a_plot_is_saved_above_the_keyboard(at_tree, field, size, seen_height):
    lot = factories.seed_lot(actor=field.lead)
    counted_plot_add(actor=field.lead, planting=field.planting, code="P1", lot=lot, planted_count=40)
    page = at_tree(0, size)
    page.evaluate("mastbookPhone.openTree(mastbookPhone.state.plots[0])")
    page.evaluate(_SHOW_KEYBOARD, size[1] - seen_height)
    for field_name in ("alive", "dead"):
        page.locator(f"#count-{field_name}").focus()
        seen = looked(page)
        assert seen["free"] and seen["inSight"] == [True], seen
    assert page.locator(".foot .named").is_visible() == (seen_height in STRIPS)
    expect(page.locator(".foot .named")).to_have_text("Plot P1")


def test_the_screens_beside_the_trees_keep_no_room_for_a_band(at_tree):
    page = at_tree(0, SIZES[0])
    foot = "document.documentElement.style.getPropertyValue('--foot')"
    page.evaluate(_SETTLED)
    assert page.evaluate(foot) != "0px"
    page.get_by_role("button", name="Find a tree").tap()
    page.evaluate(_SETTLED)
    assert page.evaluate(foot) == "0px"


def test_the_room_of_the_band_is_free_at_once_on_the_next_screen(at_tree):
    page = at_tree(0, SIZES[0])
    page.evaluate(_SETTLED)
    at_once = "name => { mastbookPhone.show(name); return document.documentElement.style.getPropertyValue('--foot'); }"
    assert page.evaluate(at_once, "find") == "0px"


@pytest.mark.parametrize(("strip", "language"), list(zip(STRIPS, ["en", "fr"], strict=True)))
def test_five_words_and_the_tag_are_in_the_strip_above_the_keyboard(at_tree, field, strip, language):
    page = at_tree(8, SIZES[2], language=language)
    page.evaluate(_SHOW_KEYBOARD, SIZES[2][1] - strip)
    tag = page.locator(".foot .named code")
    for tree in field.trees[:2]:
        height = page.locator("#box-height_cm")
        height.focus()
        page.keyboard.type("142")
        seen = looked(page)
        assert seen["free"] and seen["inSight"] == [True] * 5 + [False] * 3, seen
        expect(tag).to_be_visible()
        expect(tag).to_have_text(tree.tag)
        page.keyboard.type("x")  # what is wrong with a reading is said in the line of the tag
        page.locator("#band button").first.tap()
        expect(page.locator("#box-said")).not_to_be_empty()
        expect(tag).not_to_be_visible()
        seen = looked(page)
        assert seen["free"] and seen["inSight"][0], seen
        page.keyboard.press("Backspace")
        page.locator("#band button").first.tap()
        expect(page.locator("#open-tree code")).not_to_have_text(tree.tag)
    assert page.evaluate("mastbookPhone.store.queue().then(all => all.map(one => one.values.height_cm))") == [142, 142]


_IN_SIGHT = """element => { const r = element.getBoundingClientRect(), at = document.elementFromPoint((r.left + r.right) / 2, (r.top + r.bottom) / 2);
  return r.top >= 0 && r.bottom <= window.visualViewport.height && element.contains(at); }"""


def test_what_is_tapped_after_typing_is_above_the_keyboard_on_each_screen(at_tree, field):
    factories.observe(field.last, {field.trees[0]: "A"}, actor=field.lead, height_cm=120)
    page = at_tree(1, SIZES[2])
    page.evaluate(_SHOW_KEYBOARD, SIZES[2][1] - STRIPS[0])

    def typed(box, words, next_tap):
        page.evaluate("document.activeElement.blur(); window.scrollTo(0, 0)")
        page.locator(box).focus()
        page.keyboard.insert_text(words)
        # once the page has come to rest; it times out where one of them stays out of sight
        both = f"both => both.map(one => document.querySelector(one)).every(one => one && ({_IN_SIGHT})(one))"
        page.wait_for_function(both, arg=[box, next_tap])

    page.locator("summary", has_text="Note").tap()
    typed("#note", "leans", "#band .word-a")
    page.locator("#note").fill("")
    page.locator(".measure input").fill("12")
    page.locator("#band .word-a").tap()
    typed("#why", "browsed", "#ask button.main")
    page.keyboard.press("Enter")
    expect(page.locator("#open-tree code")).to_have_text(field.trees[1].tag)
    assert "browsed" in page.evaluate("mastbookPhone.store.queue().then(all => all.map(one => one.note))")
    page.evaluate("mastbookPhone.act.find()")
    typed("#find-box", field.trees[4].tag, ".picks[role=status] button")
    page.evaluate("mastbookPhone.show('start')")
    typed("#who", "", "#start")


@pytest.mark.parametrize(("size", "language"), list(zip(SIZES, ["fr", "fr", "en"], strict=True)))
def test_a_question_says_which_tree_it_is_of(at_tree, field, size, language):
    page = at_tree(3, size, language=language)
    page.locator("#band .word-d").tap()
    named = page.locator("#ask .asked-of")
    expect(named.locator("code")).to_have_text(field.trees[0].tag)
    expect(named).to_contain_text("row 1, position 1" if language == "en" else "rangée 1, emplacement 1")
    page.evaluate(_SETTLED)
    assert named.locator("code").evaluate(_IN_SIGHT)


@pytest.mark.parametrize("language", ["en", "fr"])
@pytest.mark.parametrize("size", SIZES[:2])
def test_the_first_word_is_above_the_keyboard_of_the_phone(at_tree, size, language):
    page = at_tree(8, size, language=language)
    page.evaluate(_SHOW_KEYBOARD, KEYBOARD)
    seen = looked(page)
    assert seen["inSight"][0]
    assert seen["free"]
    page.evaluate("delete window.visualViewport.height; window.visualViewport.dispatchEvent(new Event('resize'))")
    assert looked(page)["inSight"] == [True] * 8


@pytest.mark.parametrize("size", SIZES[:2])
def test_letters_twice_as_large_leave_the_first_word_in_sight(at_tree, size):
    page = at_tree(8, size, letters="200%")
    boxes = page.locator(".measure input, .measure select")
    for place in range(8):
        expect(boxes.nth(place)).to_be_focused()
        seen = looked(page)
        assert seen["free"], (place, seen)
        assert seen["inSight"][0], (place, seen)
        page.keyboard.press("Enter")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    expect(page.locator("#band button").first).to_be_focused()
    for word in page.locator("#band button").all():  # by the keyboard each comes into sight
        word.focus()
        seen = looked(page)
        assert seen["free"], seen


def test_a_screen_without_room_leaves_the_band_where_it_is_written(at_tree):
    page = at_tree(8, SIZES[2])
    page.evaluate(_SHOW_KEYBOARD, SIZES[2][1] - 110)
    seen = looked(page)
    assert seen["free"]
    assert not any(seen["inSight"])
