"""A second link to a round on the same phone takes over what the same person recorded by the first, and nothing of anybody else."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from plantings.models import Observation, Photo, RoundLink
from plantings.selectors.census.recount import recount_differences
from plantings.services.census.round_links import round_link_make
from registry.services.land.links import link_revoke
from tests import factories
from tests.browser.axe import RUN, SCRIPT, TAGS
from tests.browser.phone import OLD_PHONE, begin, field, opened, send_until_empty, tap_word, unsent
from tests.browser.test_phone_photos import own_folder, take

__all__ = ["field", "own_folder"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

QUEUE = "mastbookPhone.store.queue().then((queue) => queue.map((one) => [one.uuid, one.observer, one.at, one.key]).sort())"
# the phone dies after some of the records are moved
DYING = """() => {
    const put = IDBObjectStore.prototype.put;
    let left = 3;
    IDBObjectStore.prototype.put = function (...given) {
        left -= 1;
        if (!left) { IDBObjectStore.prototype.put = put; throw new Error("the phone died"); }
        return put.apply(this, given);
    };
}"""

# an earlier link is taken over while the first of two records is on its way
SENT_ONE_BY_ONE = """() => {
    const phone = mastbookPhone, { key } = phone.state.round;
    phone.at.batch = 1;
    window.before = [];
    phone.sendNow = async () => null;
    phone.ask = async (_address, { headers, body }) => {
        const { records } = JSON.parse(body);
        if (!records[0].kind) window.before.push(headers[phone.at.beforeHeader] || null);
        if (!records[0].kind) await phone.store.putMeta('before/' + key, ['an earlier link']);
        return { status: 200, body: { answers: records.map(({ uuid }) => ({ uuid, result: 'stored' })) } };
    };
}"""


def named(page, name):
    page.locator("#help").tap()
    page.locator("#who").fill(name)


def test_a_further_link_takes_over_what_the_same_person_recorded(new_context, field):
    makers = [field.lead, *(factories.person("lead", first_name=name, last_name="Lead") for name in ("Ada", "Ben"))]
    links = [round_link_make(actor=maker, census_round=field.round, for_whom="the school") for maker in makers]
    context = new_context(**OLD_PHONE)
    home, trees = reverse("phone_home"), [tree.tag for tree in field.trees]
    page = opened(context, f"{home}#{links[0][1]}")
    page.locator("#who").fill("Mia")
    begin(page, is_sent=True)
    tap_word(page, trees[0], "Alive")
    unsent(page, 1)
    send_until_empty(page)
    context.set_offline(True)
    tap_word(page, trees[1], "Dead", "Deer")
    expect(page.locator("#open-tree code")).to_have_text(trees[2])
    take(page, 10, 1)
    tap_word(page, trees[2], "Alive")
    expect(page.locator("#open-tree code")).to_have_text(trees[3])
    page.locator("#box-height_cm").fill("88")
    named(page, "Tom")
    begin(page)
    tap_word(page, trees[3], "Not found")
    before = page.evaluate(QUEUE)
    assert [record[1] for record in before if record[1] != "Tom"] == ["Mia"] * 2

    link_revoke(actor=field.lead, link=links[0][0])
    context.set_offline(False)
    page.locator("#send").tap()
    expect(page.get_by_text("Or ask for another link to this round")).to_be_visible()
    page.goto(f"{home}#{links[1][1]}")
    expect(page.get_by_text("2 records of Mia by an earlier link of this round are on this phone and not sent. Mia takes")).to_be_visible()
    page.locator("#who").fill("Tim")
    expect(page.locator("#take-over")).to_have_count(0)
    context.set_offline(True)
    page.locator("#who").fill(" mia ")
    expect(page.get_by_text("1 record of Tom by an earlier link of this round is on this phone and not sent.")).to_be_visible()
    page.evaluate(SCRIPT)
    assert page.evaluate(RUN, [TAGS, []]) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.evaluate(DYING)
    page.locator("#take-over").tap()
    expect(page.get_by_text("Nothing was taken over")).to_be_visible()
    assert page.evaluate(QUEUE) == before

    second = context.new_page()
    second.goto(f"{home}#{links[1][1]}")
    expect(second.locator("#take-over")).to_be_visible()
    moving = "void (window.moved = mastbookPhone.store.moveHere(mastbookPhone.state.round))"
    for one in (page, second):
        one.evaluate(moving)
    assert sorted(one.evaluate("window.moved") for one in (page, second))[0] == 0  # the second tab finds nothing left
    moved = page.evaluate(QUEUE)
    assert [record[:3] for record in moved] == [record[:3] for record in before]
    assert {record[1]: record[3] for record in moved} == {"Mia": f"l/{links[1][1]}", "Tom": f"l/{links[0][1]}"}
    second.close()

    link_revoke(actor=field.lead, link=links[1][0])
    context.set_offline(False)
    page.goto(f"{home}#{links[2][1]}")
    page.locator("#who").fill("Mia")
    page.locator("#take-over").tap()
    expect(page.get_by_text("Taken over.")).to_be_visible()
    unsent(page, 1)  # Tom's
    begin(page)
    expect(page.locator("#open-tree code")).to_have_text(trees[3])  # what was typed and not saved is here
    expect(page.locator("#box-height_cm")).to_have_value("88")
    page.get_by_role("button", name="Find a tree").tap()
    page.locator("#find-box").fill(trees[0])
    page.get_by_role("status").get_by_role("button", name=trees[0]).tap()
    expect(page.get_by_text(f"Tree {trees[0]} was sent. What you save now corrects it.")).to_be_visible()
    tap_word(page, trees[0], "Not found")
    page.locator("#send").tap()
    unsent(page, 1)
    expect(page.locator("#unsent-photos")).to_be_hidden()
    assert field.stored() == {trees[0]: "NF", trees[1]: "D", trees[2]: "A"}
    records = Observation.objects.filter(round=field.round)
    assert set(records.values_list("observer", flat=True)) == {"Mia"}
    assert {str(record.uuid) for record in records.filter(tree__in=field.trees[1:3])} == {one[0] for one in before if one[1] == "Mia"}
    assert records.current().get(tree=field.trees[0]).supersedes.entered_by == field.lead
    assert Photo.objects.get().observation.tree == field.trees[2]
    assert recount_differences()[1] == []
    page.get_by_role("button", name="Open the earlier link").tap()
    expect(page.locator(".told-ended").get_by_role("button", name="Save what is not sent to a file")).to_be_visible()


def test_records_moved_here_while_others_are_sent_go_with_their_link(new_context, field):
    _link, token = round_link_make(actor=field.lead, census_round=field.round, for_whom="the school")
    context = new_context(**OLD_PHONE)
    page = opened(context, f"{reverse('phone_home')}#{token}")
    page.locator("#who").fill("Mia")
    begin(page, is_sent=True)
    page.evaluate(SENT_ONE_BY_ONE)
    for tree in field.trees[:2]:
        tap_word(page, tree.tag, "Alive")
    unsent(page, 2)
    assert page.evaluate("mastbookPhone.send().then(() => window.before)") == [None, "an earlier link"]


def test_a_window_that_closes_in_mid_round_leaves_the_record_here(new_context, field):
    today = timezone.localdate()
    link, token = round_link_make(actor=field.lead, census_round=field.round, for_whom="the school", ends_on=today)
    page = opened(new_context(**OLD_PHONE), f"{reverse('phone_home')}#{token}")
    page.locator("#who").fill("Mia")
    begin(page, is_sent=True)
    RoundLink.objects.filter(pk=link.pk).update(ends_on=today - timedelta(days=1))
    tap_word(page, field.trees[0].tag, "Alive")
    page.locator("#send").tap()
    expect(page.get_by_text("This link does not work, or no longer.")).to_be_in_viewport()
    expect(page.locator(".told-ended").get_by_role("button", name="Save what is not sent to a file")).to_be_visible()
    tap_word(page, field.trees[1].tag, "Alive")  # whoever walks on is not stopped
    unsent(page, 2)
    assert field.stored() == {}
    RoundLink.objects.filter(pk=link.pk).update(ends_on=today)
    send_until_empty(page)
    assert field.stored() == dict.fromkeys((tree.tag for tree in field.trees[:2]), "A")


def test_a_name_typed_while_the_round_is_fetched_again_stays(new_context, field):
    _link, token = round_link_make(actor=field.lead, census_round=field.round, for_whom="the school")
    address = f"{reverse('phone_home')}#{token}"
    context = new_context(**OLD_PHONE)
    opened(context, address).close()
    page = context.new_page()
    held = []
    page.route(f"**{reverse('phone_by_link')}*", lambda route: held.append(route))
    page.goto(address)
    expect(page.locator("#start")).to_be_visible()
    page.evaluate("(puts => { mastbookPhone.store.putRound = round => new Promise(done => puts.push(done)); })(window.puts = [])")
    while not held:
        page.wait_for_timeout(20)
    held[0].continue_()
    while not page.evaluate("window.puts.length"):  # the new round is being stored
        page.wait_for_timeout(20)
    page.locator("#who").fill("Tom")
    page.evaluate("window.puts.forEach(done => done())")
    expect(page.locator("#unsent")).to_have_text("0 not sent")
    assert page.evaluate("mastbookPhone.state.round.observer") == "Tom"
