"""The notebook page on a phone: undo, numbers, questions, a full phone, reading and tapping every screen."""

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from plantings.calc.arrival.arrival import Window
from plantings.calc.arrival.counts import LEAP_FEWEST, CountSeen, count_looks
from plantings.calc.census.changes import compare_with_last
from plantings.calc.census.limits import LIMITS
from plantings.calc.census.measurements import DIAMETER
from plantings.calc.census.own_measurements import own_measurement
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.models import Observation
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.census.protocols import measurement_say
from plantings.services.trees import counted_plot_add
from plantings.views.phone import data as phone_data
from tests import factories
from tests.browser.axe import RUN, SCRIPT, TAGS
from tests.browser.phone import begin, field, opened, signed_in, tap_word, unsent, until

__all__ = ["field", "signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_undo_before_sending_and_a_correction_after_it(signed_in, field):
    factories.observe(field.last, {field.trees[0]: "A"}, height_cm=120, actor=field.lead)
    context = signed_in()
    page = opened(context, field.address)
    # what the page sends by itself, such as that the cautions were read, would take the first record along
    page.evaluate("() => { window.send = mastbookPhone.send; mastbookPhone.send = async () => null; }")
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
    page.evaluate("() => { mastbookPhone.send = window.send; }")
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
    page.evaluate("""() => { const { prototype } = IDBObjectStore, { add } = prototype;
        window.free = () => { prototype.add = add; };
        prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; }""")
    tap_word(page, field.trees[0].tag, "Alive")
    expect(page.get_by_text("Not saved: the phone has no room left.")).to_be_visible()
    expect(page.locator("#open-tree code")).to_have_text(field.trees[0].tag)
    expect(page.locator("#box-height_cm")).to_have_value("140")
    unsent(page, 0)
    page.evaluate("window.free()")  # somebody freed some space
    tap_word(page, field.trees[0].tag, "Alive")
    expect(page.locator("#open-tree code")).to_have_text(field.trees[1].tag)
    expect(page.get_by_text("Not saved: the phone has no room left.")).to_have_count(0)
    unsent(page, 1)
    page.evaluate("void (mastbookPhone.store.photos = async () => { throw new DOMException('closed', 'InvalidStateError'); })")
    page.evaluate("mastbookPhone.act.photosChanged().then(() => null, error => setTimeout(() => Promise.reject(error)))")
    expect(page.get_by_text("Something did not work on this page.")).to_be_visible()  # what nothing else tells


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


_COUNTS = [  # alive, dead, (alive, dead) of the last time, sown, note
    (20, 0, None, True, ""), (38, 0, (20, 0), True, ""), (38, 0, (20, 0), True, "late"), (22, 0, (20, 4), True, ""), (22, 0, (20, 0), True, "late"), (18, 4, (20, 0), True, ""),
    (18, 4, (20, 0), True, "late"), (4, 0, (1, 0), True, ""), (9, 1, (20, 0), True, ""), (30, 4, None, False, ""), (30, 4, None, False, "dug up"), (30, 4, (34, 0), False, ""),
    (30, 10, (38, 2), False, ""), (20, 0, (20, 20), False, ""), (34, 0, (38, 2), False, ""),
]  # fmt: skip


def test_the_page_asks_about_the_readings_the_server_asks_about(signed_in, field):
    page = opened(signed_in(), field.address)
    day, last_day = timezone.localdate(), field.last.opens_on
    answer = page.context.request.get(reverse("census_phone_data", args=[field.round.pk])).json()
    for status, last, height, now, browse in _PAIRS:
        answer["last"] = {"7": [status, {"height_cm": [last, last_day.isoformat()]}]}
        values = {"height_cm": height} | ({"browse_class": browse} if browse else {})
        given = [answer, {"tree": 7, "status": now, "values": values}, day.isoformat()]
        said = page.evaluate("given => mastbookPhone.odd(...given).map(one => one.field)", given)
        row = SeenRow(status=now, observed_on=day, height_cm=height, browse_class=browse)
        found = compare_with_last(row, LastSeen(status, {"height_cm": (last, last_day)}))
        assert said == [one.field for one in found], (status, last, height, now, browse)
    answer |= {"asked": [phone_data._measurement(DIAMETER, LIMITS)], "last": {"7": ["A", {"diameter_mm": [30, last_day.isoformat()]}]}}
    for reading, asks in ((34, False), (60, False), (61, True), (340, True), (28, True)):  # 30 mm a year, 1 mm less
        given = [answer, {"tree": 7, "status": "A", "values": {"diameter_mm": reading}}, day.isoformat()]
        found = compare_with_last(SeenRow(status="A", observed_on=day, diameter_mm=reading), LastSeen("A", {"diameter_mm": (30, last_day)}))
        assert len(page.evaluate("given => mastbookPhone.odd(...given)", given)) == len(found) == asks, reading
    for unit, last, reading in (("cm", 200, 100), ("cm", 200, 196), ("cm", 100, 254), ("cm", 100, 260), ("buds", 4, 40), ("buds", 4, 10)):
        numbers = {"low": 0, "high": 900, "loss_most": 5, "gain_most": 155}
        own = own_measurement(code="crown", version=1, name="Crown", taken="At its widest.", unit=unit, **numbers)
        answer["asked"] = [phone_data._measurement(own, LIMITS)]
        answer["last"] = {"7": ["A", {own.field: [last, last_day.isoformat()]}]}
        given = [answer, {"tree": 7, "status": "A", "values": {own.field: reading}}, day.isoformat()]
        said = page.evaluate("given => mastbookPhone.odd(...given).map(one => one.words)", given)
        row = SeenRow(status="A", observed_on=day, own_values={own.field: reading})
        found = compare_with_last(row, LastSeen("A", {own.field: (last, last_day)}), own=(own,))
        assert len(said) == len(found) and all(f"Crown: {reading} {unit}, last time {last}" in words for words in said), reading
    answer["countLeap"] = [LEAP_FEWEST, LIMITS.count_leap_percent]
    met = []
    for alive, dead, last, is_sown, note in _COUNTS:
        answer |= {"lastCounts": {"3": [*last, last_day.isoformat()]} if last else {}, "sown": [3] if is_sown else []}
        given = [answer, {"plot": 3, "planted": 40}, {"alive": alive, "dead": dead}, note]
        said = page.evaluate("given => mastbookPhone.oddCount(...given).map(one => one.field)", given)
        before = CountSeen(*last, last_day) if last else None
        found = count_looks(CountSeen(alive, dead, day, note), before, 40, is_sown, Window())
        assert said == [one.field for one in found], (alive, dead, last, is_sown, note)
        met += said
    assert (met.count("alive"), met.count("dead")) == (5, 3)


def test_every_screen_can_be_read_tapped_and_used_by_keyboard(signed_in, field, page_complaints, monkeypatch):
    monkeypatch.setattr(phone_data, "WHOLE_TREES_MOST", 15)  # comes in parts
    lot = factories.seed_lot()
    plot = counted_plot_add(actor=field.lead, planting=field.planting, code="D1", lot=lot, planted_count=40)
    plot_count_record(actor=field.lead, census_round=field.last, plot=plot, alive=30, observed_on=field.last.opens_on)
    page = opened(signed_in(), field.address)
    page.evaluate(SCRIPT)
    smallest = """[...document.querySelectorAll('button, a, input, select, summary')].filter(one => one.offsetParent)
      .filter(one => one.getBoundingClientRect().width < 48 || one.getBoundingClientRect().height < 48).map(one => one.outerHTML)"""

    def look(screen):
        assert page.evaluate(RUN, [TAGS, []]) == [], screen
        assert page.evaluate(smallest) == [], screen
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), screen

    look("blocks")
    page.locator("#fetch-blocks").tap()
    expect(page.locator("#start")).to_contain_text(field.trees[0].tag)
    expect(page.locator("section", has_text="How to get there")).to_contain_text("Second gate on the left.")
    look("start")
    page.locator("#start").press("Enter")
    look("cautions")
    page.locator("#cautions-read").press("Enter")
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
    page.locator("#find-box").fill("D1")
    page.get_by_role("status").get_by_role("button", name="D1").tap()
    expect(page.locator("#count-alive")).to_be_focused()
    look("plot")
    page.keyboard.type("12")
    page.locator("#save-count").press("Enter")
    expect(page.get_by_text("12 alive, last time 30: a large change.")).to_be_visible()
    look("question about a count")
    page.emulate_media(color_scheme="dark")
    look("night")
    assert page_complaints == []


# both places at one moment; scrolling goes by whole pixels
_IS_BELOW_THE_HEAD = """selector => document.querySelector(selector).getBoundingClientRect().top
  >= document.querySelector('.phone-head').getBoundingClientRect().bottom - 1"""


@pytest.mark.parametrize("letters", ["100%", "150%"])
def test_the_head_covers_neither_the_open_tree_nor_a_question(signed_in, field, letters):
    page = opened(signed_in(), field.address)
    page.get_by_role("button", name="Français").tap()
    page.evaluate("size => { document.documentElement.style.fontSize = size; }", letters)
    begin(page, is_sent=True)
    page.context.set_offline(True)

    def is_below_the_head(selector):
        return page.evaluate(_IS_BELOW_THE_HEAD, selector)

    for tree in field.trees[:3]:
        expect(page.locator("#open-tree code")).to_have_text(tree.tag)
        until(page, lambda: is_below_the_head("#open-tree"))
        tap_word(page, tree.tag, "Vivant")
    expect(page.locator("#open-tree code")).to_have_text(field.trees[3].tag)
    page.locator("#band").get_by_role("button", name="Mort", exact=True).tap()
    expect(page.locator("#ask h3")).to_be_focused()
    until(page, lambda: is_below_the_head("#ask h3"))


def field_boxes(page):
    return page.locator(".measure input, .measure select").all()


# Reads the records of the open round so slowly that another round is opened meanwhile.
_SLOW_READING = """async () => {
  const phone = mastbookPhone, { state, store } = phone, records = store.records;
  const other = Object.assign({}, state.round, { key: "u0/r0" });
  let go;
  const waits = new Promise(done => { go = done; });
  store.records = async key => { if (key !== other.key) await waits; return records(key); };
  const slow = phone.readRecords();
  state.place = undefined;
  phone.useRound(other);
  await phone.readRecords();
  go();
  await slow;
  return [state.written.size, state.queue.length, state.tree.tag];
}"""

# What was read first, when there were no records, arrives after what was read later.
_LATE_READING = """async () => {
  const phone = mastbookPhone, { state, store } = phone, records = store.records;
  let go;
  const waits = new Promise(done => { go = done; });
  store.records = async () => { store.records = records; await waits; return { queue: [], sent: [] }; };
  const first = phone.readRecords();
  await phone.readRecords();
  go();
  await first;
  return [state.written.size, state.queue.length];
}"""


def test_a_tap_lays_out_the_page_once_for_all_it_changes(signed_in, field):
    page = opened(signed_in(), field.address)
    begin(page, is_sent=True)
    tools = page.context.new_cdp_session(page)
    tools.send("Performance.enable")

    def layouts():
        return next(one["value"] for one in tools.send("Performance.getMetrics")["metrics"] if one["name"] == "LayoutCount")

    page.context.set_offline(True)
    taps = 8
    before = layouts()
    for tree in field.trees[:taps]:
        expect(page.locator("#open-tree code")).to_have_text(tree.tag)
        page.evaluate("document.querySelector('#band button').click()")
    expect(page.locator("#open-tree code")).to_have_text(field.trees[taps].tag)
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => setTimeout(done)))")
    # once for the new tree and once for the cursor in its first box: measured, no source; four times where a tap wrote here and there
    assert layouts() - before <= 2 * taps + 2


def test_what_was_recorded_is_written_in_words_and_not_in_codes(signed_in, field):
    spot = factories.own_measurement(actor=field.lead, code="leaf_spot")
    measurement_say(
        actor=field.lead, measurement=spot, language="fr", name="Taches foliaires", taken="Feuilles à portée.",
        classes="0 = aucune; 1 = quelques feuilles; 2 = la plupart",
    )  # fmt: skip
    factories.own_measurement(actor=field.lead, code="scorch", name="Leaf scorch", classes="0 = none; 1 = some edges")
    field.round.protocol = factories.protocol(["canker", "leaf_spot_v1", "scorch_v1"], actor=field.lead)
    field.round.save()
    page = opened(signed_in(), field.address)
    page.get_by_role("button", name="Français").tap()
    begin(page)
    for name, code in (("canker_class", "1"), ("leaf_spot_v1", "2"), ("scorch_v1", "1")):
        page.locator(f"#box-{name}").select_option(code)
    tap_word(page, field.trees[0].tag, "Vivant")
    behind = page.locator(".behind .pencil")
    expect(behind).to_have_text("Vivant, Chancre\u00a0: Superficiel, Taches foliaires\u00a0: la plupart, Leaf scorch\u00a0: some edges")
    expect(behind.locator("[lang=en]")).to_have_text("Leaf scorch\u00a0: some edges")
    tap_word(page, field.trees[1].tag, "Mort", "Mauvaise mise en terre")
    expect(behind.last).to_have_text("Mort, Mauvaise mise en terre")


def test_records_read_slowly_are_not_shown_as_another_person_s(signed_in, field):
    context = signed_in()
    page = opened(context, field.address)
    begin(page, is_sent=True)
    context.set_offline(True)
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    assert page.evaluate(_LATE_READING) == [1, 1]
    assert page.evaluate(_SLOW_READING) == [0, 0, field.trees[0].tag]
