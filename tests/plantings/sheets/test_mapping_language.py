"""The mapping of columns, part by part: what each part of Help's examples does, and what it refuses in words."""

import io
import json

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from plantings.imports.loading import plan_file
from plantings.models import Observation
from plantings.services.trees import TreeAsPlanted, trees_plant
from plantings.views.overview.mapping_help import MAPPING_HELP, MAPPING_PARTS
from registry.imports.sheets.cells.cell import CellError
from registry.imports.sheets.given import with_given
from registry.imports.sheets.mapping import bind, bind_visits
from registry.imports.sheets.reading_options import ReadingOptions, SheetError
from registry.imports.sheets.rows import rows_used
from registry.models import ColumnMapping, SheetUpload
from registry.services.sheets.uploads import upload_keep
from tests import factories
from tests.places import PROJECT

HEADERS = ["Plant_ID", "Plot", "Tree", "State", "Height", "Height 2", "Notes", "H_2019", "H_2020", "S_2020"]
ROW = ("AB_05_MD_D", "XCS_1_FS", "7", " Alive", "10", "", "", "31", "", "dead")


class Field:
    column_name = "Height (cm)"


def cell(source, row=ROW, **spec):
    return bind({"x": Field}, HEADERS, {"columns": {"x": source}} | spec)["x"].cell(row)


# what each example of Help takes from ROW
TAKEN = ["AB_05_MD_D", "PL-01", "A", "A", "XCS_1_FS-7", "10", "1", "D", "FS", 25.4, "2022", "31"]


@pytest.mark.parametrize(("example", "taken"), [(line[1], taken) for line, taken in zip(MAPPING_HELP, TAKEN, strict=True)])
def test_every_example_of_a_column_does_what_help_says(example, taken):
    assert cell(json.loads(example), given={"year": "2022"}, visits={"height": "H_{year}"}) == taken


@pytest.mark.parametrize("example", [line[1] for line in MAPPING_PARTS])
def test_every_example_of_a_part_is_read(example):
    spec = {"columns": {"x": "Plot"}} | json.loads(example)
    ReadingOptions.from_spec(spec)
    spec = with_given(spec, "Finzel_2022.csv", "spring 2022")
    assert bind_visits({"x": Field}, HEADERS, spec) and rows_used([(2, ROW)], HEADERS, spec)


def test_the_readme_has_every_example_of_help():
    readme = (PROJECT / "README.md").read_text(encoding="utf-8")
    assert [line[1] for line in (*MAPPING_HELP, *MAPPING_PARTS) if line[1] not in readme] == []


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"from": "Plot", "split": "_", "part": 9}, "has 3 of the parts"),
        ({"from": "Plot", "pattern": "{a}_{b}", "take": "a"}, "in more than one way; say more of 'a'"),
        ({"from": "Plot", "pattern": "{a}/{b}", "take": "a"}, "is not written as {a}/{b}"),
        ({"from": "State", "values": {"dead": "D"}, "rest": "refuse"}, "is not one of the values that the mapping lists"),
        ({"from": "State", "unit": "in"}, "is not a number"),
    ],
)
def test_a_cell_that_does_not_fit_is_refused_in_words(given, says):
    with pytest.raises(CellError) as refused:
        cell(given)
    assert says in str(refused.value)


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"from": "Plot", "split": "_"}, '"split" without "part"'),
        ({"from": "Plot", "split": "", "part": 1}, 'has "split": ""'),
        ({"from": "Plot", "pattern": "{a}_{a}", "take": "a"}, "{a} twice"),
        ({"from": "Plot", "pattern": "Plot", "take": "a"}, "is not understood"),
        ({"from": "Plot", "pattern": "{a}", "take": "b"}, "its pattern has: a"),
        ({"join": []}, 'has "join": []'),
        ({"join": ["Plat"]}, "the column 'Plat', but the file has"),
        ({"join": ["Plot"], "constant": 1}, "Give a column name, or one of from, constant"),
        ({"given": "year"}, "Give it with --set year="),
        ({"visit": "height"}, '"visits" does not name it'),
        ({"from": "Height", "unit": "yd"}, "Write the unit of their column: mm"),
    ],
)
def test_a_source_that_cannot_be_meant_is_refused_in_words(given, says):
    with pytest.raises(SheetError) as refused:
        cell(given)
    assert says in str(refused.value)


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"rows": [{"column": "Plat", "blank": True}]}, "by the column 'Plat', but the file has"),
        ({"rows": [{"column": "Plot", "is": {}}]}, 'Write [{"column": "Plot"'),
        ({"visits": {"height": "G_{year}"}}, "No column is written as G_{year}"),
        ({"visits": {"height": "H_{year}", "state": "S_{season}"}}, "the same places in braces"),
        ({"blank_visits": "yes"}, 'Write "leave out" or "use"'),
        ({"file_name": "{site}-{year}.csv"}, "The name of the file, 'Finzel_2022.csv', is not written as {site}-{year}.csv"),
    ],
)
def test_a_part_that_does_not_fit_is_refused_in_words(more, says):
    with pytest.raises(SheetError) as refused:
        spec = with_given({"columns": {"x": "Plot"}} | more, "Finzel_2022.csv", "")
        rows_used([(2, ROW)], HEADERS, spec)
        bind_visits({"x": Field}, HEADERS, spec)
    assert says in str(refused.value)


WIDE = b"""Plot;Tree;S_2020;H_2020;S_2021;H_2021;Notes
1;1;alive;12,5;Alive ;20;
1;2;alive;10;;;
;;;;;;
1;3;dead;;;;exclude: not ours
1;4;dead;;gone;;
"""
WIDE_SPEC = {
    "delimiter": "semicolon", "decimal": ",", "dates": ["DD.MM.YYYY", "D Mon YYYY"], "file_name": "{planting}_wide.csv",
    "rows": [{"column": "Notes", "lacks": "exclude"}],
    "visits": {"state": "S_{year}", "height": "H_{year}"},
    "columns": {
        "planting": {"given": "planting"}, "round": {"visit": "year"}, "tag": {"join": ["Plot", "Tree"], "with": "-"},
        "status": {"visit": "state", "values": {"alive": "A", "dead": "D", "gone": "NF"}, "rest": "refuse"},
        "height_cm": {"visit": "height", "unit": "in"},
        "observed_on": {"visit": "year", "values": {"2020": "12 Oct. 2020", "2021": "3.10.2021"}},
    },
}  # fmt: skip


@pytest.fixture
def wide(db):
    lead = factories.person("lead")
    planting = factories.planting(code="PL-9", planted_on=factories.day(2020, 4, 20))
    for season, year in enumerate(("2020", "2021"), start=1):
        factories.census_round(planting, season, label=year)
    lot = factories.stock_lot()
    trees_plant(actor=lead, planting=planting, trees=[TreeAsPlanted(tag, lot) for tag in ("1-1", "1-2", "1-3", "1-4")])
    return lead


def test_a_wide_sheet_is_loaded_as_its_visits(wide, tmp_path):
    """Heights by hand: 12.5 in = 31.75 cm, 20 in = 50.8 cm, 10 in = 25.4 cm."""
    sheet, mapping, out = tmp_path / "PL-9_wide.csv", tmp_path / "wide.json", io.StringIO()
    sheet.write_bytes(WIDE)
    mapping.write_text(json.dumps(WIDE_SPEC))
    call_command("load", "census", sheet, columns=mapping, stdout=out)
    assert "3 rows of the file are used, as the mapping says." in out.getvalue()
    stored = Observation.objects.values_list("tree__tag", "round__label", "status", "height_cm", "observed_on")
    assert sorted((tag, label, status, height, day.isoformat()) for tag, label, status, height, day in stored) == [
        ("1-1", "2020", "A", 31.75, "2020-10-12"), ("1-1", "2021", "A", 50.8, "2021-10-03"), ("1-2", "2020", "A", 25.4, "2020-10-12"),
        ("1-4", "2020", "D", None, "2020-10-12"), ("1-4", "2021", "NF", None, "2021-10-03"),
    ]  # fmt: skip
    for wrong in ("planting", "--"):
        with pytest.raises(CommandError, match="Write --set as NAME=VALUE"):
            call_command("load", "census", str(sheet), f"--columns={mapping}", f"--set={wrong}")
    call_command("load", "census", sheet, columns=mapping, given=["planting=PL-9"], stdout=out)
    assert Observation.objects.count() == 5


def test_a_value_that_is_not_listed_is_shown_with_its_row_and_column(wide):
    content = WIDE.replace(b"gone", b"lost")
    problem = plan_file("census", content, "PL-9_wide.csv", WIDE_SPEC)[2].problems[0]
    assert (problem.row, problem.column, problem.value) == (6, "S_2021", "lost")


def test_the_page_shows_and_saves_all_that_a_mapping_says(client, wide):
    client.force_login(wide)
    upload = upload_keep(actor=wide, kind="census", content=WIDE, filename="PL-9_wide.csv")
    ColumnMapping.objects.create(kind="census", name="wide", spec=WIDE_SPEC)
    address = reverse("sheet_columns", args=[upload.key])
    page = client.get(address, {"mapping": "wide"})
    boxes = page.context["mapping"].initial | page.context["reading"].data
    wrong = client.post(address, boxes | {"more": '{"colour": 1}', "rule_tag": "{join"})
    assert "“colour” is not one of the parts" in wrong.context["mapping"].errors["more"][0]
    assert "This is not JSON" in wrong.context["mapping"].errors["rule_tag"][0]
    client.post(address, boxes)
    saved = SheetUpload.objects.get().spec
    assert saved | {"dates": saved["dates"].split("; ")} == WIDE_SPEC
    preview = client.get(reverse("sheet_preview", args=[upload.key]))
    assert preview.context["shown"] == "5 new"


@pytest.mark.django_db
def test_a_message_names_the_header_of_the_file_where_it_has_one():
    factories.planting(code="P")
    columns = {
        "planting": {"constant": "P"}, "round": {"visit": "year"}, "tag": "Name", "status": {"constant": "A"}, "height_cm": {"visit": "height"},
        "observed_on": {"constant": "2020-09-01"},
    }  # fmt: skip
    spec = {"columns": columns, "visits": {"height": "W_{year}"}}
    sheet, _table, plan = plan_file("census", b"Name,W_2020,W_2021\n1,30,31\n", "wide.csv", spec)
    assert {str(problem).split(" is not")[0] for problem in plan.problems} == {
        "row 2, column 'Season': '2020'",
        "row 2, column 'Season': '2021'",
    }
    assert (sheet.header("tag"), sheet.header("height_cm")) == ("Name", "Height (cm)")
