"""One cell at a time: read strictly, or said what to do."""

import datetime

import pytest

from registry.imports.cells import CellError, ChoiceCell, DateCell, GenerationCell, NumberCell, TextCell, YesNoCell
from registry.imports.table import ReadingOptions


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


@pytest.mark.parametrize(
    ("value", "dates"),
    [("2020-04-07", "YYYY-MM-DD"), ("07.04.2020", "DD.MM.YYYY"), ("07/04/2020", "DD/MM/YYYY"), ("04/07/2020", "MM/DD/YYYY")],
)
def test_a_date_is_read_as_declared(value, dates):
    assert read(DateCell(), value, dates=dates) == datetime.date(2020, 4, 7)


@pytest.mark.parametrize("value", ["07.04.2020", "2020", "2020-13-01", "2023-02-29", 43928])
def test_a_date_written_otherwise_is_refused_and_not_guessed(value):
    with pytest.raises(CellError, match="is not a date written YYYY-MM-DD"):
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
