"""Tables as people read them: no column a word wide on a desk, heads that stay with their rows on paper."""

import io
import re
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace

import pypdf
import pytest
from django.contrib.staticfiles import finders
from django.template import engines
from django.urls import reverse

from registry.views.shared.tables import Column, ledger_table
from tests import factories
from tests.browser.axe import DESK, PHONE, self_contained
from tests.plantings.survival.survival_examples import counted, planting_on

COLUMNS = (
    Column("Duty", "code", kind="code"),
    Column("Next due", "due"),
    Column("Status", "status", kind="state"),
    Column("What must be done", "what", wide=True),
    Column("How often", "often"),
    Column("Responsible", "who"),
    Column("Issuer", "issuer"),
)
ROW = SimpleNamespace(
    due="28 Feb 2026",
    status="overdue by 274 days",
    what="Yearly report of what was moved, lives and died, with the counts of every planting under the paper",
    often="every 6 months from 15 Nov 2025",
    who="Tomas Wexcombe",
    issuer="Example plant inspection office, Vermont (invented)",
)
_SHEETS = '<link rel="stylesheet" href="/static/registry/css/base.css"><link rel="stylesheet" href="/static/registry/css/parts.css">'
# of each cell: its words, and how many lines they take
_LINES = """() => [...document.querySelectorAll("tbody > tr > *")].map(cell => {
  const range = document.createRange();
  range.selectNodeContents(cell);
  return [cell.innerText, Math.round(range.getBoundingClientRect().height / parseFloat(getComputedStyle(cell).lineHeight))];
})"""


def _page(rows, before=""):
    table = ledger_table("Duties", COLUMNS, rows)
    ledger = engines["django"].from_string('{% include "partials/shared/_ledger.html" %}').render(table)
    return self_contained(f'<!doctype html><html lang="en">{_SHEETS}<body><main class="sheet">{before}{ledger}</main></body></html>')


def _rows(count):
    return [SimpleNamespace(**vars(ROW) | {"code": f"DU-{number:03d}Q"}) for number in range(count)]


@pytest.fixture
def window(browser):
    context = browser.new_context(viewport=DESK)
    yield context.new_page()
    context.close()


def test_no_column_is_squeezed_to_a_word_a_line(window):
    window.set_content(_page(_rows(3)))
    lines = window.evaluate(_LINES)
    assert len(lines) == 3 * len(COLUMNS)
    assert [(words, count) for words, count in lines if count > 2 and len(words.split()) < 1.4 * count] == []
    assert {count for words, count in lines if len(words) <= 16} == {1}


def test_a_phone_keeps_the_first_column_in_sight(window):
    window.set_viewport_size(PHONE)
    window.set_content(_page(_rows(3)))
    window.evaluate("document.querySelector('.ledger-scroll').scrollLeft = 400")
    box = window.locator("tbody th").first.bounding_box()
    assert 0 <= box["x"] < 30 and box["width"] < 0.45 * PHONE["width"]
    assert window.evaluate("document.documentElement.scrollWidth") == PHONE["width"]


@pytest.mark.parametrize("count", [10, 40])
def test_a_printed_head_stays_with_two_rows_and_is_repeated(window, count):
    paper = f"<style>{Path(finders.find('registry/css/print.css')).read_text()}</style>"
    split = set()
    for gap in range(100, 240, 7):
        window.set_content(_page(_rows(count), f'{paper}<div style="height: {gap}mm"></div>'))
        texts = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(window.pdf(format="Letter"))).pages]
        rows = [len(re.findall(r"DU-\d+Q", text)) for text in texts]
        heads = ["Responsible" in text for text in texts]
        assert sum(rows) == count
        assert [bool(number) for number in rows] == heads, gap
        assert 1 not in rows, gap
        split.add(sum(heads))
    assert max(split) > 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("years", [3, 11])
def test_the_drawn_life_of_a_tree_fits_a_small_phone(new_context, sign_in, transactional_db, years):
    lead = factories.person("lead")
    planting = factories.planting(planted_on=date(2014, 4, 15))
    [tree] = factories.trees(planting, count=1)
    for number in range(years):
        day = date(2014 + number, 9, 1 + 2 * number)
        census_round = factories.census_round(planting, number + 1, label=f"{day.year}", opens_on=day, closes_on=day + timedelta(days=9))
        factories.observe(census_round, {tree: "A"}, actor=lead, observed_on=day, height_cm=40 + 60 * number)
    context = new_context(viewport={"width": 320, "height": 640})
    sign_in(lead, context)
    page = context.new_page()
    page.goto(reverse("tree_detail", args=[tree.pk]))
    box = page.locator(".ledger-scroll:has(.life)")
    assert box.evaluate("box => box.scrollWidth <= box.clientWidth")
    edges = box.evaluate("box => [box.getBoundingClientRect().left, box.getBoundingClientRect().right]")
    places = "all => all.map(one => one.getBoundingClientRect()).map(at => [at.left, at.right])"
    drawn = page.locator(".life text, .life circle, .life > svg > svg").evaluate_all(places)
    assert len(drawn) > 2 * years and all(edges[0] <= left and right <= edges[1] for left, right in drawn), drawn
    marks = page.locator(".life > svg > svg").evaluate_all(places)
    assert len(marks) == years and all(after[0] > before[1] for before, after in zip(marks, marks[1:], strict=False)), marks


@pytest.mark.django_db(transaction=True)
def test_a_caution_beside_a_figure_does_not_widen_the_results(new_context, sign_in, transactional_db):
    lead = factories.person("lead")
    lots = [factories.stock_lot(actor=lead, plants=900) for _ in range(2)]
    for alive in (30, 30, 30, 24):
        planting = planting_on(factories.site())
        for lot in lots:
            counted(planting, lot, 30, alive)
    context = new_context(viewport=DESK)
    sign_in(lead, context)
    page = context.new_page()
    for width in (1280, 800, 375):
        page.set_viewport_size({"width": width, "height": 800})
        for address in (reverse("results"), f"{reverse('survival')}?view=curve"):
            page.goto(address)
            assert "the interval over sites may be too narrow" in page.locator(".answers").inner_text()
            assert page.evaluate("document.documentElement.scrollWidth") == width, address


@pytest.mark.django_db(transaction=True)
def test_the_ratings_of_a_tree_fit_a_desk(new_context, sign_in, transactional_db):
    lead = factories.person("lead")
    scale = factories.rating_scale(name="Example girdling scale", disease="butternut canker", version="2017")
    tree = factories.pedigree_tree()
    for year in (2018, 2020, 2021):
        how = {"strain": "example strain 1", "rater": "A. Thornquill", "canker_length_mm": 26, "canker_width_mm": 9}
        factories.rating(tree, scale, 2, actor=lead, on=date(year, 6, 2), **how)
    context = new_context(viewport=DESK)
    sign_in(lead, context)
    page = context.new_page()
    page.goto(reverse("pedigreetree_detail", args=[tree.pk]))
    table = page.locator(".ledger-scroll:has-text('Example girdling scale')")
    assert table.evaluate("box => box.scrollWidth <= box.clientWidth")
    words = table.locator("tbody tr").first.locator("td", has_text="Example girdling scale")
    assert words.evaluate("cell => cell.getBoundingClientRect().height / parseFloat(getComputedStyle(cell).lineHeight)") < 6
    heights = page.locator("ul.actions").first.locator(".button").evaluate_all("all => all.map(one => one.offsetHeight)")
    assert len(heights) == 5 and len(set(heights)) == 1, heights
