"""What happens on the phone while something else waits: the round comes again, a part is fetched, a record is stored, somebody else signs in."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from plantings.models import Observation
from plantings.views.phone import data as phone_data
from tests import factories
from tests.browser.phone import OLD_PHONE, begin, field, opened, signed_in, tap_word, unsent, until

__all__ = ["field", "signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# one work of the database waits until window.free()
HOLD = """name => {
    const store = mastbookPhone.store, work = store[name];
    let go;
    const freed = new Promise(done => { go = done; });
    window.free = () => { store[name] = work; go(); };
    store[name] = async (...given) => { await freed; return work.apply(store, given); };
}"""


def move(page, word):
    page.get_by_role("button", name=word, exact=True).tap()


def open_tree(page, tree):
    expect(page.locator("#open-tree code")).to_have_text(tree.tag)


def held_round(page, field, part=""):
    """The requests for the round, or for a part of it, as they come: each waits for its `continue_`."""
    held, address = [], re.escape(f"{reverse('census_phone_data', args=[field.round.pk])}?part=")
    page.route(re.compile(f"{address}{part}&"), lambda route: held.append(route))
    return held


def test_a_tap_while_a_record_is_stored_is_of_its_own_tree(signed_in, field):
    context = signed_in()
    page = opened(context, field.address)
    begin(page, is_sent=True)
    context.set_offline(True)
    first, second, _third = field.trees[:3]
    page.evaluate(HOLD, "save")
    tap_word(page, first.tag, "Alive", is_waiting=False)
    move(page, "Next")
    open_tree(page, second)
    page.evaluate("window.free()")
    expect(page.locator(".told-tree")).to_contain_text(first.tag)
    open_tree(page, second)  # and not the third
    page.evaluate(HOLD, "save")
    tap_word(page, second.tag, "Alive", is_waiting=False)
    page.evaluate("() => { for (const _tap of [1, 2]) document.getElementById('undo').click(); window.free(); }")
    expect(page.locator(".kept")).to_contain_text(second.tag)  # taken back once it was stored, and no other with it
    queue = page.evaluate("mastbookPhone.store.queue().then(all => all.filter(mastbookPhone.isCounted))")
    assert [record["tree"] for record in queue] == [first.pk]
    unsent(page, 1)
    # another tab sent it, and was closed before it said so
    page.evaluate("uuid => mastbookPhone.store.answered([{ uuid, result: 'stored' }])", queue[0]["uuid"])
    page.locator("#send").tap()
    unsent(page, 0)


# the clock of the events is set by the test, whatever the machine takes to draw; and every tap that arrived is counted
_HAND = """window.handAt = 0; window.taps = 0;
    Object.defineProperty(Event.prototype, 'timeStamp', { configurable: true, get: () => window.handAt });
    window.addEventListener('click', () => { window.taps += 1; }, true);"""


def test_a_second_tap_of_the_same_finger_records_nothing(new_context, sign_in, field):
    context = new_context(**OLD_PHONE)
    context.add_init_script(
        "window.asked = 0; StorageManager.prototype.persist = async () => { window.asked += 1; return false; };" + _HAND
    )
    sign_in(field.crew, context)
    page = context.new_page()
    page.goto(field.address)
    begin(page, is_sent=True)
    context.set_offline(True)
    first, second, third = field.trees[:3]
    recorded = "mastbookPhone.store.queue().then(all => all.filter(mastbookPhone.isCounted).map(one => [one.tree, one.status]))"

    def tap(place, after_ms):
        before = page.evaluate(f"(window.handAt += {after_ms}, window.taps)")
        page.touchscreen.tap(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
        page.wait_for_function(f"window.taps > {before}")

    def place_of(part, name):
        return page.locator(part).get_by_role("button", name=name, exact=True).bounding_box()

    assert page.evaluate("window.asked") == 0
    alive = place_of("#band", "Alive")
    tap(alive, 1000)
    open_tree(page, second)
    for _time in range(2):
        tap(alive, 100)
    assert page.evaluate(recorded) == [[first.pk, "A"]]
    dead = place_of("#band", "Dead")
    tap(dead, 1000)  # the causes are where the words were
    expect(page.locator("#ask")).to_contain_text("what was the cause?")
    tap(dead, 100)
    expect(page.locator("#ask")).to_contain_text("what was the cause?")
    tap(place_of("#ask", "Deer"), 1000)
    open_tree(page, third)
    tap(place_of("#band", "Alive"), 1000)
    unsent(page, 3)
    assert sorted(page.evaluate(recorded)) == sorted([[first.pk, "A"], [second.pk, "D"], [third.pk, "A"]])
    assert page.evaluate("window.asked") == 1  # once, after the first record: the browser is asked not to delete what is stored


def test_it_sends_when_a_signal_returns_and_when_it_is_looked_at(signed_in, field):
    context = signed_in()
    page = opened(context, field.address)
    begin(page, is_sent=True)
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    page.evaluate("void document.dispatchEvent(new Event('visibilitychange'))")
    unsent(page, 0)
    context.set_offline(True)
    tap_word(page, field.trees[1].tag, "Alive")
    unsent(page, 1)
    context.set_offline(False)
    unsent(page, 0)
    assert field.stored() == dict.fromkeys((tree.tag for tree in field.trees[:2]), "A")


def test_a_request_that_hangs_is_given_up_and_sent_again(signed_in, field):
    page = opened(signed_in(), field.address)
    begin(page, is_sent=True)
    held = []
    page.route(f"**{reverse('census_phone_data', args=[field.round.pk])}", lambda route: held.append(route))
    tap_word(page, field.trees[0].tag, "Alive")
    page.evaluate("mastbookPhone.silentMs = 4000")
    page.locator("#send").tap()
    until(page, lambda: held)  # the request is on its way, and nobody answers
    unsent(page, 1)
    page.evaluate("mastbookPhone.sendNow()")  # a second tap
    assert page.locator(".told-send").count() == 1  # it still says that it sends
    expect(page.get_by_text("No answer from the server.")).to_be_visible()
    page.unroute_all()
    page.evaluate("mastbookPhone.silentMs = 60000")
    page.locator("#send").tap()
    unsent(page, 0)
    assert field.stored() == {field.trees[0].tag: "A"}


def test_the_walk_keeps_its_place_when_trees_before_it_go_or_come(signed_in, field):
    page = opened(signed_in(), field.address)
    begin(page)
    move(page, "Next")
    open_tree(page, field.trees[1])
    page.evaluate("""() => {
        const { state } = mastbookPhone, { round } = state;
        mastbookPhone.useRound(Object.assign({}, round, { data: Object.assign({}, round.data, { trees: round.data.trees.slice(1) }) }));
    }""")
    move(page, "Next")
    open_tree(page, field.trees[2])


def test_a_block_fetched_while_the_round_comes_again_is_here(signed_in, field, monkeypatch):
    monkeypatch.setattr(phone_data, "WHOLE_TREES_MOST", 15)
    monkeypatch.setattr(phone_data, "PART_TREES_MOST", 8)
    context = signed_in()
    opened(context, field.address).close()
    page = context.new_page()
    rounds, parts = held_round(page, field), held_round(page, field, ".+")
    page.goto(field.address)
    page.locator("#blocks").get_by_role("button", name="part 2").tap()
    until(page, lambda: rounds and parts)
    loaded = page.evaluate("mastbookPhone.state.round.loaded")
    rounds[0].continue_()
    until(page, lambda: page.evaluate("mastbookPhone.state.round.loaded") != loaded)
    parts[0].continue_()
    expect(page.get_by_text("1 of 3 are here.")).to_be_visible()
    begin(page)
    open_tree(page, field.trees[8])
    # the block comes again without the open tree: what is tapped next is not recorded of another
    page.evaluate("""() => {
        const phone = mastbookPhone, { state } = phone, [key] = Object.keys(state.parts), part = state.parts[key];
        phone.ask = async () => ({ status: 200, body: Object.assign({}, part, { trees: part.trees.slice(1) }) });
        return phone.act.fetchBlocks(phone.blocks.parts(state.data).filter(one => one.key === key), true);
    }""")
    expect(page.locator("#start")).to_contain_text(field.trees[9].tag)


def test_the_screen_of_one_person_goes_with_their_round(signed_in, sign_in, field):
    other = factories.person("volunteer", first_name="Ben", last_name="Walker")
    field.planting.crew.add(other)
    context = signed_in()
    page = opened(context, field.address)
    begin(page)
    page.close()
    sign_in(other, context)
    page = context.new_page()
    held = held_round(page, field)
    page.goto(field.address)
    begin(page)  # as Rosa Counter, whose round is on the phone
    page.evaluate(HOLD, "putRound")
    until(page, lambda: held)
    held[0].continue_()
    until(page, lambda: page.evaluate(f"mastbookPhone.state.round.key.startsWith('u{other.pk}/')"))
    assert page.evaluate("document.body.dataset.screen") == "start"  # while the round of the other is being stored
    page.evaluate("window.free()")
    expect(page.get_by_text("Ben Walker is signed in now.")).to_be_visible()


def test_cautions_stay_open_when_the_round_comes_again_on_a_full_phone(signed_in, field):
    context = signed_in()
    opened(context, field.address).close()
    page = context.new_page()
    held = held_round(page, field)
    page.goto(field.address)
    page.locator("#start").tap()
    expect(page.locator("#cautions-read")).to_be_visible()
    factories.observe(field.round, {field.trees[5]: "A"}, actor=field.lead)
    page.evaluate("void (mastbookPhone.store.putRound = async () => { throw new DOMException('full', 'QuotaExceededError'); })")
    until(page, lambda: held)
    held[0].continue_()
    expect(page.locator(".told-full")).to_be_visible()
    page.locator("#cautions-read").tap()
    tap_word(page, field.trees[0].tag, "Alive")
    page.locator("#send").tap()
    unsent(page, 0)
    assert set(Observation.objects.filter(round=field.round).values_list("tree", flat=True)) == {field.trees[0].pk, field.trees[5].pk}


def test_a_name_half_written_goes_on_when_the_round_comes_again(signed_in, field):
    context = signed_in()
    opened(context, field.address).close()
    page = context.new_page()
    held = held_round(page, field)
    page.goto(field.address)
    page.locator("#who").fill("")
    page.locator("#who").press_sequentially("Mi ")
    until(page, lambda: held)
    factories.observe(field.round, {field.trees[0]: "A"}, actor=field.lead)
    held[0].continue_()
    expect(page.locator("#start")).to_contain_text(field.trees[1].tag)
    page.keyboard.type("Lo")
    expect(page.locator("#who")).to_have_value("Mi Lo")
