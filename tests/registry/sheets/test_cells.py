"""One cell at a time: read strictly, or said what to do."""

import datetime

import pytest

from plantings.imports.kinds import SHEETS
from registry.calc.pedigree.pedigree import is_unknown
from registry.imports.pedigree.parent_cell import ParentCell
from registry.imports.sheets.cells.cell import CellError
from registry.imports.sheets.cells.dates import DateCell
from registry.imports.sheets.cells.values import ChoiceCell, GenerationCell, NumberCell, TextCell, YesNoCell
from registry.imports.sheets.reading_options import ReadingOptions


def read(cell, value, **options):
    return cell.parser(ReadingOptions(**options))(value)


@pytest.mark.parametrize(
    ("value", "options", "number"),
    [("3.5", {}, 3.5), ("3,5", {"decimal": ","}, 3.5), (3.5, {}, 3.5), ("-2", {}, -2), ("1e2", {}, 100)],
)
def test_a_number_is_read_with_the_declared_decimal_sign(value, options, number):
    assert read(NumberCell(), value, **options) == number


@pytest.mark.parametrize(
    ("value", "options", "says"),
    [
        ("3,5", {}, "declared as '.'"),
        ("3.5", {"decimal": ","}, "declared as ','"),
        ("1,000", {}, "thousands are not separated"),
        ("NA", {}, "is not a number"),
        ("nan", {}, "is not a number"),
        ("inf", {}, "is not a number"),
        (True, {}, "is not a number"),
        ("4_2", {}, "is not a number"),
        ("٤", {}, "is not a number"),
        (datetime.time(4, 2), {}, "is not a number"),
        (datetime.timedelta(hours=4), {}, "is not a number"),
        (10**400, {}, "is too large a number"),
        ("-1", {}, "is outside 0 to 10"),
    ],
)
def test_a_number_that_cannot_be_meant_is_refused(value, options, says):
    with pytest.raises(CellError, match=says):
        read(NumberCell(0, 10), value, **options)


def test_a_whole_number_refuses_a_part():
    assert read(NumberCell(whole=True), "12.0") == 12
    with pytest.raises(CellError, match="not a whole number"):
        read(NumberCell(whole=True), "12.5")
    with pytest.raises(CellError, match="larger than any count"):
        read(NumberCell(0, whole=True), "1e12")


@pytest.mark.parametrize(
    ("value", "dates"),
    [("2020-04-07", "YYYY-MM-DD"), ("07.04.2020", "DD.MM.YYYY"), ("07/04/2020", "DD/MM/YYYY"), ("04/07/2020", "MM/DD/YYYY")],
)
def test_a_date_is_read_as_declared(value, dates):
    assert read(DateCell(), value, dates=(dates,)) == datetime.date(2020, 4, 7)


@pytest.mark.parametrize(
    "value", ["07.04.2020", "2020", "2020-13-01", "2023-02-29", "20200407", "2020-W15-2", 43928, True, datetime.time(4)]
)
def test_a_date_written_otherwise_is_refused_and_not_guessed(value):
    with pytest.raises(CellError, match=r"is not a date written YYYY-MM-DD|is a year without month and day.*\(as YYYY-MM-DD\)"):
        read(DateCell(), value)


def test_a_spreadsheets_own_date_is_a_date():
    assert read(DateCell(), datetime.datetime(2020, 4, 7)) == datetime.date(2020, 4, 7)


def test_a_choice_takes_code_or_label_in_any_case():
    cell = ChoiceCell(lambda: [("A", "Alive"), ("D", "Dead")])
    assert read(cell, "a") == read(cell, "ALIVE") == "A"
    with pytest.raises(CellError, match="write one of A, D"):
        read(cell, "49")


def test_a_blank_makes_no_statement_and_is_never_zero():
    assert NumberCell().clean("") is None
    assert NumberCell().clean("  ") is None
    assert NumberCell().clean("0") == 0
    assert YesNoCell().clean("") is None


def test_a_tag_a_spreadsheet_turned_into_a_number_is_a_tag_again():
    assert read(TextCell(), 132.0) == "132"


def test_synonyms_of_a_generation_are_one():
    assert read(GenerationCell(), "BC3F3") == read(GenerationCell(), "B3-F3") == read(GenerationCell(), "B3F3")


def test_a_negative_number_with_a_leading_apostrophe_is_a_number():
    assert NumberCell().clean("'-3.5e2") == -350


@pytest.mark.parametrize(
    ("value", "says"),
    [
        (datetime.datetime(2024, 12, 3), r"is a date of the spreadsheet \(2024-12-03\), not a text; format the column as text"),
        (datetime.date(2024, 12, 3), "is a date of the spreadsheet"),
        (datetime.time(1, 2), "is a time of the spreadsheet"),
        (datetime.timedelta(hours=30), "is a time of the spreadsheet"),
        (True, "is a yes-or-no value of the spreadsheet, not a text; format the column as text and write TRUE again"),
    ],
)
def test_a_text_changed_by_the_spreadsheet_is_refused(value, says):
    with pytest.raises(CellError, match=says):
        read(TextCell(), value)


@pytest.mark.parametrize("value", [datetime.date(1899, 12, 31), datetime.datetime(1899, 12, 30), "0202-04-07", "1019-10-08"])
def test_a_day_before_1900_is_a_slip(value):
    # day 0 of a spreadsheet is 30 December 1899 or "0 January 1900" (ECMA-376 part 1, 18.17.4.1, date systems)
    with pytest.raises(CellError, match="is before 1900; correct the year"):
        read(DateCell(), value)


# every Python value openpyxl gives for a cell: https://openpyxl.readthedocs.io, "openpyxl.cell.cell", TYPES; and texts beside them
VALUES = [
    "x", "'-3", "²", "1_0", "#N/A", "1e999", "9" * 5_000, "9" * 5_000 + "/" + "9" * 5_000, "2;1", "1/0", "or", ";", "0000-00-00", "=1+1",
    0, 1, -1, 12, 10**400, 0.0, 2.5, 12.0, 1e300, True, False, datetime.datetime(2024, 12, 3, 4, 5), datetime.date(2024, 12, 3),
    datetime.time(0, 0), datetime.timedelta(days=3, hours=4), None,
]  # fmt: skip


@pytest.mark.django_db
@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.kind)
def test_every_cell_reads_a_value_or_says_why_not(sheet):
    for name, field in sheet.sheet_fields().items():
        refused = 0
        for value in VALUES:
            try:
                read_value = field.widget.clean(value)
            except CellError as error:
                refused += 1
                assert len(str(error)) > 10
            else:
                unknown_parent = isinstance(field.widget, ParentCell) and is_unknown(value)
                assert value is None or read_value is not None or unknown_parent
                field.widget.render(read_value)
        assert refused > 0, name
