"""Sheets of our own making, each after a fault that real sheets have: read as meant, or refused with the row, the cell and what to do."""

import datetime
import io

import openpyxl
import pytest

from plantings.imports.loading import plan_file
from registry.imports.sheets.reading_options import SheetError
from tests import factories

pytestmark = pytest.mark.django_db

PLACE = {"planting": {"constant": "P"}, "round": {"constant": "2019 autumn"}}
CENSUS = {"columns": PLACE | {"tag": "Tree", "status": {"from": "State", "values": {"alive": "A", "dead": "D"}}, "observed_on": "Day"}}
HEIGHTS = {"columns": CENSUS["columns"] | {"height_cm": "Height"}}
NOTES = {"columns": CENSUS["columns"] | {"note": "Note"}}


def workbook(rows, merged=""):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    if merged:
        book.active.merge_cells(merged)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


@pytest.fixture
def on_file():
    """Planting P with trees 1 to 3 and the round of 2019."""
    planting = factories.planting(code="P")
    trees = factories.trees(planting, None, 3)
    for number, tree in enumerate(trees, start=1):
        tree.tag = f"{number}"
        tree.save(update_fields=["tag"])
    factories.census_round(planting)


GOOD = "1,alive,2019-09-10\n2,dead,2019-09-10\n"
SHEETS = {
    "a title and blank lines above the header, a total below the rows": (
        f"Census of the hollow,,\n,,\nTree,State,Day\n{GOOD}Total,2 trees,\n".encode(),
        CENSUS | {"header_row": 3, "rows": [{"column": "Day", "blank": False}]},
        {"new": 2},
    ),
    "semicolons and decimal commas": (
        "Tree;State;Day;Height\n1;alive;2019-09-10;12,5\n".encode("cp1252"), HEIGHTS | {"decimal": ","}, {"new": 1},
    ),
    "text of a spreadsheet in UTF-16 with tabs": (
        "Tree\tState\tDay\n1\talive\t2019-09-10\n".encode("utf-16"), CENSUS, {"new": 1},
    ),
    "headers broken over lines, in the sheet alone": (
        workbook([["Tree\nnumber", "State", "Day\nseen"], [1, "alive", "2019-09-10"]]),
        {"columns": CENSUS["columns"] | {"tag": "Tree number", "observed_on": "Day seen"}, "rows": [{"column": "Day seen", "blank": False}]},
        {"new": 1},
    ),
    "headers broken over lines, in the mapping alone": (
        b"Tree number,State,Day seen\n1,alive,2019-09-10\n",
        {"columns": CENSUS["columns"] | {"tag": "Tree\nnumber", "observed_on": "Day\r\nseen"}, "rows": [{"column": "Day\nseen", "blank": False}]},
        {"new": 1},
    ),
    "visits whose headers are broken over lines": (
        b'Tree,"State\n2019","Day\n2019"\n1,alive,2019-09-10\n',
        {
            "visits": {"state": "State\n{year}", "day": "Day {year}"},
            "columns": CENSUS["columns"] | {"status": {"visit": "state", "values": {"alive": "A"}}, "observed_on": {"visit": "day"}},
        },
        {"new": 1},
    ),
    "the header once more where a page broke": (
        f"Tree,State,Day\n{GOOD}Tree,State,Day\n3,alive,2019-09-11\n".encode(),
        CENSUS | {"rows": [{"column": "Tree", "is_not": "Tree"}]},
        {"new": 3},
    ),
    "tags that a spreadsheet made numbers, in states of any case": (
        workbook([["Tree", "State", "Day"], [1.0, " Alive ", "2019-09-10"], [2, "DEAD", "2019-09-10"]]), CENSUS, {"new": 2},
    ),
    "rows that were copied twice, and one that was changed after": (
        f"Tree,State,Day\n{GOOD}1,alive,2019-09-10\n2,alive,2019-09-10\n".encode(),
        CENSUS,
        {"new": 2, "repeated": 1, "wrong": 1, "says": "row 5, column 'State': 'A' contradicts row 3, which says 'D'"},
    ),
    "a remark beside the table": (
        b"Tree,State,Day\n1,alive,2019-09-10,fence broken\n", CENSUS, "row 2 has 4 cells, but the header has 3: cell 4 holds 'fence broken'",
    ),
    "two columns of one name": (b"Tree,State,Day,Height,Height\n1,alive,2019-09-10,3,4\n", HEIGHTS, "has the column 'Height' twice"),
    "a unit beside the number": (
        b"Tree,State,Day,Height\n1,alive,2019-09-10,12 cm\n", HEIGHTS, {"wrong": 1, "says": "row 2, column 'Height': '12 cm' "},
    ),
    "days written in two ways, one of which could be either": (
        b"Tree,State,Day\n1,alive,9/25/2019\n2,alive,25/9/2019\n3,alive,9/10/2019\n",
        CENSUS | {"dates": ["MM/DD/YYYY", "DD/MM/YYYY"]},
        {"new": 2, "wrong": 1, "says": "row 4, column 'Day': '9/10/2019' "},
    ),
    "a day that is written once for two trees, in merged cells": (
        workbook([["Tree", "State", "Day"], ["1", "alive", "2019-09-10"], ["2", "dead", None]], merged="C2:C3"),
        CENSUS,
        {"new": 1, "wrong": 1, "says": "row 3, column 'Day': is blank"},
    ),
    "the planting written in its first row alone": (
        b"Planting,Tree,State,Day\nP,1,alive,2019-09-10\n,2,dead,2019-09-10\n",
        {"columns": CENSUS["columns"] | {"planting": "Planting"}},
        {"new": 1, "wrong": 1, "says": "row 3, column 'Planting': is blank"},
    ),
    "a formula in place of its result": (
        workbook([["Tree", "State", "Day"], ["1", "alive", "=A2"]]), CENSUS, "cell C2 holds a formula. Copy the sheet and paste it as values",
    ),
    "a formula that found nothing": (
        workbook([["Tree", "State", "Day", "Height"], ["1", "alive", "2019-09-10", "#REF!"]]), HEIGHTS, "cell D2 holds the error #REF!",
    ),
    "a tag that a spreadsheet made a day": (
        workbook([["Tree", "State", "Day"], [datetime.datetime(2019, 1, 2), "alive", "2019-09-10"]]),
        CENSUS,
        {"wrong": 1, "says": "row 2, column 'Tree': '2019-01-02' is a date of the spreadsheet"},
    ),
    "marks of a footnote and of doubt beside the numbers": (
        b"Tree,State,Day,Height\n1,alive,2019-09-10,12*\n2,alive,2019-09-10,<5\n3,alive,2019-09-10,10-12\n",
        HEIGHTS,
        {"wrong": 3, "says": "row "},
    ),
    "a state with a question mark": (
        b"Tree,State,Day\n1,alive?,2019-09-10\n2,dead,2019-09-10\n",
        CENSUS,
        {"new": 1, "wrong": 1, "says": "row 2, column 'State': 'alive?' is not in the list"},
    ),
    "numbers of a spreadsheet in place of days, beside days": (
        b"Tree,State,Day\n1,alive,43718\n2,dead,2019-09-10\n", CENSUS, {"new": 1, "wrong": 1, "says": "row 2, column 'Day': '43718' is not a date"},
    ),
    "a sign that nobody sees, and a blank that is none": (
        "Tree\u00a0,State,Day\n\u00a01,alive,2019-09-10\n2,dead\u200b,2019-09-10\n".encode(),
        CENSUS,
        {"new": 1, "wrong": 1, "says": "row 3, column 'State': 'dead\u200b' holds a sign that cannot be seen (U+200B"},
    ),
    "accents of an old spreadsheet": (
        "Tree,State,Day,Note\n1,alive,2019-09-10,sous le ch\u00eane\n".encode("cp1252"), NOTES, {"new": 1},
    ),
    "a quotation mark that is never closed": (
        b'Tree,State,Day,Note\n1,alive,2019-09-10,"near stump\n2,dead,2019-09-10,\n', NOTES, "a quotation mark that is opened and never closed",
    ),
    "two tables beside each other": (
        b"Tree,State,Day,,Tree,State,Day\n1,alive,2019-09-10,,2,dead,2019-09-10\n", CENSUS, "has the column 'Day' twice",
    ),
    "a year with a slip, and one before any census": (
        b"Tree,State,Day\n1,alive,2109-09-10\n2,alive,1019-09-10\n", CENSUS, {"wrong": 2, "says": "row "},
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", SHEETS)
def test_a_messy_sheet_is_read_as_meant_or_refused_in_words(on_file, fault):
    content, spec, expected = SHEETS[fault]
    if isinstance(expected, str):
        with pytest.raises(SheetError) as refused:
            plan_file("census", content, "messy.csv", spec)
        assert expected in str(refused.value)
        return
    _sheet, _table, plan = plan_file("census", content, "messy.csv", spec)
    problems = [str(problem) for problem in plan.problems]
    assert {name: count for name, count in plan.counts.items() if count} == {name: n for name, n in expected.items() if name != "says"}, (
        problems
    )
    assert all(problem.startswith(expected["says"]) for problem in problems), problems


def test_a_number_that_is_refused_is_shown_as_the_file_has_it(on_file):
    """A day of the year in a whole-number column of the file, for a measurement that the round does not ask for."""
    field = factories.own_measurement(low=1, high=366).field
    spec = {"columns": CENSUS["columns"] | {field: "Bud set"}}
    _sheet, _table, plan = plan_file("census", b"Tree,State,Day,Bud set\n1,alive,2019-09-10,267\n", "buds.csv", spec)
    [problem] = plan.problems
    assert problem.value == "267" and "does not ask for it" in problem.message
