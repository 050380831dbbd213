"""A phone in the hands of a crew: what the tests of its census share."""

from datetime import timedelta
from time import monotonic

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from plantings.models import Observation
from tests import factories

expect.set_options(timeout=30_000)  # on a busy machine; nothing waits longer than it must
OLD_PHONE = {"viewport": {"width": 320, "height": 640}, "has_touch": True, "is_mobile": True}


# a hand does not tap one place twice within 0.4 s for two trees, and the page takes that for one tap; the tests tap faster, so here each
# event is a second after the one before
_SLOW_HAND = "let at = 0; Object.defineProperty(Event.prototype, 'timeStamp', { configurable: true, get: () => (at += 1000) });"


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
        context.add_init_script(_SLOW_HAND)
        sign_in(person or field.crew, context)
        return context

    return make


def opened(context, address):
    """The page of the phone, once it works without a signal."""
    context.add_init_script(_SLOW_HAND)
    page = context.new_page()
    page.goto(address)
    expect(page.get_by_text("Ready. This page now works without a signal.")).to_be_visible()
    return page


# that the cautions were read is sent by itself, and takes along what is recorded meanwhile
_NOTHING_IS_SENT = """async () => {
    const { queue } = await mastbookPhone.store.records(mastbookPhone.state.round.key);
    const waiting = queue.some(record => !mastbookPhone.isCounted(record) && record.state === 'waiting');
    const { held } = await navigator.locks.query();
    return !navigator.onLine || (!waiting && !held.some(lock => lock.name === 'mastbook-phone-send'));
}"""


def begin(page, *, is_sent=False):
    """Open the first tree or plot; whoever has not read the cautions on this phone says that they have; with `is_sent` that has been sent."""
    page.locator("#start").tap()
    expect(page.locator("#open-tree, #cautions-read")).to_be_visible()
    if page.locator("#cautions-read").count():
        page.locator("#cautions-read").tap()
    expect(page.locator("#open-tree")).to_be_visible()
    if is_sent:
        until(page, lambda: page.evaluate(_NOTHING_IS_SENT))


# a tap is taken once the page has asked what it needs, or says what it stored and has gone on, or says why it could not
_IS_TAKEN = """tag => {
    const open = document.querySelector("#open-tree code"), said = document.querySelector(".told-tree");
    const isOn = !open || open.textContent !== tag;
    return Boolean(document.querySelector("#band[hidden], .told-full") || (isOn && said && said.textContent.includes(tag)));
}"""


def tap_word(page, tag, word, cause=None, *, is_waiting=True):
    """Record the open tree with one tap, and a second one for its cause. Waits until the record is stored, unless `is_waiting` is False."""
    expect(page.locator("#open-tree code")).to_have_text(tag)
    page.locator("#band").get_by_role("button", name=word, exact=True).tap()
    if cause:
        page.locator("#ask").get_by_role("button", name=cause, exact=True).tap()
    if is_waiting:
        until(page, lambda: page.evaluate(_IS_TAKEN, tag))


def until(page, is_so):
    """Wait for what nothing on the screen tells, such as what the server stores after a tap."""
    end = monotonic() + 120  # on a busy machine; a test that waits for what never comes fails by itself
    while not is_so():
        assert monotonic() < end, "it did not come"
        page.wait_for_timeout(20)


def unsent(page, count):
    expect(page.locator("#unsent")).to_have_text(f"{count} not sent")


# what a tap on Send does, to its end; the page may be sending by itself, and a tap then does nothing
_SEND = """async () => {
    await navigator.locks.request('mastbook-phone-send', () => null);
    await mastbookPhone.sendNow();
}"""


def send(page, times=1):
    """Send what is left, so often, as somebody does who comes back into a weak signal."""
    for _time in range(times):
        page.evaluate(_SEND)


def send_until_empty(page, most=20):
    """Send until no record is left."""
    for _time in range(most):
        if page.locator("#unsent").inner_text() == "0 not sent":
            return
        send(page)
    unsent(page, 0)
