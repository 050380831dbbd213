"""The census on a phone with the network cut: nothing that was typed is lost, and nothing is doubled."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from plantings.imports.loading import sheet_load
from plantings.models import CautionsRead, Observation
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.census.rounds import conflicts
from plantings.services.census.round_links import round_link_make
from plantings.views.phone import answers
from plantings.views.phone import page as phone_page
from registry.models import AuditEntry
from registry.services.land.links import link_revoke
from tests import factories
from tests.browser.phone import OLD_PHONE, Field, begin, field, opened, send_until_empty, signed_in, tap_word, unsent

__all__ = ["field", "signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


# Taps the words of some trees from inside the page, as fast as it follows: [[tag, word, cause or null], …].
_TAP_TREES = """async wanted => {
  const until = async found => { while (!found()) await new Promise(done => setTimeout(done, 0)); return found(); };
  const button = (part, word) => [...document.querySelectorAll(`#${part} button`)].find(one => one.textContent.trim() === word);
  for (const [tag, word, cause] of wanted) {
    await until(() => document.querySelector('#open-tree code')?.textContent === tag);
    (await until(() => button('band', word))).click();
    if (cause) (await until(() => button('ask', cause))).click();
  }
}"""


def test_nothing_of_200_trees_is_lost_offline_or_on_a_bad_line(signed_in, monkeypatch):
    monkeypatch.setattr(phone_page, "BATCH_MOST", 50)  # four batches
    field = Field(200)
    context = signed_in(field.crew)
    page = opened(context, field.address)
    unsent(page, 0)
    begin(page)
    while not CautionsRead.objects.exists():  # sent by itself, before the records
        page.wait_for_timeout(50)
    context.set_offline(True)
    words = [("A", "Alive", None), ("D", "Dead", "Deer"), ("NF", "Not found", None), ("SU", "Seen but state unclear", None)]
    taps = [(tree.tag, *words[number % 4]) for number, tree in enumerate(field.trees)]

    def record(some):
        for tag, _status, word, cause in some[:4]:  # with the thumb
            tap_word(page, tag, word, cause)
        page.evaluate(_TAP_TREES, [(tag, word, cause) for tag, _status, word, cause in some[4:]])

    record(taps[:90])
    unsent(page, 90)
    page.close()

    page = context.new_page()  # the phone was off in between
    page.goto(field.address)
    expect(page.locator("#left")).to_have_text("110 trees left")
    unsent(page, 90)
    expect(page.locator(".told-send")).to_have_count(1)
    expect(page.get_by_text("No answer from the server.")).to_have_count(1)  # neither fetching nor sending got one
    begin(page)
    record(taps[90:])
    expect(page.get_by_text("Every tree of this round has a record.")).to_be_visible()
    unsent(page, 200)
    assert field.stored() == {}

    calls, met = [], set()
    receive = answers.census_batch_receive

    def on_a_bad_line(**given):
        calls.append(len(given["sent"]))
        if len(calls) % 3 == 0:
            met.add("dropped")
            raise ConnectionError("the line dropped before the batch arrived")
        answered = receive(**given)
        if len(calls) % 5 == 1:
            met.add("died")
            raise ConnectionError("the server died after the commit")
        if len(calls) % 2 == 0:
            met.add("twice")
            return receive(**given)
        return answered

    monkeypatch.setattr(answers, "census_batch_receive", on_a_bad_line)
    context.set_offline(False)
    send_until_empty(page)
    expect(page.get_by_text("No answer from the server.")).to_have_count(0)
    assert met == {"dropped", "died", "twice"} and set(calls) == {50}
    assert field.stored() == {tag: status for tag, status, _word, _cause in taps}
    records = Observation.objects.filter(round=field.round)
    assert records.count() == 200 and set(records.values_list("observer", flat=True)) == {"Rosa Counter"}
    assert AuditEntry.objects.filter(verb="planting.census_recorded", actor=field.crew).count() == 4  # one for each batch
    assert recount_differences()[1] == []


def test_start_keeps_its_button_while_the_round_is_fetched_again(signed_in, field):
    context = signed_in()
    opened(context, field.address).close()  # the round is on the phone now
    page = context.new_page()
    held = []
    page.route(f"**{reverse('census_phone_data', args=[field.round.pk])}*", lambda route: held.append(route))
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
    page.locator("#cautions-read").tap()
    # the first screen names the trees of the round as it was before: the walk goes on from the same tree of the new one
    for word, tag in (("Next", field.trees[1].tag), ("Previous", field.trees[0].tag)):
        page.get_by_role("button", name=word, exact=True).tap()
        expect(page.locator("#open-tree code")).to_have_text(tag)
    page.get_by_role("button", name="Next", exact=True).tap()
    tap_word(page, field.trees[1].tag, "Alive")
    expect(page.locator("#open-tree code")).to_have_text(field.trees[2].tag)


def test_two_tabs_record_and_send_each_tree_once(signed_in, field):
    context = signed_in()
    first = opened(context, field.address)
    second = opened(context, field.address)
    for page in (first, second):
        begin(page, is_sent=True)
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
    begin(page, is_sent=True)
    context.set_offline(True)
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    page.close()

    sign_in(other, context)
    context.set_offline(False)
    page = opened(context, field.address)
    expect(page.get_by_text("Ben Walker is signed in now.")).to_be_visible()
    expect(page.get_by_text("1 record of Rosa Counter is on this phone and not sent.")).to_be_visible()
    begin(page, is_sent=True)
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


def test_two_phones_send_one_planting_after_its_window_closed(signed_in, field):
    other = factories.person("volunteer", first_name="Ben", last_name="Walker")
    field.planting.crew.add(other)
    phones = [signed_in(), signed_in(other)]
    pages = [opened(context, field.address) for context in phones]
    for context, page, word in zip(phones, pages, (("Alive", None), ("Dead", "Deer")), strict=True):
        begin(page, is_sent=True)
        context.set_offline(True)
        tap_word(page, field.trees[0].tag, *word)  # both at the first tree, of which they say different things
        if page is pages[1]:
            tap_word(page, field.trees[1].tag, "Alive")
    field.round.closes_on = timezone.localdate() - timedelta(days=1)
    field.round.save()
    for context, page in zip(phones, pages, strict=True):
        context.set_offline(False)
        send_until_empty(page)
    records = Observation.objects.current().filter(round=field.round).order_by("observer", "tree__tag")
    first, second = (tree.tag for tree in field.trees[:2])
    assert list(records.values_list("observer", "tree__tag", "status")) == [
        ("Ben Walker", first, "D"), ("Ben Walker", second, "A"), ("Rosa Counter", first, "A"),
    ]  # fmt: skip
    assert [tree.tag for tree, _records in conflicts(field.round, field.lead)] == [first]
    assert recount_differences()[1] == []


SLOW_STORE = """() => {
    const put = mastbookPhone.store.putRound;
    mastbookPhone.store.putRound = async (round) => { await new Promise((done) => setTimeout(done, 200)); return put(round); };
}"""


def test_a_revoked_link_leaves_the_records_and_a_file_to_load(new_context, field, tmp_path):
    field.lead.phone = "802-555-0142"
    field.lead.save()
    link, token = round_link_make(actor=field.lead, census_round=field.round, for_whom="the school")
    context = new_context(**OLD_PHONE)
    page = opened(context, f"{reverse('phone_home')}#{token}")
    expect(page.get_by_text("This link takes records until the end of")).to_be_visible()
    page.evaluate(SLOW_STORE)
    page.locator("#start").tap()
    expect(page.get_by_text("Write your name first.")).to_be_visible()
    page.locator("#who").fill("Mia, =class 7")
    page.wait_for_timeout(800)  # the round is stored twice meanwhile: a name alone does not start it
    expect(page.locator("#start")).to_be_visible()
    begin(page, is_sent=True)
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
    expect(page.get_by_text("This link does not work, or no longer.")).to_be_in_viewport()
    unsent(page, 1)
    expect(page.get_by_text("Save here what is not sent.")).to_be_visible()
    expect(page.locator(".told-ended").get_by_role("link", name=f"Call the programme: {field.lead}, 802-555-0142")).to_be_visible()
    with page.expect_download() as download:
        page.locator(".told-ended").get_by_role("button", name="Save what is not sent to a file").tap()
    path = tmp_path / "census.csv"
    download.value.save_as(path)
    sheet_load(actor=field.lead, kind="census", content=path.read_bytes(), filename=path.name)
    loaded = Observation.objects.get(round=field.round, tree=field.trees[1])
    assert (loaded.status, loaded.cause, loaded.observer, loaded.observed_on) == ("RM", "thinned", "Mia, =class 7", timezone.localdate())
    waiting = page.evaluate("mastbookPhone.store.queue()")
    assert [record["uuid"] for record in waiting] == [str(loaded.uuid)]
    fetched_earlier = page.evaluate(
        """mastbookPhone.sheet({ data: { round: {} }, round: { skew: 0 }, byPk: new Map() },
        [{ tree: 7, at: 0, uuid: "first", corrects: null }, { tree: 7, at: 0, uuid: "second", corrects: "first" }], [["Tag", "tag"]])"""
    )
    assert fetched_earlier == "Tag,uuid,corrects\r\n7,first,\r\n7,second,first\r\n"


def test_a_refused_record_stays_with_its_reason_until_it_is_taken(signed_in, field, tmp_path):
    context = signed_in()
    page = opened(context, field.address)
    begin(page, is_sent=True)
    tap_word(page, field.trees[0].tag, "Alive")
    field.planting.planted_on = timezone.localdate() + timedelta(days=1)
    field.planting.save()
    page.locator("#send").tap()
    page.get_by_role("button", name="1 record was refused. See why").tap()
    expect(page.get_by_text("before planting on")).to_be_visible()
    unsent(page, 1)
    with page.expect_download() as download:
        page.get_by_role("button", name="Save what is not sent to a file").tap()
    path = tmp_path / "census.csv"
    download.value.save_as(path)
    field.planting.planted_on = factories.day(2019)
    field.planting.save()
    sheet_load(actor=field.lead, kind="census", content=path.read_bytes(), filename=path.name)
    assert field.stored() == {field.trees[0].tag: "A"}
    page.get_by_role("button", name="Send them again").tap()  # the coordinator has loaded it already
    unsent(page, 0)
    assert field.stored() == {field.trees[0].tag: "A"}
    assert Observation.objects.filter(round=field.round).count() == 1


@pytest.mark.parametrize("days", [366, -366])
def test_a_clock_a_year_off_gives_the_day_of_today(signed_in, field, days):
    context = signed_in()
    page = context.new_page()
    page.clock.set_fixed_time(timezone.now() + timedelta(days=days))
    page.goto(field.address)
    begin(page, is_sent=True)
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    page.locator("#send").tap()
    unsent(page, 0)
    stored = Observation.objects.get(round=field.round)
    assert stored.observed_on == timezone.localdate()
    assert stored.note == f"[phone clock: {(timezone.localdate() + timedelta(days=days)).isoformat()}]"


def test_a_newer_page_waits_for_a_tap_and_loses_nothing(signed_in, field, monkeypatch):
    context = signed_in()
    page = opened(context, field.address)
    begin(page, is_sent=True)
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    monkeypatch.setattr(phone_page, "shell_edition", lambda: "a newer page")
    page.locator("#box-height_cm").fill("99")
    page.evaluate("navigator.serviceWorker.getRegistration('/phone/').then(found => found.update()).then(() => null)")
    expect(page.locator("#newer")).to_be_visible()
    expect(page.locator("#box-height_cm")).to_have_value("99")  # nothing changes under the hands
    page.locator("#newer").tap()
    expect(page.locator("#start")).to_be_visible()
    expect(page.locator("#left")).to_have_text("19 trees left")
    expect(page.locator("#unsent")).to_have_text("0 not sent")  # it sends when it opens
    assert field.stored() == {field.trees[0].tag: "A"}
