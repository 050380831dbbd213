"""Photos taken on a phone: small, sent after their record, none lost and none doubled, whatever the line and the server do."""

import io

import pytest
from PIL import Image
from playwright.sync_api import expect

from plantings.models import Observation, Photo
from plantings.views.plantings import photos
from registry.selectors.permits.documents import file_content
from tests.browser.axe import RUN, SCRIPT, TAGS
from tests.browser.phone import begin, field, opened, send, send_until_empty, signed_in, tap_word, unsent

__all__ = ["field", "signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)


def from_camera(shade, size=(2400, 1800)):
    """A picture as a camera gives it, with its place."""
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (45.0, 5.0, 0.0)}
    made = io.BytesIO()
    Image.new("RGB", size, (shade, 120, 60)).save(made, "JPEG", exif=exif, comment=b"camera of mine")
    return {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": made.getvalue()}


def take(page, shade, left):
    page.locator("#photo").set_input_files(from_camera(shade))
    expect(page.locator("#unsent-photos")).to_have_text(f"+ {left} photo{'s' if left > 1 else ''}")


def test_photos_follow_their_record_over_a_bad_line(signed_in, field, monkeypatch):
    context = signed_in()
    page = opened(context, field.address)
    begin(page, is_sent=True)
    context.set_offline(True)
    take(page, 10, 1)
    page.close()  # the phone dies before the word is tapped
    page = context.new_page()
    page.goto(field.address)
    begin(page)
    expect(page.locator(".thumb")).to_have_count(1)
    take(page, 20, 2)
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    page.locator("#undo").tap()
    expect(page.locator(".thumb")).to_have_count(2)
    expect(page.locator(".told-tree")).to_have_count(0)  # the word that was taken back is not said any longer
    page.get_by_role("button", name="Delete photo 2").evaluate("button => { button.click(); button.click(); }")
    expect(page.locator(".thumb")).to_have_count(1)
    expect(page.locator(".told-photo")).to_have_count(0)  # the second tap found it gone, and not sent
    tap_word(page, field.trees[0].tag, "Dead", "Deer")
    expect(page.locator("#open-tree code")).to_have_text(field.trees[1].tag)
    take(page, 30, 2)  # of the second tree, before its word

    calls = []
    receive = photos.photo_receive

    def on_a_bad_line(**given):
        calls.append(given)
        assert Observation.objects.filter(uuid=given["about"]["record"]).exists()
        if len(calls) == 1:
            raise ConnectionError("the line dropped before the photo arrived")
        answer = receive(**given)
        if len(calls) == 2:
            raise ConnectionError("the server died after the commit")
        return answer

    monkeypatch.setattr(photos, "photo_receive", on_a_bad_line)
    context.set_offline(False)
    send_until_empty(page)
    send(page, times=3)  # dropped, died, arrived; some of them by itself
    expect(page.locator("#unsent-photos")).to_have_text("+ 1 photo")  # that of the second tree waits for its word
    assert len(calls) == 3
    photo = Photo.objects.get()
    assert (photo.observation.tree, photo.observation.status) == (field.trees[0], "D")
    picture = Image.open(io.BytesIO(file_content(photo.file)))
    assert picture.size == (1600, 1200) and not picture.getexif()
    assert b"mine" not in calls[0]["content"] and len(calls[0]["content"]) < 200_000  # the phone has left it out already
    tap_word(page, field.trees[1].tag, "Alive")
    unsent(page, 1)
    page.locator("#send").tap()
    unsent(page, 0)
    expect(page.locator("#unsent-photos")).to_be_hidden()
    assert sorted(Photo.objects.values_list("observation__tree__tag", flat=True)) == [tree.tag for tree in field.trees[:2]]


def test_a_refused_photo_stays_with_its_reason_and_is_saved(signed_in, field, monkeypatch, tmp_path):
    context = signed_in()
    page = opened(context, field.address)
    begin(page, is_sent=True)
    take(page, 10, 1)
    tap_word(page, field.trees[0].tag, "Alive")
    monkeypatch.setattr("plantings.services.census.photos.PHOTOS_A_RECORD", 0)
    page.locator("#send").tap()
    unsent(page, 0)
    page.get_by_role("button", name="1 photo was refused. See why").tap()
    page.get_by_text("Save 1 photo that is not sent as a file").tap()
    expect(page.get_by_text("No more photos are stored of this record.")).to_be_visible()
    page.evaluate(SCRIPT)
    assert page.evaluate(RUN, [TAGS, []]) == []
    with page.expect_download() as download:
        page.get_by_role("button", name=f"Save photo 1, tree {field.trees[0].tag}").tap()
    download.value.save_as(tmp_path / "saved.jpg")
    assert Image.open(tmp_path / "saved.jpg").size == (1600, 1200)
    monkeypatch.undo()
    page.get_by_role("button", name="Send them again").tap()
    expect(page.locator("#unsent-photos")).to_be_hidden()
    assert Photo.objects.count() == 1


def test_a_full_phone_and_what_is_no_picture_are_said(signed_in, field):
    page = opened(signed_in(), field.address)
    begin(page, is_sent=True)
    page.locator("#photo").set_input_files({"name": "a.jpg", "mimeType": "image/jpeg", "buffer": b"no picture"})
    expect(page.get_by_text("This file is not a picture that the phone can read.")).to_be_visible()
    page.evaluate(
        "void (window.add = IDBObjectStore.prototype.add, IDBObjectStore.prototype.add = () => { throw new DOMException('', 'QuotaExceededError') })"
    )
    page.locator("#photo").set_input_files(from_camera(10))
    expect(page.get_by_text("The photo is not stored: the phone has no room left.")).to_be_visible()
    page.evaluate("void (IDBObjectStore.prototype.add = window.add)")
    for count in (1, 2, 3):
        take(page, count, count)
    page.locator("#photo").set_input_files(from_camera(10))
    expect(page.get_by_text("Not stored: a tree has at most 3 photos.")).to_be_visible()
    page.evaluate(SCRIPT)
    assert page.evaluate(RUN, [TAGS, []]) == []
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    expect(page.locator("#unsent-photos")).to_have_text("+ 3 photos")


# the database as version 1 of the page made it, with a round, a record that waits and one that was sent
_EARLIER = """([round, tree]) => new Promise((resolve, reject) => {
  const request = indexedDB.open('mastbook-phone', 1);
  request.onupgradeneeded = () => {
    request.result.createObjectStore('rounds', { keyPath: 'key' });
    request.result.createObjectStore('meta', { keyPath: 'name' });
    for (const name of ['queue', 'sent']) {
      const store = request.result.createObjectStore(name, { keyPath: 'uuid' });
      store.createIndex('key', 'key');
      store.createIndex('tree', ['key', 'tree']);
    }
  };
  request.onerror = reject;
  request.onsuccess = () => {
    const change = request.result.transaction(['rounds', 'meta', 'queue', 'sent'], 'readwrite');
    const record = { key: round.key, status: 'A', cause: '', values: {}, note: 'of version 1', observer: 'Rosa', at: Date.now(), said: '', loaded: round.loaded, corrects: null };
    change.objectStore('rounds').put(round);
    change.objectStore('meta').put({ name: 'last/' + round.round, value: round.key });
    change.objectStore('meta').put({ name: 'seq', value: 1 });
    change.objectStore('queue').put({ ...record, uuid: '00000000-0000-4000-8000-0000000000aa', tree, seq: 1, state: 'waiting', tried: false });
    change.oncomplete = () => { window.earlier = request.result; resolve(); };
  };
})"""


def test_a_newer_page_takes_over_the_records_of_version_one(signed_in, field):
    context = signed_in()
    page = opened(context, field.address)
    stored = page.evaluate("mastbookPhone.store.rounds().then(([round]) => round)")
    page.goto("/help/")
    page.evaluate("new Promise(done => { indexedDB.deleteDatabase('mastbook-phone').onsuccess = () => done() })")
    page.evaluate(_EARLIER, [stored, field.trees[0].pk])
    newer = context.new_page()  # the earlier page is open still, and holds the database
    newer.goto(field.address)
    expect(newer.get_by_text("Another tab of this browser still shows an earlier version")).to_be_visible()
    page.close()
    expect(newer.locator("#start")).to_be_visible()
    unsent(newer, 0)
    assert list(Observation.objects.filter(round=field.round).values_list("tree", "note")) == [(field.trees[0].pk, "of version 1")]
