"""Where labels lie on their sheets."""

import itertools

import pytest

from registry.prints.label_sheets import PAGES, SHEETS, LabelSheet, label_box, label_places

EACH = pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)


def test_pages_have_the_published_sizes():
    # ISO 216 (A4) and ANSI/ASME Y14.1 (A, 8.5 × 11 in), in mm
    assert PAGES["a4"] == (210, 297)
    assert PAGES["letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


@EACH
def test_every_label_lies_on_the_page_and_none_on_another(sheet):
    width, height = PAGES[sheet.page]
    boxes = [label_box(sheet, place) for place in range(sheet.count)]
    assert all(box.left > 0 and box.right < width and box.top > 0 and box.bottom < height for box in boxes)
    for one, other in itertools.combinations(boxes, 2):
        apart = (
            one.right <= other.left + 1e-6
            or other.right <= one.left + 1e-6
            or one.bottom <= other.top + 1e-6
            or other.bottom <= one.top + 1e-6
        )
        assert apart, (one, other)


@EACH
def test_the_margins_of_a_sheet_are_the_same_on_both_sides(sheet):
    """Common practice, no source: sheets are cut symmetrically. A wrong measure shows as a lopsided sheet."""
    width, height = PAGES[sheet.page]
    last = label_box(sheet, sheet.count - 1)
    assert width - last.right == pytest.approx(sheet.left, abs=0.25)
    assert height - last.bottom == pytest.approx(sheet.top, abs=0.25)


@EACH
def test_a_sheet_is_named_by_its_measures(sheet):
    assert (
        sheet.name
        == f"{sheet.columns} × {sheet.rows} labels of {sheet.width:g} × {sheet.height:g} mm on {sheet.page.title() if sheet.page == 'letter' else 'A4'}"
    )


def test_labels_go_row_by_row_from_the_first_free_one():
    sheet = LabelSheet("t", "a4", 2, 2, 50, 50, 10, 10, 60, 60)
    assert label_places(sheet, 4, start=3) == [(0, 2), (0, 3), (1, 0), (1, 1)]
    assert [(label_box(sheet, place).left, label_box(sheet, place).top) for place in range(4)] == [(10, 10), (70, 10), (10, 70), (70, 70)]


@pytest.mark.parametrize("start", [0, 5, -1])
def test_a_label_the_sheet_has_not_is_refused(start):
    with pytest.raises(ValueError, match=f"There is no label {start} on a sheet of 4. Enter 1 to 4."):
        label_places(LabelSheet("t", "a4", 2, 2, 50, 50, 10, 10, 60, 60), 1, start)
