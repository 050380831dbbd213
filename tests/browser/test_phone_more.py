"""The census on a phone beside its trees: cautions read, counted plots, a planting that comes block by block."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from plantings.choices import ReviewState
from plantings.models import CautionsRead, Observation, PlotCount
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.census.second import draw_lines
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.census.reviews import records_review
from plantings.services.census.round_links import round_link_make
from plantings.services.census.second import second_draw_make
from plantings.services.trees import counted_plot_add
from plantings.views.phone import data as phone_data
from tests import factories
from tests.browser.phone import OLD_PHONE, begin, field, opened, send_until_empty, signed_in, tap_word, unsent, until

__all__ = ["field", "signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_cautions_are_read_once_in_each_wording(signed_in, field):
    context = signed_in()
    page = opened(context, field.address)
    context.set_offline(True)
    page.locator("#start").tap()
    expect(page.get_by_text("Old well at the gate.")).to_be_visible()
    page.locator("#cautions-read").tap()
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)  # the reading waits too, and is no record
    page.locator("#help").tap()
    expect(page.get_by_text("Read by Rosa Counter.")).to_be_visible()
    page.locator("#start").tap()
    expect(page.locator("#open-tree")).to_be_visible()
    context.set_offline(False)
    send_until_empty(page)
    read = CautionsRead.objects.get()
    assert (read.name, read.entered_by, read.round, read.link, read.language) == ("Rosa Counter", field.crew, field.round, None, "en")

    field.planting.site.cautions = "Old well at the gate, now open."
    field.planting.site.save()
    page.reload()
    expect(page.get_by_text("The cautions have changed since you read them here.")).to_be_visible()
    page.locator("#start").tap()
    page.locator("#cautions-later").tap()  # nothing waits for it
    expect(page.locator("#open-tree")).to_be_visible()
    page.locator("#help").tap()
    begin(page)
    expect(page.get_by_text("The cautions have changed since you read them here.")).to_have_count(0)
    until(page, lambda: CautionsRead.objects.count() == 2)
    first, second = CautionsRead.objects.all()
    assert first.wording != second.wording and first.name == second.name


def test_plots_are_counted_without_a_signal(signed_in, field):
    lot = factories.seed_lot()
    for code in ("D1", "D2", "D3"):
        plot = counted_plot_add(actor=field.lead, planting=field.planting, code=code, lot=lot, planted_count=40)
    plot_count_record(actor=field.lead, census_round=field.last, plot=plot, alive=30, observed_on=field.last.opens_on)
    context = signed_in()
    page = opened(context, field.address)
    expect(page.locator("#left")).to_have_text("20 trees left")
    expect(page.get_by_text("3 plots left")).to_be_visible()
    context.set_offline(True)
    page.locator("#start-other").tap()
    page.locator("#cautions-read").tap()

    def counted(tag, alive, dead=""):
        expect(page.locator("#open-tree code")).to_have_text(tag)
        page.locator("#count-alive").fill(alive)
        page.locator("#count-dead").fill(dead)
        page.locator("#save-count").tap()

    counted("D1", "39", "2")
    expect(page.locator("#count-alive-said")).to_contain_text("more than the 40 planted")
    counted("D1", "")
    expect(page.locator("#count-alive-said")).to_contain_text("0 if none is alive")
    counted("D1", "31", "4")
    counted("D2", "0")
    page.locator("#undo").tap()
    counted("D2", "1")
    unsent(page, 2)
    page.close()

    page = context.new_page()  # the phone was off in between
    page.goto(field.address)
    expect(page.locator("#left")).to_have_text("1 plot left")
    expect(page.get_by_text("20 trees left")).to_be_visible()
    begin(page)
    expect(page.get_by_text("Last time")).to_have_count(0)  # until the new count is typed
    counted("D3", "12")
    expect(page.get_by_text("12 alive, last time 30: a large change.")).to_be_visible()
    expect(page.locator("#count-alive-said")).to_contain_text("30 alive, 0 dead")
    page.locator("#why").fill("voles")
    page.get_by_role("button", name="It is right: save").tap()
    expect(page.get_by_text("Every plot of this round has a count.")).to_be_visible()
    context.set_offline(False)
    send_until_empty(page)
    begin(page)  # still at the last plot
    expect(page.get_by_text("The count of plot D3 was sent. What you save now corrects it.")).to_be_visible()
    counted("D3", "13")
    page.get_by_role("button", name="It is right: save").tap()
    until(page, lambda: PlotCount.objects.filter(round=field.round).count() == 4)
    counts = (
        PlotCount.objects.current().filter(round=field.round).order_by("plot__code").values_list("plot__code", "alive", "dead", "observer")
    )
    assert list(counts) == [("D1", 31, 4, "Rosa Counter"), ("D2", 1, 0, "Rosa Counter"), ("D3", 13, 0, "Rosa Counter")]
    assert PlotCount.objects.current().get(round=field.round, plot=plot).note == "voles"


def test_drawn_trees_are_measured_again_without_a_signal(signed_in, field):
    first = factories.person("volunteer", first_name="Ben", last_name="Walker")
    for tree in field.trees:
        factories.observe(field.round, {tree: "A"}, actor=first, observer="Ben Walker", height_cm=173.25)
    draw = second_draw_make(actor=field.lead, census_round=field.round, count=3, measurer=field.crew)
    drawn = [line.tree.tag for line in draw_lines(draw)]
    context = signed_in()
    page = opened(context, reverse("seconddraw_phone", args=[draw.pk]))
    expect(page.get_by_text("Measure each tree as if nobody had been there before.")).to_be_visible()
    expect(page.locator("#left")).to_have_text("3 trees left")
    begin(page, is_sent=True)
    context.set_offline(True)
    for tag in drawn:
        expect(page.locator("#open-tree code")).to_have_text(tag)
        page.locator("#box-height_cm").fill("174")
        tap_word(page, tag, "Alive")
    unsent(page, 3)
    assert "173" not in page.locator("#screen").inner_text()
    page.reload()
    unsent(page, 3)
    context.set_offline(False)
    send_until_empty(page)
    found = [(line.second.status, line.second.values["height_cm"], line.second.observer) for line in draw_lines(draw)]
    assert found == [("A", 174, "Rosa Counter")] * 3


def test_a_large_planting_comes_block_by_block(signed_in, field, monkeypatch):
    monkeypatch.setattr(phone_data, "WHOLE_TREES_MOST", 15)
    monkeypatch.setattr(phone_data, "PART_TREES_MOST", 8)
    counted_plot_add(actor=field.lead, planting=field.planting, code="D1", lot=factories.seed_lot(), planted_count=40)
    context = signed_in()
    page = opened(context, field.address)
    expect(page.locator("#left")).to_have_text("20 trees left")
    expect(page.locator("#fetch-first")).to_be_visible()  # and nothing else is offered, such as the plot
    expect(page.locator("#start, #start-other")).to_have_count(0)
    page.locator("#blocks").get_by_role("button", name="part 2").tap()
    begin(page)
    expect(page.locator("#open-tree code")).to_have_text(field.trees[8].tag)
    context.set_offline(True)
    for tree in field.trees[8:16]:
        tap_word(page, tree.tag, "Alive")
    expect(page.get_by_text("Every tree of the blocks on this phone has a record.")).to_be_visible()
    expect(page.locator("#left")).to_have_text("12 trees left")
    page.close()

    page = context.new_page()
    page.goto(field.address)
    unsent(page, 8)
    expect(page.get_by_text("1 of 3 are here.")).to_be_visible()
    context.set_offline(False)
    page.locator("#fetch-blocks").tap()
    expect(page.get_by_text("3 of 3 are here.")).to_be_visible()
    send_until_empty(page)
    begin(page)
    page.get_by_role("button", name="Find a tree").tap()
    page.locator("#find-box").fill(field.trees[0].tag)
    page.get_by_role("status").get_by_role("button", name=field.trees[0].tag).tap()
    tap_word(page, field.trees[0].tag, "Dead", "Deer")
    unsent(page, 1)
    send_until_empty(page)
    assert set(field.stored()) == {tree.tag for tree in (field.trees[0], *field.trees[8:16])}
    assert Observation.objects.filter(round=field.round).count() == 9


def test_what_is_typed_and_not_saved_comes_back_to_its_tree_and_person(new_context, field):
    counted_plot_add(actor=field.lead, planting=field.planting, code="D1", lot=factories.seed_lot(), planted_count=40)
    _link, token = round_link_make(actor=field.lead, census_round=field.round, for_whom="the school")
    context = new_context(**OLD_PHONE)
    address = f"{reverse('phone_home')}#{token}"

    def page_again(name):
        page = opened(context, address)
        page.locator("#who").fill(name)
        begin(page, is_sent=True)
        return page

    page = page_again("Mia")
    page.locator("#box-height_cm").fill("142,5")
    page.locator("#box-canker_class").select_option("1")
    page.get_by_text("Note", exact=True).first.tap()
    page.locator("#note").fill("leaning")
    page.close()  # the phone took the page away, such as behind the camera

    page = page_again("Tom")
    expect(page.locator("#box-height_cm")).to_have_value("")  # nobody else's
    page.close()

    page = page_again("Mia")
    expect(page.get_by_text("You typed this before; it is not saved yet.")).to_be_visible()
    expect(page.locator("#box-height_cm")).to_have_value("142,5")
    expect(page.locator("#box-canker_class")).to_have_value("1")
    expect(page.locator("#note")).to_have_value("leaning")
    page.get_by_role("button", name="Next", exact=True).tap()
    expect(page.locator("#box-height_cm")).to_have_value("")
    page.get_by_role("button", name="Previous", exact=True).tap()
    tap_word(page, field.trees[0].tag, "Alive")
    unsent(page, 1)
    assert page.evaluate("mastbookPhone.store.drafts(mastbookPhone.state.round.key).then((found) => found.size)") == 0
    page.locator("#help").tap()
    page.locator("#start-other").tap()
    page.locator("#count-alive").fill("31")
    page.close()

    page = page_again("Mia")
    expect(page.locator("#open-tree code")).to_have_text("D1")
    expect(page.locator("#count-alive")).to_have_value("31")
    send_until_empty(page)
    stored = Observation.objects.get(round=field.round)
    assert (stored.height_cm, stored.canker_class, stored.note, stored.observer) == (142.5, 1, "leaning", "Mia")


def test_a_record_asked_back_is_a_tree_left_until_it_is_answered(signed_in, field):
    """The phone that sent the record, and one of somebody else of the crew: the first answer counts."""
    other = factories.person("volunteer", first_name="Ben", last_name="Walker")
    field.planting.crew.add(other)
    for tree in field.trees[:19]:
        factories.observe(field.round, {tree: "A"}, actor=field.lead, observer="Somebody", height_cm=150)
    context, others = signed_in(), signed_in(other)
    page = opened(context, field.address)
    begin(page)
    page.locator("#box-height_cm").fill("900")
    tap_word(page, field.trees[19].tag, "Alive")
    until(page, lambda: len(field.stored()) == 20)  # it sends once nothing is left
    first, last = (Observation.objects.get(round=field.round, tree=tree) for tree in (field.trees[0], field.trees[19]))
    for record, question in ((first, "Dead or alive?"), (last, "900 or 94 cm?")):
        records_review(actor=field.lead, observations=[record], state=ReviewState.ASKED_BACK, reason=question)
    page.close()
    page, second = opened(context, field.address), opened(others, field.address)
    for one in (page, second):
        expect(one.locator("#left")).to_have_text("2 trees left")
        expect(one.get_by_text("2 records to look at again")).to_be_visible()
    context.set_offline(True)
    page.locator("#questions").get_by_role("button", name="900 or 94 cm?").tap()
    expect(page.locator("#question")).to_contain_text("The coordinator asks: 900 or 94 cm?")
    page.locator("#box-height_cm").fill("94")
    tap_word(page, field.trees[19].tag, "Alive")
    expect(page.locator("#question")).to_contain_text("Dead or alive?")  # the next that is left
    expect(page.locator("#box-height_cm")).to_have_value("150")
    page.locator("#undo").tap()
    expect(page.locator("#left")).to_have_text("2 trees left")
    tap_word(page, field.trees[19].tag, "Alive")
    tap_word(page, field.trees[0].tag, "Alive")  # the same as before is an answer too
    expect(page.locator("#left")).to_have_text("0 trees left")
    context.set_offline(False)
    until(page, lambda: Observation.objects.filter(round=field.round).count() == 22)
    answers = Observation.objects.current().filter(round=field.round, supersedes__isnull=False).order_by("pk")
    assert {(answer.supersedes_id, answer.height_cm, answer.observer) for answer in answers} == {
        (first.pk, 150, "Rosa Counter"), (last.pk, 94, "Rosa Counter"),
    }  # fmt: skip
    assert len(field.stored()) == 20 and recount_differences()[1] == []
    second.reload()
    expect(second.locator("#left")).to_have_text("0 trees left")
    expect(second.locator("#questions")).to_have_count(0)
