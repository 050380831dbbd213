"""Finding a tree by the code on its tag, with a camera and a reader of codes that are both made for the test."""

import pytest
from playwright.sync_api import expect

from tests.browser.axe import RUN, SCRIPT, TAGS
from tests.browser.phone import begin, field, opened, signed_in, until

__all__ = ["field", "signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# codes are what the camera sees; every track that a page gets is noted
_READER = """
window.codes = [];
window.BarcodeDetector = class { async detect(video) { if (video.videoWidth) return window.codes.map(rawValue => ({ rawValue })); return []; } };
window.tracks = [];
const devices = navigator.mediaDevices || {}, ask = devices.getUserMedia;  // the empty page before has none
devices.getUserMedia = async wanted => { const found = await ask.call(devices, wanted); window.tracks.push(...found.getTracks()); return found; };
"""
_CAMERAS_ON = "window.tracks.filter(track => track.readyState === 'live').length"


def test_a_scanned_tag_opens_its_tree_and_the_camera_goes_off(signed_in, field, page_complaints):
    context = signed_in()
    context.add_init_script(_READER)
    page = opened(context, field.address)
    begin(page)
    page.get_by_role("button", name="Scan a tag").tap()
    expect(page.locator("video.scan")).to_be_visible()
    page.evaluate("window.codes = ['OTHER/T999']")
    expect(page.get_by_text("“OTHER/T999” is not the tag of a tree of this round.")).to_be_visible()
    assert page.evaluate(_CAMERAS_ON) == 1
    page.evaluate(SCRIPT)
    assert page.evaluate(RUN, [TAGS, []]) == []
    page.evaluate("code => { window.codes = [code] }", f"https://mast.example.org/find/?q={field.planting.code}%2F{field.trees[6].tag}")
    expect(page.locator("#open-tree code")).to_have_text(field.trees[6].tag)
    assert page.evaluate(_CAMERAS_ON) == 0
    page.evaluate("window.codes = []")
    page.get_by_role("button", name="Scan a tag").tap()
    page.locator("#find-box").fill(field.trees[3].tag)  # typing goes on beside the camera
    page.get_by_role("button", name=f"{field.trees[3].tag} ·").first.tap()
    expect(page.locator("#open-tree code")).to_have_text(field.trees[3].tag)
    assert page.evaluate(_CAMERAS_ON) == 0
    assert page_complaints == []


def test_a_camera_given_late_goes_off_and_the_next_scan_goes_on(signed_in, field):
    """The question whether the page may use the camera is answered after the screen was left and opened again."""
    context = signed_in()
    context.add_init_script(_READER)
    page = opened(context, field.address)
    begin(page)
    page.evaluate("""() => {
        const devices = navigator.mediaDevices, ask = devices.getUserMedia;
        devices.getUserMedia = async wanted => { devices.getUserMedia = ask; await new Promise(done => { window.allow = done; }); return ask.call(devices, wanted); };
        mastbookPhone.show('scan');
        mastbookPhone.show('scan');
    }""")
    expect(page.locator("video.scan")).to_be_visible()
    until(page, lambda: page.evaluate("window.tracks.length") == 1)
    page.evaluate("window.allow()")
    until(page, lambda: page.evaluate("window.tracks.length") == 2 and page.evaluate(_CAMERAS_ON) == 1)
    expect(page.locator("video.scan")).to_be_visible()


def test_a_camera_that_may_not_be_used_leaves_the_box(signed_in, field):
    context = signed_in()
    context.add_init_script(_READER + "devices.getUserMedia = async () => { throw new DOMException('', 'NotAllowedError') };")
    page = opened(context, field.address)
    begin(page)
    page.get_by_role("button", name="Scan a tag").tap()
    expect(page.get_by_text("The camera cannot be used. Type the tag.")).to_be_visible()
    expect(page.locator("#find-box")).to_be_visible()


def test_without_a_reader_of_codes_no_scan_is_offered(signed_in, field):
    context = signed_in()
    context.add_init_script("delete window.BarcodeDetector")
    page = opened(context, field.address)
    begin(page)
    expect(page.get_by_role("button", name="Find a tree")).to_be_visible()
    expect(page.get_by_role("button", name="Scan a tag")).to_have_count(0)
