"""What the office decided about records meanwhile, and what a second person records with the same phone: each sighting is stored."""

from datetime import timedelta
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from plantings.choices import ReviewState
from plantings.imports.loading import sheet_load
from plantings.models import Observation, PlotCount
from plantings.selectors.census.rounds import conflicts, missing_trees
from plantings.services.census.observations import observation_correct
from plantings.services.census.reviews import records_review
from plantings.services.census.round_links import round_link_make
from plantings.services.trees import counted_plot_add
from tests import factories
from tests.browser.phone import OLD_PHONE, begin, field, opened, send, signed_in, tap_word, unsent, until
from tests.browser.test_phone_photos import take

__all__ = ["field", "signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

HELD = """() => new Promise(isHeld => navigator.locks.request('mastbook-phone-send', () => {
    isHeld();
    return new Promise(release => { window.release = release; });
}))"""


def again(page):
    """The page of the phone as somebody opens it the next morning, with the round as the office has it by then."""
    before = page.evaluate("mastbookPhone.state.round.loaded")
    page.reload()
    until(page, lambda: page.evaluate("before => (mastbookPhone.state.round || { loaded: before }).loaded !== before", before))
    expect(page.get_by_text("Ready. This page now works without a signal.")).to_be_visible()


def go_to(page, tag):
    page.get_by_role("button", name="Find a tree").tap()
    page.locator("#find-box").fill(tag)
    page.locator(".picks").first.get_by_role("button").first.tap()
    expect(page.locator("#open-tree code")).to_have_text(tag)


def called(page, name):
    page.locator("#help").tap()
    page.locator("#who").fill(name)
    begin(page)


def both_read_the_cautions(page):
    for name in ("Anna", "Ben"):
        page.locator("#who").fill(name)
        begin(page, is_sent=True)
        page.locator("#help").tap()


def on_file(tree):
    return list(Observation.objects.filter(tree=tree).order_by("pk").values_list("status", "observer", "supersedes"))


def test_a_rejected_record_leaves_its_tree_to_visit_and_the_next_is_new(signed_in, field):
    page = opened(signed_in(), field.address)
    begin(page, is_sent=True)
    for tree in field.trees[:4]:
        tap_word(page, tree.tag, "Alive")
    send(page)
    unsent(page, 0)
    rejected = Observation.objects.get(tree=field.trees[1])
    records_review(actor=field.lead, state=ReviewState.REJECTED, observations=[rejected], reason="This row was walked backwards.")
    again(page)
    expect(page.locator("#left")).to_have_text("17 trees left")
    assert missing_trees(field.round).count() == 17
    begin(page)
    go_to(page, field.trees[1].tag)
    expect(page.locator("#open-tree ~ .kept, .open .kept")).to_contain_text("The office did not accept the record of tree")
    expect(page.locator(".open .kept")).to_contain_text("This row was walked backwards. Look at the tree again.")
    tap_word(page, field.trees[1].tag, "Alive")  # the same word as before: it is seen a second time
    expect(page.locator("#left")).to_have_text("16 trees left")
    send(page)
    unsent(page, 0)
    assert on_file(field.trees[1]) == [("A", "Rosa Counter", None), ("A", "Rosa Counter", None)]
    assert missing_trees(field.round).count() == 16 and len(field.stored()) == 4
    again(page)
    expect(page.locator("#left")).to_have_text("16 trees left")


def test_what_is_seen_after_the_office_corrected_is_a_record_beside_it(signed_in, field):
    page = opened(signed_in(), field.address)
    begin(page, is_sent=True)
    for tree in field.trees[:2]:
        tap_word(page, tree.tag, "Alive")
    send(page)
    unsent(page, 0)
    for tree in field.trees[:2]:
        sent = Observation.objects.get(tree=tree)
        observation_correct(actor=field.lead, observation=sent, reason="The photo shows another tree.", status="D", cause="deer")
    # the phone knows nothing of it yet: the server refuses what would correct the record of before
    go_to(page, field.trees[0].tag)
    tap_word(page, field.trees[0].tag, "Not found")
    send(page)
    unsent(page, 1)
    expect(page.locator("#said")).to_contain_text("1 record was refused.")
    again(page)
    unsent(page, 0)
    begin(page)
    go_to(page, field.trees[1].tag)
    tap_word(page, field.trees[1].tag, "Alive")
    send(page)
    unsent(page, 0)
    assert [(status, supersedes is None) for status, _who, supersedes in on_file(field.trees[0])] == [
        ("A", True),
        ("D", False),
        ("NF", True),
    ]
    assert [(status, supersedes is None) for status, _who, supersedes in on_file(field.trees[1])] == [
        ("A", True),
        ("D", False),
        ("A", True),
    ]
    assert {tree for tree, _records in conflicts(field.round, field.lead)} == set(field.trees[:2])  # a person decides


@pytest.mark.parametrize("by_link", [True, False])
def test_two_people_with_one_phone_lose_nothing_of_each_other(new_context, signed_in, field, by_link):
    if by_link:
        ends = timezone.localdate() + timedelta(days=3)
        _link, token = round_link_make(actor=field.lead, census_round=field.round, for_whom="the school", ends_on=ends)
    context = new_context(**OLD_PHONE) if by_link else signed_in()
    page = opened(context, f"{reverse('phone_home')}#{token}" if by_link else field.address)
    both_read_the_cautions(page)
    # nothing is sent from here on, not even tried: a record that may have left the phone is corrected and not replaced
    page.evaluate(HELD)
    context.set_offline(True)
    called(page, "Anna")
    tap_word(page, field.trees[0].tag, "Alive")
    tap_word(page, field.trees[1].tag, "Alive")
    called(page, "Ben")
    go_to(page, field.trees[0].tag)
    expect(page.locator(".open .kept")).to_have_text(
        f"Anna recorded tree {field.trees[0].tag} with this phone. What you save is a record beside theirs."
    )
    tap_word(page, field.trees[0].tag, "Not found")
    page.locator("#undo").tap()  # that of Ben
    expect(page.locator(".open .kept")).to_contain_text("taken back")
    unsent(page, 2)
    assert page.locator("#undo").is_disabled()  # nothing of Ben is left, and that of Anna is hers
    tap_word(page, field.trees[0].tag, "Not found")
    unsent(page, 3)
    called(page, "anna ")
    go_to(page, field.trees[1].tag)
    tap_word(page, field.trees[1].tag, "Dead", "Deer")  # her own, not sent yet: replaced
    unsent(page, 3)
    context.set_offline(False)
    page.evaluate("window.release()")
    send(page)
    unsent(page, 0)
    assert on_file(field.trees[0]) == [("A", "Anna", None), ("NF", "Ben", None)]
    [last] = Observation.objects.current().filter(tree=field.trees[1])
    assert (last.status, last.observer) == ("D", "anna")  # as she wrote it that time
    assert [tree for tree, _records in conflicts(field.round, field.lead)] == [field.trees[0]]


def test_a_long_note_and_the_word_about_what_is_odd_fit_together(signed_in, field):
    factories.observe(field.last, {field.trees[0]: "A"}, height_cm=142)
    page = opened(signed_in(), field.address)
    begin(page, is_sent=True)
    page.locator("#box-height_cm").fill("14")
    page.locator("summary").tap()
    page.locator("#note").fill("n" * 900)
    page.locator("#band").get_by_role("button", name="Alive", exact=True).tap()
    page.locator("#why").fill("w" * 300)
    assert len(page.locator("#why").input_value()) < 100
    page.get_by_role("button", name="It is right: save").tap()
    send(page)
    unsent(page, 0)
    assert Observation.objects.get(tree=field.trees[0], round=field.round).note.startswith("n" * 900 + "; www")


def test_a_rejected_count_leaves_its_plot_to_count(signed_in, field):
    plot = counted_plot_add(actor=field.lead, planting=field.planting, code="D1", lot=factories.seed_lot(), planted_count=50)
    page = opened(signed_in(), field.address)
    page.locator("#start-other").tap()
    expect(page.locator("#open-tree, #cautions-read")).to_be_visible()
    page.locator("#cautions-read").tap()
    for number in (1, 2):
        page.locator("#count-alive").fill("31")
        page.locator("#save-count").tap()
        answer = page.get_by_role("button", name="It is right: save")
        if answer.count():
            answer.tap()
        until(page, lambda number=number: PlotCount.objects.count() == number)
        send(page)
        unsent(page, 0)
        if number == 1:
            records_review(actor=field.lead, state=ReviewState.REJECTED, counts=[PlotCount.objects.get()], reason="Another plot.")
            again(page)
            page.locator("#start").tap()  # it goes on where it was
            expect(page.locator(".open .kept")).to_have_text(
                "The office did not accept the count of plot D1: Another plot. Count it again."
            )
    assert list(PlotCount.objects.current().values_list("plot", "alive")) == [(plot.pk, 31)]


def test_undo_of_a_correction_gives_the_record_before_it_back(signed_in, field):
    context = signed_in()
    page = opened(context, field.address)
    begin(page, is_sent=True)
    page.evaluate(HELD)
    context.set_offline(True)
    tag = field.trees[0].tag
    page.locator("#box-height_cm").fill("142")
    tap_word(page, tag, "Alive")
    go_to(page, tag)
    page.locator("#band").get_by_role("button", name="Not found", exact=True).tap()
    page.get_by_role("button", name="Clear them and save").tap()
    expect(page.locator("#open-tree code")).to_have_text(field.trees[1].tag)
    page.locator("#undo").tap()
    expect(page.locator("#open-tree code")).to_have_text(tag)
    expect(page.locator("#left")).to_have_text("19 trees left")
    unsent(page, 1)
    context.set_offline(False)
    page.evaluate("window.release()")
    send(page)
    unsent(page, 0)
    assert Observation.objects.filter(round=field.round).values_list("status", "height_cm").get() == ("A", 142)


def test_a_record_that_came_by_a_file_is_rejected_on_the_phone_too(signed_in, field):
    """The lead loads the file of the phone, so the records are of the lead; the phone sends them again, and they are known."""
    context = signed_in()
    page = opened(context, field.address)
    begin(page, is_sent=True)
    page.evaluate(HELD)
    context.set_offline(True)
    for tree in field.trees[:2]:
        tap_word(page, tree.tag, "Alive")
    page.locator("#help").tap()
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save what is not sent to a file").tap()
    content = Path(saved.value.path()).read_bytes()
    sheet_load(actor=field.lead, kind="census", content=content, filename="census.csv")
    context.set_offline(False)
    page.evaluate("window.release()")
    send(page)
    unsent(page, 0)
    record = Observation.objects.get(tree=field.trees[0])
    assert record.entered_by == field.lead
    records_review(actor=field.lead, state=ReviewState.REJECTED, observations=[record], reason="Another tree.")
    again(page)
    expect(page.locator("#left")).to_have_text("19 trees left")
    begin(page)
    go_to(page, field.trees[0].tag)
    tap_word(page, field.trees[0].tag, "Alive")
    send(page)
    unsent(page, 0)
    assert len(field.stored()) == 2


def test_a_photo_is_of_whoever_took_it(signed_in, field):
    context = signed_in()
    page = opened(context, field.address)
    both_read_the_cautions(page)
    page.evaluate(HELD)
    context.set_offline(True)
    called(page, "Anna")
    take(page, 10, 1)
    called(page, "Ben")
    expect(page.locator(".thumb")).to_have_count(0)
    tap_word(page, field.trees[0].tag, "Alive")
    photos = "mastbookPhone.store.photos(mastbookPhone.state.round.key).then(all => all.map(one => [one.observer, one.record]))"
    assert page.evaluate(photos) == [["Anna", None]]
    called(page, "Anna")
    go_to(page, field.trees[0].tag)
    expect(page.locator(".thumb")).to_have_count(1)
