"""What somebody hid or struck through in a workbook is read like the rest and named, by the rows and columns that are read."""

import io
import zipfile
from copy import copy

import openpyxl
import pytest
from openpyxl.styles import Font

from registry.imports.sheets.reading_options import ReadingOptions
from registry.imports.sheets.table import read_table

END = "in the workbook; they are read like the others. Delete those that are not to be loaded."
ONE_END = "in the workbook; it is read like the others. Delete it if it is not to be loaded."


def marked(mark, rows=12, columns=3, title="Heights", before=0):
    """A workbook of a header and `rows` rows, after `mark` was called with its sheet."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = title
    for _ in range(before):
        sheet.append(["A title"])
    sheet.append(["Tag", "Height", "Note", "Observer", "Day"][:columns])
    for number in range(1, rows + 1):
        sheet.append([f"A-{number}", number, "fine", "Ann", "2019"][:columns])
    mark(sheet)
    return saved(book)


def saved(book):
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def hide_rows(*numbers):
    def mark(sheet):
        for number in numbers:
            sheet.row_dimensions[number].hidden = True

    return mark


def strike(*places):
    """Strike cells, rows and columns through by name: "B4", 7, "C"."""

    def mark(sheet):
        for place in places:
            cells = sheet[place]
            for cell in cells if isinstance(cells, tuple) else [cells]:
                font = copy(cell.font)
                cell.font = Font(name=font.name, strike=True)

    return mark


def notes(content, **options):
    return read_table(content, "s.xlsx", ReadingOptions(**options)).notes


def with_sheet_text(content, change):
    """The workbook with the XML of its sheet changed."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as plain, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for part in plain.namelist():
            text = plain.read(part)
            archive.writestr(part, change(text) if part == "xl/worksheets/sheet1.xml" else text)
    return made.getvalue()


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ((7, 8, 9), f"Rows 7–9 of sheet 'Heights' are hidden in the workbook, by a filter or by hand{END.removeprefix('in the workbook')}"),
        ((3,), f"Row 3 of sheet 'Heights' is hidden in the workbook, by a filter or by hand{ONE_END.removeprefix('in the workbook')}"),
        ((2, 4, 5, 13), "Rows 2, 4–5 and 13 of sheet 'Heights' are hidden in the workbook, by a filter or by hand"),
    ],
)
def test_hidden_rows_are_named_and_read(numbers, said):
    table = read_table(marked(hide_rows(*numbers)), "s.xlsx")
    assert len(table.rows) == 12 and table.rows[numbers[0] - 2][0] == f"A-{numbers[0] - 1}"
    [note] = table.notes
    assert note.startswith(said)


def test_many_hidden_rows_are_counted_behind_the_first():
    [note] = notes(marked(hide_rows(*range(2, 4002, 2)), rows=5000))
    assert note.startswith("Rows 2, 4, 6, 8, 10, 12 and 1,994 more of sheet 'Heights' are hidden")


def test_hidden_rows_that_hold_no_row_are_not_named():
    """The title above the header, blank rows between others and those below the last."""
    content = marked(lambda sheet: (hide_rows(1, 2, 5, 30)(sheet), [setattr(cell, "value", None) for cell in sheet[5]]), before=1)
    assert notes(content, header_row=2) == []


def test_hidden_rows_keep_their_numbers_below_a_title():
    [note] = notes(marked(hide_rows(6, 7), before=3), header_row=4)
    assert note.startswith("Rows 6–7 of sheet")


def test_rows_without_a_number_of_their_own_are_counted():
    """ECMA-376 part 1, 18.3.1.73 (from memory): the attribute r of a row may be left out."""
    content = with_sheet_text(marked(hide_rows(4)), lambda text: text.replace(b'<row r="3"', b"<row").replace(b'<row r="4"', b"<row"))
    [note] = notes(content)
    assert note.startswith("Row 4 of sheet")


@pytest.mark.parametrize("written", [b'hidden="true"', b"hidden = '1'"])
def test_other_ways_of_writing_hidden_are_read(written):
    content = with_sheet_text(marked(hide_rows(4)), lambda text: text.replace(b'hidden="1"', written))
    assert notes(content)[0].startswith("Row 4 of sheet")


def test_rows_that_are_said_not_to_be_hidden_are_not_named():
    content = with_sheet_text(marked(hide_rows(4, 5)), lambda text: text.replace(b'hidden="1"', b'hidden="0"', 1))
    assert notes(content)[0].startswith("Row 5 of sheet")
    assert notes(with_sheet_text(content, lambda text: text.replace(b'hidden="1"', b'hidden="false"'))) == []


def test_a_hidden_mark_between_two_pieces_of_a_part_is_found(monkeypatch):
    content = marked(hide_rows(4))
    for piece in range(41, 61):
        monkeypatch.setattr("registry.imports.shared.workbook_marks._PIECE", piece)
        assert len(notes(content)) == 1


def test_hidden_columns_are_named_by_letter_and_header():
    def mark(sheet):
        sheet.column_dimensions["C"].hidden = True

    def mark_more(sheet):
        sheet.column_dimensions.group("B", "D", hidden=True)
        sheet.column_dimensions["Z"].hidden = True

    assert notes(marked(mark)) == [f"Column C ('Note') of sheet 'Heights' is hidden {ONE_END}"]
    said = f"Columns B ('Height'), C ('Note') and D ('Observer') of sheet 'Heights' are hidden {END}"
    assert notes(marked(mark_more, columns=5)) == [said]


def test_columns_in_several_ranges_are_named_once():
    cols = b'<cols><col min="2" max="16384" hidden="1"/><col min="1" max="2" hidden="1"/><col min="3" max="3" hidden="1"/></cols>'
    content = with_sheet_text(marked(lambda sheet: None), lambda text: text.replace(b"<sheetData>", cols + b"<sheetData>"))
    assert notes(content) == [f"Columns A ('Tag'), B ('Height') and C ('Note') of sheet 'Heights' are hidden {END}"]


def test_a_hidden_sheet_is_read_and_named():
    book = openpyxl.load_workbook(io.BytesIO(marked(lambda sheet: None, title="Old")))
    book.create_sheet("New").append(["Tag"])
    book["Old"].sheet_state = "hidden"
    content = saved(book)
    assert "Sheet 'Old' is hidden in the workbook; it is read all the same." in notes(content)
    assert len(read_table(content, "s.xlsx").rows) == 12


@pytest.mark.parametrize(
    ("places", "said"),
    [
        ((7, 8, 9), f"Rows 7–9 of sheet 'Heights' are struck through {END}"),
        ((13,), f"Row 13 of sheet 'Heights' is struck through {ONE_END}"),
        (("C",), f"Column C ('Note') of sheet 'Heights' is struck through {ONE_END}"),
        (("B4",), f"Cell B4 of sheet 'Heights' is struck through {ONE_END}"),
        (("B4", "C3", "A4", "B9", "C10"), f"Cells C3, A4, B4 and 2 more of sheet 'Heights' are struck through {END}"),
    ],
)
def test_what_is_struck_through_is_named_and_read(places, said):
    table = read_table(marked(strike(*places)), "s.xlsx")
    assert table.notes == [said] and len(table.rows) == 12


def test_rows_columns_and_cells_struck_through_are_told_apart():
    content = marked(strike(2, 3, "C", "B8"))
    assert [note.partition(" of sheet")[0] for note in notes(content)] == ["Rows 2–3", "Column C ('Note')", "Cell B8"]


def test_a_header_or_blank_cells_struck_through_say_nothing():
    content = marked(lambda sheet: (strike("A1", "B5")(sheet), setattr(sheet["B5"], "value", None)))
    assert notes(content) == []


def test_a_row_both_hidden_and_struck_through_is_named_for_both():
    content = marked(lambda sheet: (hide_rows(4)(sheet), strike(4)(sheet)))
    assert [note.partition(" in the workbook")[0].rpartition("'")[2] for note in notes(content)] == [" is hidden", " is struck through"]


def test_a_plain_workbook_says_nothing():
    assert notes(marked(lambda sheet: None)) == []
