"""Days as people write them: read by declared patterns, never guessed."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.shared.part_dates import PartDate
from registry.calc.sheets.written_days import is_day_style, read_date, read_day, write_day

STYLES = ("YYYY-MM-DD", "DD.MM.YYYY", "M/D/YYYY", "MMDDYYYY", "D Mon YYYY", "Mon D, YYYY", "DD-Mon-YY", "DD/MM/YYYYtime", "days since 1904")


@pytest.mark.parametrize(
    ("text", "style", "day"),
    [
        ("3.4.2022", "DD.MM.YYYY", (2022, 4, 3)),
        ("3 Sept. 2022", "D Mon YYYY", (2022, 9, 3)),
        ("1 févr. 2022", "D Mon YYYY", (2022, 2, 1)),
        ("Août 3, 2022", "Mon D, YYYY", (2022, 8, 3)),
        ("3-Apr-22", "DD-Mon-YY", (2022, 4, 3)),
        ("5/1/2022 0:00", "MM/DD/YYYYtime", (2022, 5, 1)),
        (
            "44682",
            "days since 1900",
            (2022, 5, 1),
        ),  # ECMA-376, part 1, 18.17.4.1: 1 January 1900 is 1 (checked in a spreadsheet, from memory)
        ("43220.5", "days since 1904", (2022, 5, 1)),
    ],
)
def test_a_day_is_read_as_it_is_declared(text, style, day):
    assert read_day(text, (style,)) == datetime.date(*day)


@pytest.mark.parametrize(
    ("text", "styles", "says"),
    [
        ("3/4/2022", ("DD/MM/YYYY", "MM/DD/YYYY"), "can be 2022-04-03 (DD/MM/YYYY) or 2022-03-04 (MM/DD/YYYY)"),
        ("2022", ("YYYY-MM-DD",), "is a year without month and day"),
        ("May 2022", ("D Mon YYYY",), "is a month without a day"),
        ("2022-05", ("YYYY-MM-DD",), "is a month without a day"),
        ("2022-05-01?", ("YYYY-MM-DD",), "has “?” beside the date"),
        ("ca. 3.4.2022", ("DD.MM.YYYY",), "has “ca.” beside the date"),
        ("3 jui 2022", ("D Mon YYYY",), "is not a date written D Mon YYYY"),  # juin or juillet
        ("31.4.2022", ("DD.MM.YYYY", "YYYY-MM-DD"), "is not a date written DD.MM.YYYY or YYYY-MM-DD"),
        ("59", ("days since 1900",), "is not a date written days since 1900"),
    ],
)
def test_what_is_not_one_day_is_refused_in_words(text, styles, says):
    with pytest.raises(ValueError, match=".") as refused:
        read_day(text, styles)
    assert says in str(refused.value)


def test_two_patterns_that_read_the_same_day_agree():
    assert read_day("13/4/2022", ("DD/MM/YYYY", "MM/DD/YYYY")) == read_day("4/4/2022", ("DD/MM/YYYY", "MM/DD/YYYY")).replace(day=13)


@given(st.dates(datetime.date(2000, 3, 1), datetime.date(2099, 12, 31)), st.sampled_from(STYLES))
def test_a_day_that_is_written_is_read_again(day, style):
    assert read_day(write_day(day, style), (style,)) == day


@pytest.mark.parametrize(
    ("text", "styles", "date"),
    [
        ("2019", ("YYYY-MM-DD",), PartDate(2019)),  # ISO 8601-1, reduced precision
        ("2019-05", ("YYYY-MM-DD",), PartDate(2019, 5)),
        ("2019", ("DD.MM.YYYY", "YYYY"), PartDate(2019)),
        ("5/2019", ("DD/MM/YYYY", "MM/YYYY"), PartDate(2019, 5)),
        ("mai 2019", ("Mon YYYY",), PartDate(2019, 5)),
        ("May-19", ("Mon-YY",), PartDate(2019, 5)),
        ("3.4.2022", ("YYYY", "DD.MM.YYYY"), datetime.date(2022, 4, 3)),
    ],
)
def test_a_month_or_a_year_is_read_as_it_is_declared(text, styles, date):
    assert read_date(text, styles) == date


@pytest.mark.parametrize(
    ("text", "styles", "says"),
    [
        ("2019", ("DD.MM.YYYY",), "declare YYYY beside DD.MM.YYYY"),
        ("May 2019", ("DD.MM.YYYY",), "declare YYYY-MM or Mon YYYY beside DD.MM.YYYY"),
        ("2019", ("YYYY", "days since 1900"), "can be 2019 (YYYY) or 1905-07-11 (days since 1900)"),
        ("ca. 2019", ("YYYY",), "has “ca.” beside the date"),
        ("2019-13", ("YYYY-MM-DD",), "is not a date written YYYY-MM-DD or YYYY-MM or YYYY"),
    ],
)
def test_a_month_or_a_year_is_never_guessed(text, styles, says):
    with pytest.raises(ValueError, match=".") as refused:
        read_date(text, styles)
    assert says in str(refused.value)


def test_a_column_of_days_refuses_a_year_that_the_sheet_declares():
    with pytest.raises(ValueError, match=r"is a year without month and day, and this column holds days; write the day \(as DD.MM.YYYY\)"):
        read_day("2019", ("YYYY", "DD.MM.YYYY"))


@pytest.mark.parametrize("style", ["", "x", "YY", "MM", "MM.DD", "YYYYtime", "DD.MM.YYYY DD", "D Month YYYY", "YYYY" * 20])
def test_what_names_no_date_is_not_a_style(style):
    assert not is_day_style(style)
