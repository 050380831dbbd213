"""Reading what people send: every encoding, delimiter and damage gets its rows or one clear sentence."""

import io
import zipfile

import openpyxl
import pytest

from registry.imports.table import ReadingOptions, SheetError, read_table

TEXT = "Tag,Note\r\nA-1,Châtaigne\r\nA-2,\r\n"


def xlsx(rows, sheet="Sheet 1", more=()):
    book = openpyxl.Workbook()
    book.active.title = sheet
    for row in rows:
        book.active.append(row)
    for name in more:
        book.create_sheet(name).append(["other"])
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_csv_is_read_in_every_encoding_and_delimiter(encoding, delimiter):
    table = read_table(TEXT.replace(",", delimiter).encode(encoding), "sheet.csv")
    assert table.headers == ["Tag", "Note"]
    assert table.rows == [("A-1", "Châtaigne"), ("A-2", "")]
    assert table.first_row == 2


def test_quoted_cells_keep_delimiters_quotes_and_line_ends():
    """RFC 4180 (2005), section 2, points 5 to 7."""
    table = read_table(b'a,b\r\n"x,1","say ""so""\r\ntwice"\r\n', "s.csv")
    assert table.rows == [("x,1", 'say "so"\r\ntwice')]


def test_a_header_further_down_is_found_where_the_user_says():
    table = read_table(b"Title of the sheet,\n\nTag,Height\nA-1,12\n", "s.csv", ReadingOptions(header_row=3))
    assert (table.headers, table.rows, table.first_row) == (["Tag", "Height"], [("A-1", "12")], 4)


def test_an_xlsx_is_read_by_sheet_and_says_which_one_it_took():
    content = xlsx([["Tag", "Height"], ["A-1", 12.5]], more=["Old"])
    table = read_table(content, "s.xlsx")
    assert table.rows == [("A-1", 12.5)]
    assert "Sheet 1" in table.notes[0]
    assert read_table(content, "s.xlsx", ReadingOptions(sheet="Sheet 1")).notes == []


def zip_of(name):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr(name, "text")
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"Tag,Height\n", "no rows below"),
        (b"\n\n", "no header in row 1"),
        (b"\0" * 5_000, "not a text sheet"),
        (b"\xd0\xcf\x11\xe0" + b"x" * 100, "old-style Excel"),
        (b"%PDF-1.7 x", "a PDF"),
        (b"\x89PNG\r\n", "a picture"),
        (b"PK\x03\x04 broken", "is damaged"),
        (zip_of("letter.txt"), "no XLSX workbook"),
        (b'a,b\n"never closed,1\n', "quotation mark"),
        (b"a,b\n1,2,3\n", "row 2 has 3 cells, but the header has 2"),
        (b"a,a\n1,2\n", "column 'a' twice"),
        (b"x" * 50_000_001, "sheets of up to 50 MB"),
    ],
)
def test_what_cannot_be_read_gets_one_clear_sentence(content, says):
    with pytest.raises(SheetError, match=says) as error:
        read_table(content, "sheet.csv")
    assert "\n" not in str(error.value)


def test_a_formula_cell_is_refused_by_its_place():
    with pytest.raises(SheetError, match="cell B2 holds a formula"):
        read_table(xlsx([["Tag", "Height"], ["A-1", "=1+1"]]), "s.xlsx")


def test_an_unknown_sheet_name_lists_those_there_are():
    with pytest.raises(SheetError, match="has no sheet '2023'. It has: Sheet 1"):
        read_table(xlsx([["a"], [1]]), "s.xlsx", ReadingOptions(sheet="2023"))


def test_a_damaged_sheet_inside_a_sound_zip_is_named():
    content = io.BytesIO(xlsx([["a"], [1]]))
    damaged = io.BytesIO()
    with zipfile.ZipFile(content) as source, zipfile.ZipFile(damaged, "w") as target:
        for item in source.namelist():
            text = source.read(item)
            target.writestr(item, text[: len(text) // 2] if item.startswith("xl/worksheets/") else text)
    with pytest.raises(SheetError, match="is damaged"):
        read_table(damaged.getvalue(), "s.xlsx")
