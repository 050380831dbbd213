"""Labels, drawn, turned into pictures and read back: every QR code by another library, every label in its place."""

import datetime
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageFilter

from registry.prints.label_sheets import SHEETS, label_box, label_places
from registry.prints.labels import INSIDE, OUTSIDE, Label, container_labels, draw_labels
from registry.prints.qr import MODULE_MM, QUIET, PrintError, qr_symbol
from tests.prints.reading import codes, cut, overprints, page_count, page_texts, pictures

DAY = datetime.date(2026, 11, 25)
EACH = pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
SITE = "https://mastbook.example.org/find/?q="


def label(code, **fields):
    return Label(code=code, scan=(f"{SITE}{code}", code), **fields)


def read_each(content, sheet, count, start=1):
    """The texts of the QR codes inside each label of a sheet."""
    pages = pictures(content, dpi=300)
    return [codes(cut(pages[page], label_box(sheet, place), dpi=300)) for page, place in label_places(sheet, count, start)]


# -- the QR code --------------------------------------------------------------------------------


def test_a_square_code_is_large_enough_and_has_its_quiet_zone():
    # 0.4 mm: three pixels at 200 dpi are 0.38 mm; four modules of white: ISO/IEC 18004
    symbol = qr_symbol((f"{SITE}BT-2026-0142",), 22.2)
    assert symbol.module_mm >= MODULE_MM == 0.4
    assert QUIET == 4
    assert symbol.side_mm == pytest.approx((len(symbol.rows) + 8) * symbol.module_mm)
    assert symbol.side_mm <= 22.2 + 1e-9
    # version 4 has 33 modules, version 1 has 21: ISO/IEC 18004
    assert len(symbol.rows) == 33
    assert len(qr_symbol(("BT-2026",), 22).rows) == 21


def test_an_address_that_does_not_fit_gives_way_to_the_bare_code():
    assert qr_symbol((f"https://{'long.' * 60}org/find/?q=BT", "BT-2026-0142"), 20).text == "BT-2026-0142"


@EACH
def test_a_scan_at_200_dpi_reads_every_code_however_long_its_address(sheet):
    """Turned a little and not sharp, as a scan of a printed sheet is."""
    for length in (60, 110, 150, 200):
        texts = [f"https://{'long.' * 40}"[: length - 4] + f"{number:04d}" for number in range(sheet.count)]
        labels = [Label(code=f"BT-{number}", scan=(text, f"BT-{number}")) for number, text in enumerate(texts)]
        scan = pictures(draw_labels(labels, sheet, made_on=DAY), dpi=200)[0].rotate(1.5, expand=True, fillcolor=255)
        found = codes(scan.filter(ImageFilter.GaussianBlur(1.2)))
        assert sorted(found) in (sorted(texts), sorted(label.code for label in labels)), length


def test_what_fits_no_square_code_is_refused_with_advice():
    with pytest.raises(PrintError, match="Use larger labels or a shorter code"):
        qr_symbol(("x" * 400,), 20)
    with pytest.raises(PrintError, match="too fine to scan at 20 mm"):
        qr_symbol(("x" * 5000,), 20)


# -- a sheet ------------------------------------------------------------------------------------------


@EACH
def test_every_code_on_a_sheet_is_read_back_inside_its_own_label(sheet):
    labels = [label(f"BT-2026-{number:04d}", title="Juglans cinerea, hybrid material, B3F3") for number in range(sheet.count)]
    content = draw_labels(labels, sheet, edges=True, made_on=DAY)
    assert read_each(content, sheet, sheet.count) == [[f"{SITE}{one.code}"] for one in labels]


@EACH
def test_nothing_is_printed_outside_the_labels_or_at_their_edge(sheet):
    long = "Łukasiewicz orchard of the upper brook, northern block, planted by the school " * 4
    labels = [label("W" * 40, mark=INSIDE, number="1 of 12", title=long, lines=(long,) * 9, alerts=(long, long))] * sheet.count
    picture = np.asarray(pictures(draw_labels(labels, sheet, made_on=DAY))[0]) < 128
    assert picture.sum() > 10_000
    scale, edge = 200 / 25.4, 0.7  # mm: sheets never run quite straight
    for place in range(sheet.count):
        box = label_box(sheet, place)
        picture[
            round((box.top + edge) * scale) : round((box.bottom - edge) * scale),
            round((box.left + edge) * scale) : round((box.right - edge) * scale),
        ] = False
    assert not picture.any()


def test_a_partly_used_sheet_starts_at_the_given_label():
    sheet = SHEETS["a4-3x8"]
    labels = [label(f"L{number}") for number in range(5)]
    content = draw_labels(labels, sheet, start=22, made_on=DAY)
    assert len(page_texts(content)) == 2
    assert read_each(content, sheet, 5, start=22) == [[f"{SITE}L{number}"] for number in range(5)]
    assert codes(cut(pictures(content)[0], label_box(sheet, 20))) == []


@pytest.mark.parametrize(
    ("labels", "start", "message"), [([], 1, "no labels to print"), ([label("A")], 31, "no label 31 on a sheet of 30")]
)
def test_a_sheet_that_cannot_be_is_refused(labels, start, message):
    with pytest.raises(PrintError, match=message):
        draw_labels(labels, SHEETS["letter-3x10"], start=start, made_on=DAY)


def test_one_label_and_five_hundred():
    sheet = SHEETS["letter-3x10"]
    assert read_each(draw_labels([label("ONE")], sheet, made_on=DAY), sheet, 1) == [[f"{SITE}ONE"]]
    # bare codes, because an address takes three times as long to draw
    labels = [Label(code=f"PL-7/T{number:04d}", scan=(f"PL-7/T{number:04d}",)) for number in range(500)]
    content = draw_labels(labels, sheet, made_on=DAY)
    assert page_count(content) == 17  # 500 of 30 a sheet
    shown = (0, 8, 16)
    for number, text in zip(shown, page_texts(content, only=shown), strict=True):
        assert [line for line in text.split() if line.startswith("PL-7/")] == [one.code for one in labels[number * 30 : number * 30 + 30]]
    assert sorted(codes(pictures(content, only=[16])[0])) == [one.code for one in labels[480:]]


# -- two labels a container -----------------------------------------------------------------------------


@given(st.integers(1, 40))
def test_every_container_has_one_label_inside_and_one_outside(containers):
    """Two labels per container: FAO guide to forest seed handling, as the trade quotes it."""
    labels = container_labels(label("BT-1"), containers)
    assert len(labels) == 2 * containers
    for number in range(1, containers + 1):
        assert [one.mark for one in labels if one.number == f"{number} of {containers}"] == [INSIDE, OUTSIDE]
    assert {one.code for one in labels} == {"BT-1"}


def test_the_marks_and_the_count_are_printed_on_each():
    (text,) = page_texts(draw_labels(container_labels(label("BT-1"), 3), SHEETS["a4-2x7"], made_on=DAY))
    assert (text.count("INSIDE"), text.count("OUTSIDE")) == (3, 3)
    assert [text.count(f"{number} of 3") for number in (1, 2, 3)] == [2, 2, 2]


# -- text -------------------------------------------------------------------------------------------------


def test_letters_beyond_latin_1_are_printed_and_read_back():
    lines = ("KEEP 1–4 °C, DO NOT FREEZE", "Ødegård, Łódź, Žďár, Ωmega, Жито", "½ × 3 ≈ 1.5")
    (text,) = page_texts(draw_labels([label("BT-Ø-1", title="Juglans × bixbyi", lines=lines)], SHEETS["a4-2x4"], made_on=DAY))
    for words in ("BT-Ø-1", "Juglans × bixbyi", *lines):
        assert words in text


@EACH
def test_long_text_ends_in_an_ellipsis_and_the_code_stays_complete(sheet):
    code = "NORTH-ORCHARD-2026-0142-CONTAINER-SEED-1"
    long = "planted by the school of the upper valley " * 12
    (text,) = page_texts(draw_labels([label(code, lines=(long, long))], sheet, made_on=DAY))
    assert code in text.replace("\n", "")
    assert "…" in text and long not in text


def test_a_line_that_fits_is_printed_in_full():
    (text,) = page_texts(draw_labels([label("BT-1", lines=("PLANT BY 30 Jun 2027",))], SHEETS["letter-3x10"], made_on=DAY))
    assert "PLANT BY 30 Jun 2027" in text and "…" not in text


HOSTILE = [
    "<b>&amp;</b>{% now %}",
    "\u202eevil\u202c",
    "a\x00b\x1b[31m",
    "%PDF-1.7 endobj",
    "\\)(<<>>",
    "漢字 🌰",
    "=cmd|' /C'!A0",
    "…" * 80,
    " ",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_names_are_only_text(text):
    sheet = SHEETS["letter-3x10"]
    content = draw_labels([label("BT-1", title=text, lines=(text, "after"), number=text, alerts=(text,))], sheet, title=text, made_on=DAY)
    assert read_each(content, sheet, 1) == [[f"{SITE}BT-1"]]
    (found,) = page_texts(content)
    assert "BT-1" in found and "\u202e" not in found and "\x00" not in found


@settings(max_examples=25, deadline=None)
@given(st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S")), min_size=1, max_size=40))
def test_any_code_of_40_characters_prints_with_its_qr_code(code):
    sheet = SHEETS["a4-2x7"]
    content = draw_labels([Label(code=code, scan=(code,))], sheet, made_on=DAY)
    assert read_each(content, sheet, 1) == [[code]]


def test_the_same_labels_give_the_same_bytes():
    labels = container_labels(label("BT-1", title="Juglans cinerea"), 2)
    first, again = (draw_labels(labels, SHEETS["a4-2x7"], made_on=DAY) for _ in range(2))
    assert first == again
    assert first != draw_labels(labels, SHEETS["a4-2x7"], made_on=DAY + datetime.timedelta(1))


@EACH
def test_no_text_of_a_label_runs_into_another(sheet):
    long = "planted by the school of the upper valley " * 6
    labels = [
        label(
            "BT-2026-0142", mark=INSIDE, number="12 of 12", title=long, lines=("KEEP 1–4 °C", long, long), alerts=("IDENTITY IN QUESTION",)
        ),
        label("N" * 40, mark=OUTSIDE, number="1 of 12", title="Juglans cinerea", lines=(long,) * 6, alerts=(long, "x")),
        label("A", title="", lines=()),
    ]
    assert overprints(draw_labels(labels, sheet, made_on=DAY)) == []


def test_the_finder_of_overprints_finds_one():
    labels = [label("BT-1", lines=("one",)), label("BT-2")]
    narrow = SHEETS["a4-2x7"]
    assert overprints(draw_labels(labels, replace(narrow, across=8), made_on=DAY)) != []
