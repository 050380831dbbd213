"""A small workbook that unpacks to much is refused in a sentence before it costs anything; real ones of any size are read."""

import io
import time
import zipfile

import openpyxl
import pytest

from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.table import read_table

SPREADSHEET = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
SHEET, STRINGS, STYLES, BOOK = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/styles.xml", "xl/workbook.xml"
HEAD = '<row r="1"><c r="A1" t="inlineStr"><is><t>Code</t></is></c></row>'
FAR = '<row r="1048576"><c r="A1048576" t="inlineStr"><is><t>x</t></is></c></row>'


def workbook(rows=(("Code", "Name"), ("a", "b")), **options):
    book = openpyxl.Workbook(**options)
    page = book.create_sheet() if options else book.active
    for row in rows:
        page.append(row)
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def with_part(name, text):
    """A workbook in which one part is another text."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook())) as plain, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for part in {*plain.namelist(), name}:
            archive.writestr(part, text if part == name else plain.read(part))
    return made.getvalue()


def sheet(inside):
    return f'<worksheet xmlns="{SPREADSHEET}"><sheetData>{HEAD}{inside}</sheetData></worksheet>'


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        (SHEET, lambda: sheet("<row/>" * 1_500_000), "far more empty cells, rows or parts"),
        (SHEET, lambda: sheet("<row>" + "<c/>" * 2_000_000 + "</row>"), "far more empty cells, rows or parts"),
        (SHEET, lambda: sheet('<row><c r="XFD2"/></row>' * 500_000), "far more empty cells, rows or parts"),
        (SHEET, lambda: sheet('<row><c r="XFD2"/></row>' * 20_000), "blank ones included"),
        (SHEET, lambda: sheet(FAR), "1,048,574 blank rows above row 1048576"),
        (SHEET, lambda: "<a>" * 2_000_000, "far more empty cells, rows or parts"),
        (STRINGS, lambda: f'<sst xmlns="{SPREADSHEET}">' + "<si/>" * 2_000_000 + "</sst>", "far more empty cells, rows or parts"),
        (STRINGS, lambda: "x" * 60_000_000, "unpacks to 60 MB"),
        (STYLES, lambda: f'<styleSheet xmlns="{SPREADSHEET}"><cellXfs>' + "<xf/>" * 1_000_000 + "</cellXfs></styleSheet>", "far more empty cells"),
        (BOOK, lambda: f'<workbook xmlns="{SPREADSHEET}"><sheets>' + '<sheet name="a" sheetId="1"/>' * 40_000 + "</sheets></workbook>", "more than 1,000 sheets"),
        ("xl/media/image1.png", lambda: sheet("<row/>" * 1_500_000), "far more empty cells, rows or parts"),
        (SHEET, lambda: '<!DOCTYPE a [<!ENTITY b "' + "x" * 1000 + '">]>' + sheet("&b;" * 1000), "declares XML entities"),
        (SHEET, lambda: "<!--" + " " * 999_990 + "--><!DOCTYPE a []>" + sheet(""), "declares XML entities"),
    ],
)  # fmt: skip
def test_a_small_file_that_unpacks_to_much_is_refused(name, text, words):
    content, began = with_part(name, text()), time.process_time()
    assert len(content) < 100_000
    with pytest.raises(SheetError, match=words):
        read_table(content, "sheet.xlsx")
    assert time.process_time() - began < 4  # 10 s and more without the check


def test_a_drawing_beside_the_sheet_may_declare_a_document_type():
    drawing = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "svg11.dtd"><svg/>'
    assert len(read_table(with_part("xl/media/image1.svg", drawing), "sheet.xlsx").rows) == 1


@pytest.mark.parametrize("rows", [1_000, 60_000])
def test_a_real_sheet_is_read_however_much_its_rows_are_alike(rows):
    """One value in every cell packs best of all that a spreadsheet program writes."""
    content = workbook([("Code", "Name", "Status"), *[("SL-01", "Stony Lot", 1)] * rows], write_only=True)
    assert len(read_table(content, "sheet.xlsx").rows) == rows


def test_blank_rows_between_others_keep_their_numbers():
    content = workbook([("Code",), ("a",), *[()] * 9_000, ("b",)])
    assert len(read_table(content, "sheet.xlsx").rows) == 9_002
    text = "Code\na\n" + "\n" * 10_001 + "b\n"
    with pytest.raises(SheetError, match="10,001 blank rows above row 10004"):
        read_table(text.encode(), "sheet.csv")
