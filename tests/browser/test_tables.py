"""Tables as people read them: no column a word wide on a desk, heads that stay with their rows on paper."""

import io
import re
from pathlib import Path
from types import SimpleNamespace

import pypdf
import pytest
from django.contrib.staticfiles import finders
from django.template import engines

from registry.views.shared.tables import Column, ledger_table
from tests.browser.axe import DESK, PHONE, self_contained

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
