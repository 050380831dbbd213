"""Reading what people send: every encoding, delimiter and damage gets its rows or one clear sentence."""

import datetime
import io
import re
import zipfile

import openpyxl
import pytest

from registry.calc.shared.part_dates import PartDate
from registry.imports.sheets.cells.cell import CellError
from registry.imports.sheets.cells.dates import DateCell, PartDateCell
from registry.imports.sheets.cells.values import TextCell
from registry.imports.sheets.formats import write_rows
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.table import read_table, sheet_names

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


@pytest.mark.parametrize("written", ["Height\n(cm)", "Height \r\n  (cm)", "Height\r(cm)", "Height (cm)"])
def test_a_line_break_in_a_header_is_read_as_a_space(written):
    files = {"s.csv": f'Tag,"{written}"\nA-1,"low\nbranch"\n'.encode(), "s.xlsx": xlsx([["Tag", written], ["A-1", "low\nbranch"]])}
    for filename, content in files.items():
        table = read_table(content, filename)
        assert table.headers == ["Tag", "Height (cm)"]
        assert table.rows == [("A-1", "low\nbranch")]  # a line break in a cell stays


def test_two_headers_apart_by_a_line_break_alone_are_refused():
    with pytest.raises(SheetError, match=r"has the column 'Height \(cm\)' twice"):
        read_table(b'Tag,Height (cm),"Height\n(cm)"\nA-1,1,2\n', "s.csv")


def test_a_header_further_down_is_found_where_the_user_says():
    table = read_table(b"Title of the sheet,\n\nTag,Height\nA-1,12\n", "s.csv", ReadingOptions(header_row=3))
    assert (table.headers, table.rows, table.first_row) == (["Tag", "Height"], [("A-1", "12")], 4)


@pytest.mark.parametrize(
    "text",
    [
        '"Lot, a, b, c";Kind;Bin\nL-1;seed;3\n',  # more commas than semicolons, all of them inside a cell
        '"Title, of, the; sheet"\n"Lot, a, b, c";Kind;Bin\nL-1;seed;3\n',
        'sep=;\r\n"Lot, a, b, c";Kind;Bin\r\nL-1;seed;3\r\n',  # the first line spreadsheets write and read (common practice, no source)
    ],
)
def test_a_delimiter_inside_quoted_cells_does_not_count(text):
    table = read_table(text.encode(), "s.csv", ReadingOptions(header_row=2 if text.startswith('"Title') else 1))
    assert (table.headers, table.rows, table.options.delimiter) == (["Lot, a, b, c", "Kind", "Bin"], [("L-1", "seed", "3")], ";")


def test_a_delimiter_of_ones_own_is_taken_from_the_first_line():
    table = read_table(b"sep=|\na|b\n1|2\n", "s.csv")
    assert (table.headers, table.rows, table.first_row) == (["a", "b"], [("1", "2")], 2)


def test_blank_rows_do_not_shift_the_row_numbers():
    table = read_table(b"a,b\n1,2\n\n,\n3,4\n" + b"\n,\n" * 1000, "s.csv")
    assert table.rows == [("1", "2"), ("", ""), ("", ""), ("3", "4")]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"a,b\n" + b"\n" * 1_048_577, "more than 1,048,576 rows, blank ones included. Delete blank rows"),
        (b"a,b\n" + b",\n" * 1_048_577, "more than 1,048,576 rows"),
        (b"a,b\n" + b"," * 1_000_001, "line 2 has 1,000,001 characters"),
        (b"," * 1_000_001, "line 1 has 1,000,001 characters"),
        (b"a" + b",a1" * 20_000, "20,001 columns; up to 16,384"),
    ],
)
def test_a_file_of_nothing_is_refused_before_it_fills_the_memory(content, says):
    with pytest.raises(SheetError, match=says):
        read_table(content, "s.csv")


def test_cells_of_nothing_are_counted_too(monkeypatch):
    monkeypatch.setattr("registry.imports.sheets.table._CELLS_MAX", 100)
    with pytest.raises(SheetError, match="more than 100 cells, blank ones included"):
        read_table(xlsx([["a"], [1, *[None] * 200, ""]]), "s.xlsx")


@pytest.mark.parametrize(
    ("spec", "says"),
    [
        ({"header_row": "1"}, "gives header_row as '1'. Give the number of the row"),
        ({"header_row": 1.5}, "gives header_row as 1.5"),
        ({"header_row": True}, "gives header_row as True"),
        ({"header_row": 0}, "gives header_row as 0"),
        ({"delimiter": "pipe"}, "gives delimiter as 'pipe'. Declare comma, semicolon or tab, or the one character"),
        ({"delimiter": "::"}, "gives delimiter as '::'"),
        ({"delimiter": "a"}, "gives delimiter as 'a'"),
        ({"delimiter": 5}, "gives delimiter as 5"),
        ({"decimal": ["x"]}, "gives decimal as"),
        ({"dates": "D/M/Y"}, "gives dates as 'D/M/Y'. Declare one of YYYY-MM-DD"),
        ({"dates": {}}, "gives dates as"),
        ({"sheet": 2024}, "gives sheet as 2024"),
    ],
)
def test_an_impossible_declaration_is_refused_with_advice(spec, says):
    with pytest.raises(SheetError, match=re.escape(says)):
        ReadingOptions.from_spec(spec)


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
        (zip_of("letter.txt"), "not an XLSX workbook"),
        (b'a,b\n"never closed,1\n', "quotation mark"),
        (b"a,b\n1,2,3\n", "row 2 has 3 cells, but the header has 2: cell 3 holds '3', which is under no column name"),
        (b"a,a\n1,2\n", "column 'a' twice"),
        (b"x" * 50_000_001, "the limit is 50 MB"),
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


def test_chart_sheets_of_a_workbook_are_skipped():
    book = openpyxl.Workbook()
    book.active.title = "Heights"
    for row in (["Tag", "Height"], ["A-1", 12]):
        book.active.append(row)
    book.create_chartsheet("Chart", 0)
    buffer = io.BytesIO()
    book.save(buffer)
    table = read_table(buffer.getvalue(), "s.xlsx")
    assert (table.rows, table.options.sheet) == ([("A-1", 12)], "Heights")
    assert sheet_names(buffer.getvalue(), "s.xlsx") == ["Heights"]


def test_a_damaged_workbook_is_refused_by_name():
    with pytest.raises(SheetError, match="^heights.xlsx looks like XLSX but is damaged"):
        sheet_names(b"PK\x03\x04 broken", "heights.xlsx")


# What each format shows of 14 May 2019, typed into a spreadsheet by hand; the codes are those of ECMA-376 part 1, 18.8.31 (from memory).
SHOWN = (
    ("mmm yyyy", PartDate(2019, 5)), ("mmm-yy", PartDate(2019, 5)), ('[$-409]mmmm\\ yyyy;@', PartDate(2019, 5)),
    ("yyyy", PartDate(2019)), ('yyyy" season"', PartDate(2019)), ("yyyy-mm-dd", None), ("dd/mm/yy", None), ("m/d/yy h:mm", None),
    ("General", None), ("dddd", None),
)  # fmt: skip


@pytest.mark.parametrize(("number_format", "shown"), SHOWN)
def test_a_cell_that_shows_a_month_is_read_as_that_month(number_format, shown):
    day = datetime.datetime(2019, 5, 14)
    book = openpyxl.Workbook()
    book.active.append(["Planted", day])
    book.active.append(["A-1", day])
    for cell in (book.active["B1"], book.active["B2"]):
        cell.number_format = number_format
    buffer = io.BytesIO()
    book.save(buffer)
    table = read_table(buffer.getvalue(), "s.xlsx")
    [(_tag, value)] = table.rows
    if number_format == "General":  # a number of days, as the spreadsheet shows it
        assert value == 43599
        return
    assert value == (shown or day) and table.headers == ["Planted", "2019-05-14"]
    assert PartDateCell().parser(table.options)(value) == (shown or day.date())
    # what comes back from us is read the same way again
    again = {wanted: read_table(write_rows(table.headers, table.rows, wanted), f"s.{wanted}") for wanted in ("csv", "xlsx")}
    assert again["xlsx"].rows[0][1] == (shown or datetime.datetime(2019, 5, 14))
    assert PartDateCell().parser(again["csv"].options)(again["csv"].rows[0][1]) == (shown or day.date())


def test_a_month_of_a_workbook_is_refused_where_a_day_or_a_text_is_needed():
    options = ReadingOptions()
    with pytest.raises(CellError, match="shows 2019-05 without a day, and a day is needed"):
        DateCell().parser(options)(PartDate(2019, 5))
    with pytest.raises(CellError, match=r"is a date of the spreadsheet \(2019-05\), not a text"):
        TextCell().parser(options)(PartDate(2019, 5))
