"""One sheet of several kinds: one mapping, one check, one transaction; by the service and by the command."""

import io
import json

import pytest
from django.core.management import CommandError, call_command

from plantings.imports.combined.loading import combined_plan
from plantings.imports.combined.parts import sheet_parts
from plantings.imports.combined.second_sheets import second_files
from plantings.imports.kinds import KINDS as SHEETS_BY_KIND
from plantings.models import Block, CensusRound, Observation, Planting, Site, Tree
from plantings.views.overview.mapping_help import COMBINED_HELP
from registry.imports.sheets.plan import ReasonMissing, SheetRefused
from registry.imports.sheets.reading_options import SheetError
from registry.models import AuditEntry, Lot, Partner, Taxon
from tests import factories
from tests.places import PROJECT
from tests.plantings.sheets.combined_sheet import KINDS, MAPPING, NEW, ROWS, load, new, sheet

pytestmark = pytest.mark.django_db


def test_one_sheet_becomes_records_of_every_kind_in_load_order():
    actor = factories.person()
    _table, shown = combined_plan(actor=actor, content=sheet(), filename="trees.csv", spec=MAPPING)
    assert new(shown) == NEW
    assert not any(model.objects.exists() for model in (Taxon, Lot, Partner, Site, Planting, Block, Tree, CensusRound, Observation))
    plan = load(sheet(), actor=actor)
    assert plan.summary() == shown.summary() and list(plan.counts) == list(NEW)
    trees = {tree.tag: (tree.planting.site.code, tree.entry.lot.code, tree.block and tree.block.code) for tree in Tree.objects.all()}
    assert trees == {"H1": ("Hollow", "F1", "1"), "H2": ("Hollow", "F2", "1"), "R1": ("Ridge", "F1", None)}
    assert dict(Observation.objects.values_list("tree__tag", "status")) == {"H1": "A", "H2": "D", "R1": "A"}


def test_the_same_sheet_again_stores_nothing():
    actor = factories.person()
    load(sheet(), actor=actor)
    before = AuditEntry.objects.count()
    again = load(sheet(), actor=actor)
    assert set(new(again).values()) == {0} and not again.changed
    assert AuditEntry.objects.count() == before and Observation.objects.count() == 3
    with pytest.raises(ReasonMissing):
        load(sheet(ROWS[0].replace("20,", "22,"), *ROWS[1:]), actor=actor)
    assert load(sheet(ROWS[0].replace(",20,", ",22,"), *ROWS[1:]), actor=actor, reason="read again").changed == 1


def test_a_wrong_row_stops_all_kinds_and_is_named_by_its_kind():
    """A row that is wrong in one kind is not named again for what builds on it; other kinds are checked all the same."""
    rows = [ROWS[0], f"{'x' * 41},F1,1,H2,,dead,2020-09-12", ROWS[2].replace("alive", "asleep")]
    with pytest.raises(SheetRefused) as refused:
        load(sheet(*rows))
    lines = refused.value.plan.problem_lines()
    assert [line.partition(": ")[0] for line in lines] == ["Sites, row 3, column 'Site'", "Census, row 4, column 'State'"]
    assert not Site.objects.exists() and not Lot.objects.exists()


def test_what_the_records_refuse_stops_the_check_of_what_builds_on_it():
    """Trees of a planting in the ground that came by shipment: none was received, so the supply refuses them."""
    spec = {"parts": KINDS | {"planting": {"columns": KINDS["planting"]["columns"] | {"supply": {"constant": "shipment"}}}}}
    with pytest.raises(SheetRefused) as refused:
        load(sheet(), spec)
    plan = refused.value.plan
    assert {line.partition(",")[0] for line in plan.problem_lines()} == {"Trees as planted"}
    assert "Not checked yet, since they build on what is wrong: Census rounds, Census." in plan.notes


def test_the_examples_of_help_are_read_and_are_in_the_readme():
    kinds, second = (example for _title, example, _words in COMBINED_HELP)
    assert [kind for kind, _part in sheet_parts(json.loads(kinds))] == ["lot", "tree"]
    assert second_files(json.loads(second)) == ["plots.csv"]
    readme = (PROJECT / "README.md").read_text(encoding="utf-8")
    assert kinds in readme and second in readme


@pytest.mark.parametrize(
    ("spec", "says"),
    [
        ({}, "does not say what kinds of records"),
        ({"parts": {"trees": {"columns": {"tag": "Tag"}}}}, "'trees', which is not a kind of sheet"),
        ({"parts": {"tree": {"tag": "Tag"}}}, "The part 'tree' of the mapping is .* Write its columns"),
        ({"parts": KINDS, "columns": {"tag": "Tag"}}, '"columns" beside "parts"'),
        ({"parts": {"lot": KINDS["lot"] | {"sheet": "2"}}}, "The part 'lot' of the mapping has 'sheet'"),
        ({"parts": {"site": {"columns": {"code": "Place"}}}}, "Sites: The mapping takes 'code' from the column 'Place'"),
    ],
)
def test_a_mapping_that_cannot_be_meant_is_refused_in_words(spec, says):
    with pytest.raises(SheetError, match=says):
        load(sheet(), spec)


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        ({"height_cm": "Hight"}, "The mapping takes 'height_cm' from the column 'Hight'"),
        ({"hight": "Height"}, "hight"),
        ({"tag": {"constant": "1"}, "planting": "Sight"}, "'Sight'"),
    ],
)
def test_a_wrong_header_of_the_last_kind_is_said_before_any_is_stored(columns, says, monkeypatch):
    monkeypatch.setattr(SHEETS_BY_KIND["taxon"], "store_items", lambda *given: pytest.fail("the first kind was stored"))
    census = KINDS["census"] | {"columns": KINDS["census"]["columns"] | columns}
    with pytest.raises(SheetError, match=says) as refused:
        load(sheet(), {"parts": KINDS | {"census": census}})
    assert str(refused.value).startswith("Census")


def test_a_role_loads_only_the_kinds_it_may_edit():
    with pytest.raises(SheetError, match="may not load partners. Leave that kind out"):
        load(sheet(), actor=factories.person("manager"))


def test_the_command_loads_a_mapping_with_parts(tmp_path):
    factories.person("lead")
    (tmp_path / "trees.csv").write_bytes(sheet())
    (tmp_path / "all.json").write_text(json.dumps(MAPPING))
    out = io.StringIO()
    call_command("load", "combined", tmp_path / "trees.csv", columns=tmp_path / "all.json", stdout=out)
    assert "stored taxa: 1 new; lots: 2 new; partners: 1 new" in out.getvalue() and Observation.objects.count() == 3
    with pytest.raises(CommandError, match="does not say what kinds"):
        call_command("load", "combined", tmp_path / "trees.csv")


def test_several_files_are_loaded_together_or_not_at_all(tmp_path):
    """By a pattern; the name of each file says its visit."""
    factories.person("lead")
    later = {"columns": KINDS["census"]["columns"] | {"round": {"given": "year"}}}
    window = {
        name: {"join": [{"given": "year"}, {"constant": day}], "with": "-"} for name, day in (("opens_on", "09-01"), ("closes_on", "10-15"))
    }
    rounds = {"columns": KINDS["round"]["columns"] | {"label": {"given": "year"}} | window}
    rows = [row.replace("2020-", "2021-") for row in ROWS]
    spec = {"file_name": "visit_{year}.csv", "parts": KINDS | {"census": later, "round": rounds}}
    (tmp_path / "all.json").write_text(json.dumps(spec))
    (tmp_path / "visit_2020.csv").write_bytes(sheet())
    (tmp_path / "visit_2021.csv").write_bytes(sheet(rows[0].replace("alive", "asleep")))
    err = io.StringIO()
    with pytest.raises(SystemExit):
        call_command("load", "combined", tmp_path / "visit_*.csv", columns=tmp_path / "all.json", stdout=io.StringIO(), stderr=err)
    assert "File 2 of 2 is refused, so the other files are not stored either." in err.getvalue()
    assert not Tree.objects.exists()
    (tmp_path / "visit_2021.csv").write_bytes(sheet(*rows))
    call_command("load", "combined", tmp_path / "visit_*.csv", columns=tmp_path / "all.json", stdout=io.StringIO())
    assert sorted(Observation.objects.values_list("round__label", flat=True)) == ["2020"] * 3 + ["2021"] * 3
    with pytest.raises(CommandError, match="No file has a name like"):
        call_command("load", "combined", tmp_path / "none_*.csv", columns=tmp_path / "all.json")
