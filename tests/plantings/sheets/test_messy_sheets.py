"""Ten sheets of our own making, each after a fault that real sheets have: read as meant, or refused with the row, the cell and what to do."""

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


def workbook(rows):
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
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
