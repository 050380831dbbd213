"""One sheet of several kinds: one mapping, one preview, one transaction; the same by the command and on the page."""

import io
import json

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.urls import reverse

from plantings.imports.combined.loading import combined_load, combined_plan
from plantings.imports.combined.parts import sheet_parts
from plantings.imports.combined.second_sheets import second_files
from plantings.imports.kinds import KINDS as SHEETS_BY_KIND
from plantings.models import Block, CensusRound, Observation, Planting, Site, Tree
from plantings.views.overview.mapping_help import COMBINED_HELP
from registry.imports.sheets.plan import ReasonMissing, SheetRefused
from registry.imports.sheets.reading_options import SheetError
from registry.models import AuditEntry, ColumnMapping, Load, Lot, Partner, SheetUpload, Taxon
from tests import factories
from tests.places import PROJECT

pytestmark = pytest.mark.django_db

HEAD = "Site,Family,Plot,Tag,Height,State,Seen"
ROWS = ["Hollow,F1,1,H1,20,alive,2020-09-12", "Hollow,F2,1,H2,,dead,2020-09-12", "Ridge,F1,,R1,35,alive,2020-09-14"]
KINDS = {
    "census": {
        "columns": {
            "planting": "Site", "round": {"constant": "2020"}, "tag": "Tag", "observed_on": "Seen", "height_cm": "Height",
            "status": {"from": "State", "values": {"alive": "A", "dead": "D"}, "rest": "refuse"},
        }
    },
    "taxon": {"columns": {"name": {"constant": "Juglans cinerea"}, "role": {"constant": "native"}}},
    "lot": {
        "columns": {
            "code": "Family", "lot_kind": {"constant": "stock"}, "taxon": {"constant": "Juglans cinerea"}, "origin": {"constant": "outside"},
            "outside_origin": {"constant": "as in the sheet"},
        }
    },
    "partner": {"columns": {"code": {"constant": "PT-1"}, "name": {"constant": "Owner"}, "partner_kind": {"constant": "trust"}}},
    "site": {"columns": {"code": "Site", "name": "Site", "partner": {"constant": "PT-1"}}},
    "planting": {
        "columns": {
            "code": "Site", "site": "Site", "planted_on": {"constant": "2019-04-15"}, "state": {"constant": "established"},
            "supply": {"constant": "before_records"},
        }
    },
    "block": {"columns": {"planting": "Site", "code": "Plot"}, "rows": [{"column": "Plot", "blank": False}]},
    "tree": {"columns": {"planting": "Site", "tag": "Tag", "lot": "Family", "block": "Plot"}},
    "round": {
        "columns": {
            "planting": "Site", "label": {"constant": "2020"}, "growing_seasons": {"constant": "1"}, "opens_on": {"constant": "2020-09-01"},
            "closes_on": {"constant": "2020-10-15"},
        }
    },
}  # fmt: skip
MAPPING = {"parts": KINDS}
NEW = {"taxon": 1, "lot": 2, "partner": 1, "site": 2, "planting": 2, "block": 1, "tree": 3, "round": 2, "census": 3}


def sheet(*rows):
    return "\n".join([HEAD, *(rows or ROWS)]).encode()


def load(content, spec=MAPPING, **given):
    return combined_load(actor=given.pop("actor", None) or factories.person(), content=content, filename="trees.csv", spec=spec, **given)


def new(plan):
    return {kind: counts.get("new", 0) for kind, counts in plan.counts.items()}


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


PLOTS = b"Block,Lon,Lat\n1,-73.2,44.4\n2,-73.3,44.5\n"
BESIDE = {"second_sheets": {"plots": {"file": "plots.csv", "by": {"Plot": "Block"}}}}
POINTS = {
    "block": {"columns": KINDS["block"]["columns"] | {"longitude": "plots.Lon", "latitude": "plots.Lat"}} | {"rows": KINDS["block"]["rows"]}
}
JOINED = BESIDE | {"parts": KINDS | POINTS}


def test_a_second_sheet_is_joined_by_a_key(tmp_path):
    factories.person("lead")
    for name, content in (("trees.csv", sheet()), ("plots.csv", PLOTS), ("all.json", json.dumps(JOINED).encode())):
        (tmp_path / name).write_bytes(content)
    out = io.StringIO()
    call_command("load", "combined", tmp_path / "trees.csv", columns=tmp_path / "all.json", stdout=out)
    assert "1 row without a partner in “plots”" in out.getvalue()
    assert Block.objects.values_list("code", "longitude", "latitude").get() == ("1", -73.2, 44.4)


def test_hidden_rows_of_a_second_sheet_are_named_with_it():
    book = openpyxl.Workbook()
    for row in (["Block", "Lon", "Lat"], ["1", -73.2, 44.4], ["2", -73.3, 44.5]):
        book.active.append(row)
    book.active.row_dimensions[2].hidden = True
    buffer = io.BytesIO()
    book.save(buffer)
    beside = {"second_sheets": {"plots": {"file": "plots.xlsx", "by": {"Plot": "Block"}}}}
    notes = load(sheet(), JOINED | beside, files={"plots.xlsx": buffer.getvalue()}).notes
    assert any(note.startswith("Second sheet “plots”: Row 2 of sheet 'Sheet' is hidden in the workbook") for note in notes)
    assert Block.objects.filter(longitude=-73.2).exists()


@pytest.mark.parametrize("key", ["Block\nno.", "Block no."])
def test_a_second_sheet_is_joined_by_a_header_broken_over_lines(key):
    plots = PLOTS.replace(b"Block", b'"Block\nno."')
    by = {"second_sheets": {"plots": {"file": "plots.csv", "by": {"Plot": key}}}}
    load(sheet(), JOINED | by, files={"plots.csv": plots})
    assert Block.objects.filter(longitude__isnull=False).exists()


@pytest.mark.parametrize(
    ("plots", "given", "says"),
    [
        (None, {}, "“plots” is in plots.csv, which was not sent"),
        (PLOTS + b"1,-73.9,44.9\n", {}, "plots.csv, rows 2 and 4 are both “1” and differ"),
        (PLOTS, {"by": {"Plot": "Name"}}, "joins by “Name”, but plots.csv has: Block, Lon, Lat"),
        (PLOTS, {"by": {"Place": "Block"}}, "joins by “Place”, but trees.csv has"),
        (PLOTS, {"by": "Plot"}, '"second_sheets" of the mapping is'),
    ],
)
def test_a_second_sheet_that_cannot_be_joined_is_refused_in_words(plots, given, says):
    spec = JOINED | {"second_sheets": {"plots": BESIDE["second_sheets"]["plots"] | given}}
    with pytest.raises(SheetError, match=says):
        load(sheet(), spec, files={"plots.csv": plots} if plots else {})


def test_the_page_takes_second_sheets_and_stores_them_with_the_first(client):
    client.force_login(factories.person("lead"))
    feature = {"type": "Feature", "properties": {"Nr": "1"}, "geometry": {"type": "Point", "coordinates": [-73.25, 44.45]}}
    second = {"second_sheets": BESIDE["second_sheets"] | {"map": {"file": "plots.geojson", "by": {"Plot": "Nr"}}}}
    block = POINTS["block"]["columns"] | {"latitude": "map.Latitude (degrees, WGS 84)"}
    spec = JOINED | second | {"parts": KINDS | {"block": POINTS["block"] | {"columns": block}}}
    files = {"file": ("trees.csv", sheet()), "mapping": ("all.json", json.dumps(spec).encode())}
    beside = [SimpleUploadedFile("plots.csv", PLOTS), SimpleUploadedFile("plots.geojson", json.dumps(feature).encode())]
    posted = {name: SimpleUploadedFile(*file) for name, file in files.items()}
    doubled = client.post(reverse("combined_send"), posted | {"second": [SimpleUploadedFile("plots.csv", PLOTS) for _file in range(2)]})
    assert "Two of the files have the name plots.csv" in doubled.content.decode()
    for file in posted.values():
        file.seek(0)
    sent = client.post(reverse("combined_send"), posted | {"second": beside})
    page = client.get(sent.url)
    assert page.context["counts"]["block"]["new"] == 1
    first = SheetUpload.objects.get(kind="combined")
    part = client.get(reverse("combined_part", args=[first.key, "block"]))
    assert part.context["form"].initial["from_longitude"] == "plots.Lon"
    client.post(sent.url, {"shown": page.context["form"].initial["shown"]})
    assert Block.objects.values_list("longitude", "latitude").get() == (-73.2, 44.45)
    assert "plots.csv" not in client.get(reverse("sheet_list")).content.decode()


@pytest.fixture
def sent(client):
    """A sheet that was sent with its mapping file."""
    client.force_login(factories.person("lead"))
    mapping = SimpleUploadedFile("all.json", json.dumps(MAPPING).encode())
    answer = client.post(reverse("combined_send"), {"file": SimpleUploadedFile("trees.csv", sheet()), "mapping": mapping})
    upload = SheetUpload.objects.get()
    assert answer.url == reverse("combined_preview", args=[upload.key])
    return upload


def test_the_page_shows_saves_and_marks_all_kinds(client, sent):
    page = client.get(reverse(sent.preview_route, args=[sent.key]))
    assert {kind: counts["new"] for kind, counts in page.context["counts"].items()} == NEW
    answer = client.post(reverse("combined_preview", args=[sent.key]), {"shown": page.context["form"].initial["shown"]})
    assert answer.url == reverse("load_detail", args=[Load.objects.get().pk]) and Observation.objects.count() == 3
    assert "trees as planted: 3 new" in client.get(reverse("sheet_list")).content.decode()
    again = client.get(reverse("combined_preview", args=[sent.key]))
    assert "Every row is on file already" in again.content.decode()


def test_the_page_shows_every_part_of_a_mapping_and_edits_it(client, sent):
    parts = reverse("combined_parts", args=[sent.key])
    page = client.get(parts)
    assert [kind for kind, *_words in page.context["parts"]] == list(NEW)
    one = client.get(reverse("combined_part", args=[sent.key, "block"])).context["form"]
    saved = {name: field.initial if field.initial is not None else one.initial.get(name, "") for name, field in one.fields.items()}
    assert json.loads(saved["more"]) == {"rows": KINDS["block"]["rows"]}
    client.post(reverse("combined_part", args=[sent.key, "block"]), saved)
    sent.refresh_from_db()
    assert sent.spec == MAPPING
    reading = {"header_row": 1, "decimal": ".", "dates": "YYYY-MM-DD"}
    client.post(parts, reading | {"leave_out": "block", "name": "Trees 2020", "more": '{"rows": [{"column": "Tag", "blank": false}]}'})
    saved = ColumnMapping.objects.get(kind="combined", name="Trees 2020").spec
    assert saved == {"parts": {kind: KINDS[kind] for kind in KINDS if kind != "block"}, "rows": [{"column": "Tag", "blank": False}]}
    assert client.post(parts, reading | {"then": "add", "add": "block"}).url == reverse("combined_part", args=[sent.key, "block"])
    client.post(parts, {"use": "Trees 2020"})
    sent.refresh_from_db()
    assert sent.spec == saved


def test_a_returned_sheet_says_of_each_row_what_to_correct_in_which_kind(client, sent):
    sent.spec = MAPPING | {"dates": "DD.MM.YYYY"}
    sent.save()
    answer = client.get(reverse("combined_problems", args=[sent.key, "csv"]))
    assert "Plantings, Planted on: is not a date" in answer.content.decode("utf-8-sig").splitlines()[1]
