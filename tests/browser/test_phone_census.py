"""The census on a phone with the network cut: nothing that was typed is lost, and nothing is doubled."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from plantings.calc.census.changes import compare_with_last
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.imports.loading import sheet_load
from plantings.models import Observation
from plantings.selectors.census.recount import recount_differences
from plantings.services.round_links import round_link_make
from plantings.views.census import phone
from registry.models import AuditEntry
from registry.services.land.links import link_revoke
from tests import factories
from tests.browser.axe import RUN, SCRIPT, TAGS

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

expect.set_options(timeout=30_000)  # on a busy machine; nothing waits longer than it must
OLD_PHONE = {"viewport": {"width": 320, "height": 640}, "has_touch": True, "is_mobile": True}


class Field:
    """A planting in rows of ten with a round that is open today, and its crew."""

    def __init__(self, count=20):
        today = timezone.localdate()
        self.lead = factories.person("lead")
        self.crew = factories.person("volunteer", first_name="Rosa", last_name="Counter")
        site = factories.site(cautions="Old well at the gate.", access_notes="Second gate on the left.")
        self.planting = factories.planting(site=site, crew=[self.crew], start_corner="north-west")
        lot = factories.stock_lot(actor=self.lead)
        for row in range(1, count // 10 + 1):
            factories.trees(self.planting, lot, 10, actor=self.lead, row=row)
        self.trees = list(self.planting.trees.in_walk_order())
        year = today.year - 1
        self.last = factories.census_round(
            self.planting, 1, label=f"{year}", opens_on=today - timedelta(days=370), closes_on=today - timedelta(days=350)
        )
        self.round = factories.census_round(
            self.planting, 2, label="now", opens_on=today - timedelta(days=10), closes_on=today + timedelta(days=20)
        )

    @property
    def address(self):
        return reverse("census_phone", args=[self.round.pk])

    def stored(self):
        """{tag: status} of the records of this round; fails when a tree has two."""
        records = list(Observation.objects.current().filter(round=self.round).values_list("tree__tag", "status"))
        assert len(dict(records)) == len(records)
        return dict(records)


@pytest.fixture
def field(transactional_db):
    return Field()


@pytest.fixture
def signed_in(new_context, sign_in, field):
    """`signed_in(person)`: a phone of its own, with somebody signed in."""

    def make(person=None):
        context = new_context(**OLD_PHONE)
        context.set_default_timeout(60_000)
        sign_in(person or field.crew, context)
        return context

    return make


def opened(context, address):
    """The page of the phone, once it works without a signal."""
    page = context.new_page()
    page.goto(address)
    expect(page.get_by_text("Ready. This page now works without a signal.")).to_be_visible()
    return page


def begin(page):
    page.locator("#start").tap()
    expect(page.locator("#open-tree")).to_be_visible()


def tap_word(page, tag, word, cause=None):
    """Record the open tree with one tap, or two where a cause is asked."""
    expect(page.locator("#open-tree code")).to_have_text(tag)
    page.locator("#band").get_by_role("button", name=word, exact=True).tap()
    if cause:
        page.locator("#ask").get_by_role("button", name=cause, exact=True).tap()


def unsent(page, count):
    expect(page.locator("#unsent")).to_have_text(f"{count} not sent")


def send_until_empty(page, most=20):
    """Tap Send until nothing is left, as somebody does who comes back into a weak signal."""
    for _tap in range(most):
        if page.locator("#unsent").inner_text() == "0 not sent":
            return
        page.evaluate("document.getElementById('send').click()")  # it hides as soon as all is sent, so a tap could miss it
        expect(page.get_by_text("Sending …")).to_have_count(0)
    unsent(page, 0)


def test_nothing_is_lost_offline_or_on_a_bad_line(signed_in, field, monkeypatch):
    context = signed_in()
    page = opened(context, field.address)
    unsent(page, 0)
    begin(page)
    context.set_offline(True)
    words = {"A": ("Alive", None), "D": ("Dead", "Deer"), "NF": ("Not found", None), "SU": ("Seen but state unclear", None)}
    wanted = {tree.tag: list(words)[number % 4] for number, tree in enumerate(field.trees)}
    for tree in field.trees[:9]:
        tap_word(page, tree.tag, *words[wanted[tree.tag]])
    unsent(page, 9)
    page.close()

    page = context.new_page()  # the phone was off in between
    page.goto(field.address)
    expect(page.locator("#left")).to_have_text("11 trees left")
    unsent(page, 9)
    begin(page)
    for tree in field.trees[9:]:
        tap_word(page, tree.tag, *words[wanted[tree.tag]])
    expect(page.get_by_text("Every tree of this round has a record.")).to_be_visible()
    unsent(page, 20)
    assert field.stored() == {}

    calls = []
    receive = phone.census_batch_receive

    def on_a_bad_line(**given):
        calls.append(len(given["sent"]))
        if len(calls) % 3 == 1:
            raise ConnectionError("the line dropped before the batch arrived")
        receive(**given)
        if len(calls) % 3 == 2:
            raise ConnectionError("the server died after the commit")
        return receive(**given)  # and this one it answers twice

    monkeypatch.setattr(phone, "census_batch_receive", on_a_bad_line)
    context.set_offline(False)
    send_until_empty(page)
    assert len(calls) >= 3
    assert field.stored() == wanted
    assert Observation.objects.filter(round=field.round).count() == 20
    assert set(Observation.objects.filter(round=field.round).values_list("observer", flat=True)) == {"Rosa Counter"}
    assert recount_differences()[1] == []


def test_start_keeps_its_button_while_the_round_is_fetched_again(signed_in, field):
    context = signed_in()
    opened(context, field.address).close()  # the round is on the phone now
    page = context.new_page()
    held = []
    page.route(f"**{reverse('census_phone_data', args=[field.round.pk])}", lambda route: held.append(route))
    page.goto(field.address)
    page.locator("#start").hover()
    page.mouse.down()
    while not held:
        page.wait_for_timeout(20)
    loaded = "mastbookPhone.store.rounds().then(([round]) => round.loaded)"
    before = page.evaluate(loaded)
    held[0].continue_()
    while page.evaluate(loaded) == before:
        page.wait_for_timeout(20)
    page.evaluate(
        "async () => { for (let turn = 0; turn < 5; turn += 1) await mastbookPhone.store.queue(); }"
    )  # what follows the fetch is done
    page.mouse.up()
    expect(page.locator("#open-tree")).to_be_visible()


def test_two_tabs_record_and_send_each_tree_once(signed_in, field):
    context = signed_in()
    first = opened(context, field.address)
    second = opened(context, field.address)
    for page in (first, second):
        begin(page)
    context.set_offline(True)
    tap_word(first, field.trees[0].tag, "Alive")
    unsent(first, 1)
    tap_word(second, field.trees[0].tag, "Alive")  # the second tab still shows this tree
    tap_word(second, field.trees[1].tag, "Not found")
    unsent(first, 2)
    context.set_offline(False)
    for page in (first, second):
        page.evaluate("void mastbookPhone.sendNow()")
    for page in (first, second):
        unsent(page, 0)
    assert field.stored() == {field.trees[0].tag: "A", field.trees[1].tag: "NF"}
    assert Observation.objects.filter(round=field.round).count() == 2


def test_records_of_one_person_are_never_sent_as_another_s(signed_in, sign_in, field):
    other = factories.person("volunteer", first_name="Ben", last_name="Walker")
    field.planting.crew.add(other)
    context = signed_in()
    page = opened(context, field.address)
    begin(page)
    context.set_offline(True)
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    page.close()

    sign_in(other, context)
    context.set_offline(False)
    page = opened(context, field.address)
    expect(page.get_by_text("Ben Walker is signed in now.")).to_be_visible()
    expect(page.get_by_text("1 record of Rosa Counter is on this phone and not sent.")).to_be_visible()
    begin(page)
    tap_word(page, field.trees[0].tag, "Dead", "Drought")
    unsent(page, 1)
    page.locator("#send").tap()
    unsent(page, 0)
    assert list(Observation.objects.filter(round=field.round).values_list("entered_by", "status")) == [(other.pk, "D")]

    context.clear_cookies()
    page.reload()
    page.locator("#send").tap()
    expect(page.locator("#said").get_by_role("link", name="Sign in").first).to_be_visible()
    sign_in(field.crew, context)
    page.reload()
    expect(page.get_by_text("All sent.")).to_be_visible()
    records = Observation.objects.filter(round=field.round).order_by("pk").values_list("entered_by", "observer", "status")
    assert list(records) == [(other.pk, "Ben Walker", "D"), (field.crew.pk, "Rosa Counter", "A")]


def test_a_revoked_link_leaves_the_records_and_a_file_to_load(new_context, field, tmp_path):
    link, token = round_link_make(actor=field.lead, census_round=field.round, for_whom="the school")
    context = new_context(**OLD_PHONE)
    context.set_default_timeout(60_000)
    page = opened(context, f"{reverse('phone_home')}#{token}")
    page.locator("#start").tap()
    expect(page.get_by_text("Write your name first.")).to_be_visible()
    page.locator("#who").fill("Mia, =class 7")
    begin(page)
    page.locator("#box-height_cm").fill("142,5")
    page.locator("#box-canker_class").select_option("1")
    tap_word(page, field.trees[0].tag, "Alive")
    page.locator("#send").tap()
    unsent(page, 0)
    stored = Observation.objects.get(round=field.round)
    assert (stored.entered_by, stored.observer, stored.height_cm, stored.canker_class) == (field.lead, "Mia, =class 7", 142.5, 1)

    link_revoke(actor=field.lead, link=link)
    tap_word(page, field.trees[1].tag, "Removed", "Thinned")
    page.locator("#send").tap()
    expect(page.get_by_text("This link does not work, or no longer.")).to_be_visible()
    unsent(page, 1)
    page.locator("#help").tap()
    with page.expect_download() as download:
        page.get_by_role("button", name="Save what is not sent to a file").tap()
    path = tmp_path / "census.csv"
    download.value.save_as(path)
    sheet_load(actor=field.lead, kind="census", content=path.read_bytes(), filename=path.name)
    loaded = Observation.objects.get(round=field.round, tree=field.trees[1])
    assert (loaded.status, loaded.cause, loaded.observer, loaded.observed_on) == ("RM", "thinned", "Mia, =class 7", timezone.localdate())


def test_a_refused_record_stays_with_its_reason_until_it_is_taken(signed_in, field):
    context = signed_in()
    page = opened(context, field.address)
    begin(page)
    tap_word(page, field.trees[0].tag, "Alive")
    field.planting.planted_on = timezone.localdate() + timedelta(days=1)
    field.planting.save()
    page.locator("#send").tap()
    page.get_by_role("button", name="1 record was refused. See why").tap()
    expect(page.get_by_text("before planting on")).to_be_visible()
    unsent(page, 1)
    field.planting.planted_on = factories.day(2019)
    field.planting.save()
    page.get_by_role("button", name="Send them again").tap()
    unsent(page, 0)
    assert field.stored() == {field.trees[0].tag: "A"}


def test_a_clock_a_year_off_gives_the_day_of_today(signed_in, field):
    context = signed_in()
    page = context.new_page()
    page.clock.set_fixed_time(timezone.now() + timedelta(days=366))
    page.goto(field.address)
    begin(page)
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    page.locator("#send").tap()
    unsent(page, 0)
    stored = Observation.objects.get(round=field.round)
    assert stored.observed_on == timezone.localdate()
    assert stored.note == f"[phone clock: {(timezone.localdate() + timedelta(days=366)).isoformat()}]"


def test_a_newer_page_waits_for_a_tap_and_loses_nothing(signed_in, field, monkeypatch):
    context = signed_in()
    page = opened(context, field.address)
    begin(page)
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    monkeypatch.setattr(phone, "shell_edition", lambda: "a newer page")
    page.locator("#box-height_cm").fill("99")
    page.evaluate("navigator.serviceWorker.getRegistration('/phone/').then(found => found.update()).then(() => null)")
    expect(page.locator("#newer")).to_be_visible()
    expect(page.locator("#box-height_cm")).to_have_value("99")  # nothing changes under the hands
    page.locator("#newer").tap()
    expect(page.locator("#start")).to_be_visible()
    expect(page.locator("#left")).to_have_text("19 trees left")
    expect(page.locator("#unsent")).to_have_text("0 not sent")  # it sends when it opens
    assert field.stored() == {field.trees[0].tag: "A"}


def test_undo_before_sending_and_a_correction_after_it(signed_in, field):
    factories.observe(field.last, {field.trees[0]: "A"}, height_cm=120, actor=field.lead)
    context = signed_in()
    page = opened(context, field.address)
    begin(page)
    assert "120" not in page.locator("#screen").inner_text()
    height = page.locator("#box-height_cm")
    height.fill("12")
    tap_word(page, field.trees[0].tag, "Alive")
    expect(page.get_by_text("Height last time: 120 cm")).to_be_visible()
    page.locator("#why").fill("browsed to the ground")
    page.get_by_role("button", name="It is right: save").tap()
    expect(page.locator("#open-tree code")).to_have_text(field.trees[1].tag)
    page.locator("#undo").tap()
    expect(height).to_have_value("12")
    height.fill("130")
    page.locator("#note").fill("")
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    page.locator("#send").tap()
    unsent(page, 0)
    page.locator("#undo").tap()
    expect(page.get_by_text(f"Tree {field.trees[0].tag} was sent.")).to_be_visible()
    height.fill("131")
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    page.locator("#send").tap()
    unsent(page, 0)
    records = Observation.objects.filter(round=field.round).order_by("pk").values_list("height_cm", "note", "reason")
    assert list(records) == [(130, "", ""), (131, "", "corrected on the phone")]
    assert field.stored() == {field.trees[0].tag: "A"}


def test_a_full_phone_says_so_and_the_tree_stays_open(signed_in, field):
    page = opened(signed_in(), field.address)
    begin(page)
    page.locator("#box-height_cm").fill("140")
    page.evaluate("void (IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError') })")
    tap_word(page, field.trees[0].tag, "Alive")
    expect(page.get_by_text("Not saved: the phone has no room left.")).to_be_visible()
    expect(page.locator("#open-tree code")).to_have_text(field.trees[0].tag)
    expect(page.locator("#box-height_cm")).to_have_value("140")
    unsent(page, 0)


_TYPED = {"142,5": 142.5, "142.5": 142.5, "1204": 1204, ".5": 0.5, "1,204": None, "1.204,5": None, "1e3": None}


def test_a_number_is_read_with_either_sign_and_never_guessed(signed_in, field):
    page = opened(signed_in(), field.address)
    item = "({ classes: [], low: 0, high: 6000, whole: false })"
    found = {typed: page.evaluate(f"typed => mastbookPhone.reading({item}, typed)", typed) for typed in _TYPED}
    assert {typed: reading.get("value") for typed, reading in found.items()} == _TYPED
    assert [typed for typed, reading in found.items() if "fault" in reading] == [typed for typed, value in _TYPED.items() if value is None]


# what the page and the server each say of a reading beside the last: (last status, last height, height, status, browse class)
_PAIRS = [
    ("A", 120, 130, "A", ""), ("A", 120, 100, "A", ""), ("A", 120, 100, "A", "heavy"), ("A", 120, 100, "AR", ""), ("A", 120, 115, "A", ""),
    ("A", 100, 401, "A", ""), ("A", 100, 254, "A", ""), ("A", 254, 100, "A", ""), ("A", 30, 300, "A", ""), ("D", 100, 120, "A", ""), ("A", 100, 0, "A", ""), ("A", 100, 180, "D", ""),
]  # fmt: skip


def test_the_page_asks_about_the_readings_the_server_asks_about(signed_in, field):
    page = opened(signed_in(), field.address)
    day, last_day = timezone.localdate(), field.last.opens_on
    answer = page.context.request.get(reverse("census_phone_data", args=[field.round.pk])).json()
    for status, last, height, now, browse in _PAIRS:
        answer["last"] = {"7": [status, {"height_cm": [last, "", last_day.isoformat()]}]}
        values = {"height_cm": height} | ({"browse_class": browse} if browse else {})
        given = [answer, {"tree": 7, "status": now, "values": values}, day.isoformat()]
        said = page.evaluate("given => mastbookPhone.odd(...given).map(one => one.field)", given)
        row = SeenRow(status=now, observed_on=day, height_cm=height, browse_class=browse)
        found = compare_with_last(row, LastSeen(status, {"height_cm": (last, last_day)}))
        assert said == [one.field for one in found], (status, last, height, now, browse)


def test_every_screen_can_be_read_tapped_and_used_by_keyboard(signed_in, field, page_complaints):
    page = opened(signed_in(), field.address)
    page.evaluate(SCRIPT)
    smallest = """[...document.querySelectorAll('button, a, input, select, summary')].filter(one => one.offsetParent)
      .filter(one => one.getBoundingClientRect().width < 48 || one.getBoundingClientRect().height < 48).map(one => one.outerHTML)"""

    def look(screen):
        assert page.evaluate(RUN, [TAGS, []]) == [], screen
        assert page.evaluate(smallest) == [], screen
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), screen

    look("start")
    page.locator("#start").press("Enter")
    expect(page.locator("#box-height_cm")).to_be_focused()
    look("walk")
    page.keyboard.type("142")
    for _box in field_boxes(page):
        page.keyboard.press("Enter")
    expect(page.locator("#band button").first).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("#open-tree code")).to_have_text(field.trees[1].tag)
    page.locator("#band").get_by_role("button", name="Dead", exact=True).tap()
    look("cause")
    page.locator("#ask").get_by_role("button", name="Back").tap()
    page.get_by_role("button", name="Find a tree").tap()
    page.locator("#find-box").fill(field.trees[4].tag[-3:])
    look("find")
    page.emulate_media(color_scheme="dark")
    look("night")
    assert page_complaints == []


def field_boxes(page):
    return page.locator(".measure input, .measure select").all()


# taps the first word at every tree from inside the page, as fast as it follows
_TAP_ALL = """async count => {
  const tag = () => document.querySelector('#open-tree code')?.textContent;
  for (let number = 0; number < count; number += 1) {
    const before = tag();
    document.querySelector('#band button').click();
    while (tag() === before) await new Promise(done => setTimeout(done, 0));
  }
}"""


def test_two_hundred_trees_arrive_in_batches_of_a_hundred(signed_in, transactional_db):
    field = Field(200)
    context = signed_in(field.crew)
    page = opened(context, field.address)
    begin(page)
    context.set_offline(True)
    page.evaluate(_TAP_ALL, 200)
    unsent(page, 200)
    before = AuditEntry.objects.count()
    context.set_offline(False)
    send_until_empty(page)
    assert field.stored() == dict.fromkeys((tree.tag for tree in field.trees), "A")
    assert AuditEntry.objects.count() == before + 2
