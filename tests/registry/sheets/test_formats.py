"""What we write is safe in a spreadsheet and comes back as it was."""

import io

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.imports.sheets.cells.values import TextCell
from registry.imports.sheets.formats import write_rows
from registry.imports.sheets.reading_options import ReadingOptions
from registry.imports.sheets.table import read_table
from registry.imports.sheets.text import safe_text, undefused

# RFC 4180 and the OWASP page on CSV injection: cells a spreadsheet would run, and full-width look-alikes.
DANGEROUS = ["=1+1", '=HYPERLINK("http://x","y")', "+49 123", "@SUM(A1)", "\t=1+1", "-3.5e2", "＝1+1", "＋1", "－1", "＠A1"]


@pytest.mark.parametrize("text", DANGEROUS)
def test_a_csv_cell_never_begins_as_a_formula_and_reads_back(text):
    table = read_table(write_rows(["Note"], [[text]], "csv"), "s.csv")
    cell = table.rows[0][0]
    assert cell.startswith("'")
    assert TextCell().clean(cell) == text.strip()


@pytest.mark.parametrize("text", DANGEROUS)
def test_an_xlsx_cell_is_text_and_no_formula(text):
    content = write_rows(["Note"], [[text]], "xlsx")
    cell = openpyxl.load_workbook(io.BytesIO(content)).active["A2"]
    assert cell.data_type == "s"
    table = read_table(content, "s.xlsx")
    assert TextCell().parser(ReadingOptions())(table.rows[0][0]).strip() == text.strip()


def test_numbers_stay_numbers():
    content = write_rows(["Value"], [[-5], [2.5]], "xlsx")
    assert read_table(content, "s.xlsx").rows == [(-5,), (2.5,)]
    assert write_rows(["Value"], [[-5]], "csv").endswith(b"Value\r\n-5\r\n")


@given(st.text(alphabet="'=+-@x5 ", max_size=6))
def test_a_text_that_looks_like_a_formula_comes_back_as_it_was(text):
    assert undefused(safe_text(text)) == text
