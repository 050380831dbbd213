"""Cells of a ledger table: every kind, escaped, empty ones said so."""

import datetime

import pytest

from registry.templatetags.ledger import ledger_cells


@pytest.mark.parametrize(
    ("cell", "html"),
    [
        (("A-1", "left", None, None), '<th scope="row" class=" one-line">A-1</th>'),
        ((1204, "right", None, "number"), '<th scope="row" class="to-right">1,204</th>'),
        (("A-1", "left", "/lots/1/", "code"), '<th scope="row" class=" one-line"><a href="/lots/1/" class="code">A-1</a></th>'),
        (("A-1", "left", None, "code"), '<th scope="row" class=" one-line"><span class="code">A-1</span></th>'),
        ((datetime.date(2026, 10, 2), "left", None, "date"), '<th scope="row" class=""><time datetime="2026-10-02">2 Oct 2026</time></th>'),
        (("Juglans", "left", None, "latin"), '<th scope="row" class=" one-line"><i>Juglans</i></th>'),
        (("x", "left", None, "blank"), '<th scope="row" class=""></th>'),
    ],
)
def test_a_cell_is_drawn_by_its_kind(cell, html):
    assert ledger_cells([cell]) == html


def test_a_few_words_are_one_line_and_more_have_room_in_each_line():
    few, more = "in force to 2030", "none after 1,483 days"
    assert [ledger_cells([(words, "left", None, kind)]).count("one-line") for words in (few, more) for kind in (None, "state")] == [
        1,
        1,
        0,
        0,
    ]
    assert 'class=" text"' in ledger_cells([(more, "left", None, None)])
    assert 'class="wide text"' in ledger_cells([(more, "left wide", None, None)])
    for value, kind in ((1204, "number"), ("", None), (None, "code"), ("x", "blank")):
        assert "one-line" not in ledger_cells([(value, "left", None, kind)])


def test_what_people_typed_is_escaped_everywhere():
    for kind in (None, "code", "state", "soft", "latin"):
        html = ledger_cells([("<script>x</script>", "left", '/?q="><script>', kind)])
        assert "<script" not in html


@pytest.mark.parametrize("value", [None, ""])
def test_an_empty_cell_says_nothing_is_recorded(value):
    assert "nothing recorded" in ledger_cells([(value, "left", None, None)])
    assert ledger_cells([(0, "left", None, None)]).endswith(">0</th>")


def test_a_fate_has_a_mark_and_a_word_and_an_interval_its_count():
    html = ledger_cells(
        [("dead", "left", None, "fate"), ({"alive": 7, "n": 9, "share": 7 / 9, "low": 0.45, "high": 0.94}, "right", None, "interval")]
    )
    assert "<svg" in html and "dead" in html.lower()
    assert "7 of 9" in html
