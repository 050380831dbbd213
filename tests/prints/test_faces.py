"""Text made fit to print. Widths are checked against the tables of the font files, read by fontTools."""

import doctest
import importlib

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from registry.prints import faces
from registry.prints.faces import _FOLDER, BOLD, CODE, FACES, MISSING, REGULAR, fit_code, fit_line, printable, text_width, wrap

SIGNS = st.text(st.characters(codec="utf-8", max_codepoint=0x2FFF), max_size=60)


@pytest.mark.parametrize("name", ["document", "drafts", "faces", "labels", "pages", "qr", "label_sheets"])
def test_docstring_examples(name):
    assert doctest.testmod(importlib.import_module(f"registry.prints.{name}")).failed == 0


@pytest.mark.parametrize("name", FACES)
def test_each_font_has_the_characters_prints_need(name):
    known = TTFont(_FOLDER / f"{name}.ttf").getBestCmap()
    needed = "0123456789×–—°é ö ł Ø å ß Ž ñ Ç ½ ² · … “ ” ’ ≈ ≤ ≥ µ → − □ Ω Ж".replace(" ", "")
    assert [sign for sign in needed if ord(sign) not in known] == []
    assert "Bitstream" in (_FOLDER / "LICENSE").read_text() and "DejaVu" in (_FOLDER / "SOURCE.md").read_text()


@pytest.mark.parametrize("name", [REGULAR, BOLD, CODE])
def test_widths_are_those_of_the_font_file(name):
    font = TTFont(_FOLDER / f"{name}.ttf")
    known, advances, units = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
    text = "KEEP 1–4 °C Łukasiewicz × Ø"
    expected = sum(advances[known[ord(sign)]][0] for sign in text) / units * 10
    assert text_width(text, name, 10) == pytest.approx(expected, rel=0.01)


def test_characters_missing_in_a_font_are_not_printed():
    assert printable("漢 Ø") == f"{MISSING} Ø"
    assert printable("A\u202eB\u200bC\x00D\r\nE\tF") == "ABC D E F"
    assert printable("e\u0301") == "é"


@given(SIGNS, st.floats(20, 300))
def test_a_fitted_line_is_never_wider_than_its_place(text, width):
    shown, size = fit_line(text, REGULAR, 9, 5.5, width)
    assert 5.5 <= size <= 9 and text_width(shown, REGULAR, size) <= width + 0.01
    assert shown == printable(text) or (shown.endswith("…") and printable(text).startswith(shown[:-1]) and size == 5.5)


@given(SIGNS, st.floats(1, 300))
def test_a_shortened_line_and_word_keep_every_letter_that_fits(text, width):
    """The reference takes letters away one by one until the rest fits."""
    whole = printable(text)
    shown, size = fit_line(text, REGULAR, 5.5, 5.5, width)
    if text_width(whole, REGULAR, size) > width:
        while whole and text_width(f"{whole}…", REGULAR, size) > width:
            whole = whole[:-1].rstrip()
        whole = f"{whole}…"
    assert shown == whole
    word = head = printable(text).replace(" ", "")
    while len(head) > 1 and text_width(head, REGULAR, 9) > width:
        head = head[:-1]
    assert wrap(word, REGULAR, 9, width)[:1] == [head]


def test_a_long_line_and_word_are_measured_a_few_times(monkeypatch):
    """Halving 300 letters takes at most 9 steps: 2 to the power of 9 is 512."""
    measured = []
    monkeypatch.setattr(faces, "text_width", lambda *given: measured.append(given) or text_width(*given))
    fit_line("W" * 300, REGULAR, 9, 5.5, 100)
    assert len(measured) <= 1 + 9
    measured.clear()
    parts = wrap("W" * 300, REGULAR, 9, 1_000)
    assert len(parts) == 3 and len(measured) <= 1 + 3 * (1 + 9)


@given(SIGNS, st.floats(20, 300))
def test_wrapping_loses_no_letter_and_no_line_is_too_wide(text, width):
    lines = wrap(text, REGULAR, 9, width)
    assert "".join(lines).replace(" ", "") == printable(text).replace(" ", "")
    assert all(text_width(line, REGULAR, 9) <= width + 0.01 for line in lines)


@given(st.text("ABC019-/_. Øé", min_size=1, max_size=40).filter(str.strip), st.floats(60, 250), st.floats(20, 120))
def test_a_code_is_complete_wherever_it_is_printed(code, width, height):
    lines, size = fit_code(code, 15, 9, width, height)
    assert "".join(lines) == printable(code, CODE)
    assert all(text_width(line, CODE, size) <= width + 0.01 for line in lines)
    assert len(lines) * size * 1.18 <= height + 0.01


def test_a_code_of_40_letters_is_readable_on_small_labels():
    # 41 mm is what the text has on a label of 66.7 mm beside its QR code; 5 pt is about the smallest that can be read
    lines, size = fit_code("W" * 40, 15, 9, 41 * 72 / 25.4, 50)
    assert "".join(lines) == "W" * 40 and size >= 7
