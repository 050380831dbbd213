"""About how many rows a file has, which decides whether the worker checks it."""

import io
import zipfile

from registry.calc.sheets.length import rows_about


def workbook(*sheets):
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as book:
        for number, text in enumerate(sheets):
            book.writestr(f"xl/worksheets/sheet{number}.xml", text)
        book.writestr("xl/styles.xml", "<row <row ")
    return buffer.getvalue()


def test_rows_of_all_sheets_of_a_workbook_are_counted_across_pieces():
    before = "x" * ((1 << 20) - 2)  # the first piece ends inside "<row "
    assert rows_about(workbook(f'{before}<row r="1"/><row r="2"/>', '<rows/><row r="1"/>'), "Book.XLSX") == 3


def test_a_damaged_workbook_has_no_rows_and_raises_nothing():
    whole = workbook('<row r="1"/>' * 500)
    assert rows_about(whole[:-30], "a.xlsx") == rows_about(whole[30:90] + whole[60:], "a.xlsx") == rows_about(b"", "a.xlsx") == 0


def test_lines_of_a_text_file_are_counted_whatever_ends_them():
    assert rows_about(b"a\rb\rc\r", "old.csv") == rows_about("a\nb\nc\n".encode("utf-16-le"), "wide.csv") == 3
