"""Choosing with the keyboard and the pointer: a box for a code offers what fits, many papers are searched, empty boxes fold away."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests import factories

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def coordinator(sign_in):
    person = factories.person("coordinator")
    sign_in(person)
    return person


def test_a_code_box_offers_what_fits_and_the_keyboard_chooses(page, coordinator, page_complaints):
    for code in ("ELM-1", "ELM-2", "ASH-1"):
        factories.pedigree_tree(code=code)
    page.goto(reverse("lot_add"))
    box = page.get_by_role("combobox", name="Mother tree")
    box.press_sequentially("elm")
    options = page.locator(".offers [role=option]")
    expect(options).to_have_text(["ELM-1 · native", "ELM-2 · native"])
    assert box.get_attribute("aria-expanded") == "true"
    box.press("ArrowDown")
    box.press("ArrowDown")
    chosen = page.locator(".offers [aria-selected=true]")
    assert chosen.inner_text() == "ELM-2 · native" and chosen.get_attribute("id") == box.get_attribute("aria-activedescendant")
    box.press("Enter")
    assert (box.input_value(), options.count(), box.get_attribute("aria-expanded")) == ("ELM-2", 0, "false")
    assert page.url.endswith(reverse("lot_add"))  # Enter chose; it did not send the form
    assert page_complaints == []


def test_escape_closes_the_offers_and_the_pointer_chooses(page, coordinator):
    factories.pedigree_tree(code="ELM-1")
    page.goto(reverse("lot_add"))
    box = page.get_by_role("combobox", name="Mother tree")
    box.press_sequentially("lm")
    page.locator(".offers [role=option]").wait_for()
    box.press("Escape")
    assert (page.locator(".offers [role=option]").count(), box.input_value()) == (0, "lm")
    box.press_sequentially("-")
    page.locator(".offers [role=option]").click()
    assert box.input_value() == "ELM-1"


# answers of the server that wait until window.free()
_HELD = """() => {
    const freed = new Promise(done => { window.free = done; });
    const told = code => ({ offers: [{ code, words: code }] });
    window.asked = [];
    window.fetch = async address => {
        const text = new URLSearchParams(address.split('?')[1]).get('fits');
        window.asked.push(text);
        if (text !== 'e') await freed;
        return { ok: true, json: async () => told(text.toUpperCase()) };
    };
}"""


def test_a_late_answer_changes_no_list_that_somebody_chooses_from(page, coordinator):
    page.goto(reverse("lot_add"))
    page.evaluate(_HELD)
    box, options = page.get_by_role("combobox", name="Mother tree"), page.locator(".offers [role=option]")
    box.fill("e")
    expect(options).to_have_text(["E"])
    box.fill("el")
    while page.evaluate("window.asked") != ["e", "el"]:
        page.wait_for_timeout(20)
    box.press("ArrowDown")
    page.evaluate("new Promise(done => { window.free(); setTimeout(done); })")
    expect(page.locator(".offers [aria-selected=true]")).to_have_text("E")
    box.press("Enter")
    expect(box).to_have_value("E")
    page.evaluate(_HELD)
    box.fill("elm")
    while page.evaluate("window.asked") != ["elm"]:
        page.wait_for_timeout(20)
    box.press("Escape")
    page.evaluate("new Promise(done => { window.free(); setTimeout(done); })")
    expect(box).to_have_attribute("aria-expanded", "false")


def test_nothing_that_fits_is_said(page, coordinator):
    page.goto(reverse("lot_add"))
    page.get_by_role("combobox", name="Mother tree").press_sequentially("zz")
    page.get_by_role("status").filter(has_text="Nothing fits.").wait_for()


def test_papers_are_searched_chosen_and_sent(page, coordinator):
    papers = [factories.authorization(actor=coordinator, title=f"Paper {word}") for word in ("oak", "elm", "ash")]
    site = factories.site()
    page.goto(reverse("shipment_add"))
    box = page.get_by_role("combobox", name="Papers that travel with it")
    box.press_sequentially("elm")
    page.get_by_role("option", name="Paper elm").click()
    box.press_sequentially("ash")
    box.press("ArrowDown")
    box.press("Enter")
    assert [line.split(" Remove")[0].split("\n")[0].split("Paper ")[1] for line in page.locator(".chosen li").all_inner_texts()] == [
        "elm",
        "ash",
    ]
    page.get_by_role("button", name="Remove").last.click()
    assert page.locator("select[name=authorizations]").evaluate("s => Array.from(s.selectedOptions).map(o => o.value)") == [
        str(papers[1].pk)
    ]
    page.fill("[name=code]", "SH-1")
    page.select_option("[name=receiver]", str(site.partner_id))
    page.locator("main form.record-form button[type=submit]").click()
    page.wait_for_url("**/shipments/*/")
    assert "Paper elm" in page.locator("main").inner_text()


def test_without_scripts_papers_are_a_list_and_codes_a_box(new_context, sign_in):
    person = factories.person("coordinator")
    factories.authorization(actor=person, title="Paper elm")
    context = new_context(java_script_enabled=False)
    sign_in(person, context)
    page = context.new_page()
    page.goto(reverse("shipment_add"))
    assert page.locator("select[name=authorizations]").is_visible()
    assert page.get_by_role("combobox", name="Papers that travel with it").count() == 0
    page.goto(reverse("lot_add"))
    assert page.locator("input[name=mother]").is_visible()
    assert page.locator("details.rarely summary").first.is_visible()


def test_boxes_most_people_leave_empty_open_by_their_summary(page, coordinator):
    page.goto(reverse("lot_add"))
    box = page.locator("[name=declared_source]")
    assert not box.is_visible()
    page.locator("details.rarely", has=box).locator("summary").click()
    assert box.is_visible()


def test_a_phone_sees_the_answer_first_and_its_first_column_always(new_context, sign_in):
    person = factories.person("lead")
    factories.stock_lot(actor=person, plants=40)
    context = new_context(viewport={"width": 375, "height": 740})
    sign_in(person, context)
    page = context.new_page()
    page.goto(reverse("lot_list"))
    table = page.locator("table.ledger")
    heads = table.locator("thead th").all_inner_texts()
    assert heads[:3] == ["Lot", "On hand (seeds or plants)", "Use by"]
    assert all(table.locator("thead th").nth(place).bounding_box()["x"] < 375 for place in range(3))
    code = table.locator("tbody th").first
    before = code.bounding_box()["x"]
    page.locator(".ledger-scroll").evaluate("box => { box.scrollLeft = 400 }")
    assert page.locator(".ledger-scroll").evaluate("box => box.scrollLeft") > 100
    assert abs(code.bounding_box()["x"] - before) < 1
    assert page.evaluate("document.documentElement.scrollWidth") == 375
    assert not page.locator(".filters-boxes").is_visible()
    page.get_by_text("Show only some").click()
    assert page.locator(".filters-boxes").is_visible()
