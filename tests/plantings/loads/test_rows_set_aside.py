"""Wrong rows set aside: the good rows are stored, the rest goes back marked, and comes in again."""

import io
import json

import openpyxl
import pytest
from django.core.management import CommandError, call_command

from plantings.imports.loading import sheet_load, upload_content
from plantings.models import Observation, Tree
from registry.imports.loads.rest import rest_bytes
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.table import TO_CORRECT, read_table
from registry.models import Load, Lot, Partner, PedigreeTree, Rating, Taxon
from registry.selectors.loads.loads import loads_with_rows_out, rows_still_out
from registry.services.loads.loads import rows_leave_out
from tests import factories

pytestmark = pytest.mark.django_db

TAXA = "Binomial,Role here\nJuglans a,native\nJuglans b,nativ\nJuglans c,donor\nJuglans d,nativ\n,native\n"


@pytest.fixture
def lead():
    return factories.person("lead")


def load(lead, text, kind="taxon", set_aside=True, name="t.csv", **given):
    return sheet_load(actor=lead, kind=kind, content=text.encode(), filename=name, set_aside=set_aside, **given)


def rest_of(found, wanted="csv"):
    return rest_bytes(found, upload_content(found.upload), rows_still_out(found), wanted)


def test_good_rows_are_stored_and_the_rest_is_remembered(lead):
    with pytest.raises(SheetRefused):
        load(lead, TAXA, set_aside=False)
    assert not Taxon.objects.exists() and not Load.objects.exists()
    found = load(lead, TAXA).load
    assert list(Taxon.objects.order_by("name").values_list("name", flat=True)) == ["Juglans a", "Juglans c"]
    assert [row for row, _words in rows_still_out(found)] == [3, 5, 6]
    assert found.counts == {"new": 2, "changed": 0, "unchanged": 0, "repeated": 0, "wrong": 0, "set aside": 3}
    assert found.stored == {"taxon": [[*Taxon.objects.order_by("pk").values_list("pk", flat=True)]]}
    assert [(one.pk, one.rows_out) for one in loads_with_rows_out(lead)] == [(found.pk, 3)]


@pytest.mark.parametrize("wanted", ["csv", "xlsx"])
def test_the_corrected_rest_ticks_its_rows_off(lead, wanted):
    found = load(lead, TAXA).load
    rest = rest_of(found, wanted)
    table = read_table(rest, f"rest.{wanted}")
    assert table.headers == ["Binomial", "Role here", TO_CORRECT]
    # rows with the same fault follow each other, the first says how many there are
    assert table.rows[0][2].startswith(f"Load {found.pk}, row 3: Role here: ") and "the same in 2 rows" in table.rows[0][2]
    assert table.rows[1][2].startswith(f"Load {found.pk}, row 5: ") and table.rows[2][1] == "native"
    if wanted == "csv":
        corrected = rest.replace(b"Juglans b,nativ,", b"Juglans b,native,")
    else:
        book = openpyxl.load_workbook(io.BytesIO(rest))
        book.active["B2"] = "native"
        buffer = io.BytesIO()
        book.save(buffer)
        corrected = buffer.getvalue()
    again = sheet_load(actor=lead, kind="taxon", content=corrected, filename=f"rest.{wanted}", set_aside=True).load
    assert Taxon.objects.filter(name="Juglans b").exists()
    assert [row for row, _words in rows_still_out(found)] == [5, 6]
    # the two that are still wrong are out of both loads; leaving them out needs a reason
    assert again.aside_count == 2
    assert rows_leave_out(actor=lead, load=found, reason="blank lines of a form") == 2
    assert [one.pk for one in loads_with_rows_out(lead)] == [again.pk]


def test_no_row_counts_as_good_that_contradicts_or_builds_on_a_wrong_one(lead):
    factories.taxon(name="Juglans cinerea")
    text = (
        "Tree,Binomial,Generation,Mother\n"
        "A,Juglans x,native,\n"  # wrong
        "B,Juglans cinerea,,A\n"  # builds on it
        "C,Juglans cinerea,,B\n"  # and this on that
        "D,Juglans cinerea,native,\n"
        "E,Juglans cinerea,native,\n"
        "E,Juglans cinerea,F1,\n"  # which of the two is right, nobody can tell
    )
    found = load(lead, text, "pedigree_tree").load
    assert [tree.code for tree in PedigreeTree.objects.all()] == ["D"]
    assert [row for row, _words in found.aside] == [2, 3, 4, 6, 7]


def test_a_second_rating_of_a_day_waits_for_the_first(lead):
    factories.pedigree_tree(code="T")
    factories.rating_scale(name="Canker", version="1")
    head = "Tree,Scale,Scale version,Rated on,Method,Score (on the scale),Rated by,Number within the day (blank is 1)\n"
    text = "T,Canker,1,2019-05-01,large_stem,99,A,1\nT,Canker,1,2019-05-01,large_stem,3,A,2\nT,Canker,1,2020-05-01,large_stem,3,A,\n"
    found = load(lead, head + text, "rating").load
    # stored alone, the second of the day would become the first, and the rest would then contradict it
    assert Rating.objects.get().rated_on == factories.day(2020, 5, 1) and [row for row, _words in found.aside] == [2, 3]


def test_trees_whose_supply_is_short_go_out_together(lead):
    factories.planting(code="P", supply="own_stock")
    factories.stock_lot(actor=lead, plants=1, code="L")
    text = "Planting,Tag,Lot,Block,Row,Position\nP,9001,L,1,1,1\nP,9002,L,1,1,2\nP,9003,no such lot,1,1,3\n"
    with pytest.raises(SheetRefused) as refused:  # which of the two the one plant was, nobody can tell
        load(lead, text, "tree")
    assert {problem.row for problem in refused.value.plan.problems} >= {2}
    assert not Tree.objects.exists()


def test_a_box_is_never_short_of_a_wrong_row(lead):
    with pytest.raises(SheetError, match="The rows of one box are stored together"):
        load(lead, "Shipment,Receiver,Lot,Form,Quantity\nS,nobody,L,bareroot,5\n", "shipment")


def test_a_census_is_loaded_without_its_wrong_rows(lead):
    planting = factories.planting(code="P")
    trees = factories.trees(planting, factories.stock_lot(actor=lead, plants=9), 3, actor=lead)
    one = factories.census_round(planting)
    text = "Planting,Season,Tag,Status,Observed on\n" + "".join(
        f"P,{one.label},{tag},{status},{one.opens_on.isoformat()}\n"
        for tag, status in ((trees[0].tag, "A"), (trees[1].tag, "Q"), ("none", "A"))
    )
    found = load(lead, text, "census").load
    assert Observation.objects.get().tree == trees[0] and [row for row, _words in found.aside] == [3, 4]
    assert found.stored == {"observation": [[Observation.objects.get().pk] * 2]}


def test_the_mapping_of_a_load_reads_its_rest(lead, tmp_path):
    text = "Land of the hollow;\n;\nNo.;Who\n1;Old Mill\n;New Mill\n"
    spec = {
        "columns": {"code": {"join": [{"given": "year"}, "No."], "with": "-"}, "name": "Who", "partner_kind": {"constant": "landowner"}}
    }
    spec |= {"header_row": 3, "file_name": "land_{year}.csv", "rows": [{"column": "Who", "blank": False}]}
    try:
        plan = load(lead, text, "partner", name="land_2019.csv", spec=spec)
    except SheetError as error:
        pytest.fail(str(error))
    assert Partner.objects.get().code == "2019-1"
    assert plan.load.spec["set"]["year"] == "2019"


def test_the_command_writes_the_rest_and_groups_what_is_wrong(lead, tmp_path):
    path, rest = tmp_path / "t.csv", tmp_path / "rest.csv"
    path.write_text(TAXA)
    err, out = io.StringIO(), io.StringIO()
    with pytest.raises(CommandError, match="ends in .csv or .xlsx"):
        call_command("load", "taxon", path, set_aside=tmp_path / "rest.txt")
    with pytest.raises(SystemExit):
        call_command("load", "taxon", path, stderr=err)
    assert err.getvalue().splitlines()[0].startswith("rows 3, 5, column 'Role here': 'nativ' ")
    call_command("load", "taxon", path, set_aside=rest, stdout=out, stderr=err)
    assert f"3 rows to correct: {rest}" in out.getvalue()
    rest.write_bytes(rest.read_bytes().replace(b",nativ,", b",native,").replace(b"\r\n,native", b"\r\nJuglans e,native"))
    call_command("load", "taxon", rest, stdout=out, stderr=err)
    assert Taxon.objects.count() == 5 and not loads_with_rows_out(lead).exists()
    assert not Lot.objects.exists()


def test_a_rest_takes_what_the_name_of_the_first_file_gave(lead, tmp_path):
    path, rest, mapping = tmp_path / "land_2019.csv", tmp_path / "rest.csv", tmp_path / "land.json"
    spec = {
        "file_name": "land_{year}.csv",
        "columns": {"code": {"join": [{"given": "year"}, "No."], "with": "-"}, "name": "Who", "partner_kind": {"constant": "landowner"}},
    }
    mapping.write_text(json.dumps(spec))
    path.write_text("No.,Who\n1,Old Mill\n2,\n")
    call_command("load", "partner", path, columns=mapping, set_aside=rest)
    rest.write_bytes(rest.read_bytes().replace(b"2,,", b"2,New Mill,"))
    call_command("load", "partner", rest, columns=mapping)
    assert set(Partner.objects.values_list("code", "name")) == {("2019-1", "Old Mill"), ("2019-2", "New Mill")}
    assert not loads_with_rows_out(lead).exists()
    other = tmp_path / "other.csv"
    other.write_text("No.,Who\n3,Third Mill\n")  # the rest of no load
    with pytest.raises(CommandError, match="is not written as land_{year}.csv"):
        call_command("load", "partner", other, columns=mapping)
