"""The engine every sheet goes through: map, preview, store all or nothing, twice the same."""

import datetime

import pytest
import tablib

from plantings.imports.census import CensusSheet
from plantings.imports.kinds import KINDS, SHEETS
from plantings.imports.loading import sheet_load
from plantings.imports.trees import TreeSheet
from plantings.models import Observation, Tree
from plantings.services.tree_lists.retags import tree_retag
from registry.imports.lots.lots import LotSheet
from registry.imports.pedigree.trees import PedigreeTreeSheet
from registry.imports.sheets.formats import export_bytes, problems_bytes, template_bytes
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.table import read_table
from registry.models import AuditEntry, LedgerEntry, Lot, PedigreeTree, Shipment, Taxon
from tests import factories

pytestmark = pytest.mark.django_db


def load(kind, text, actor=None, **options):
    content = text if isinstance(text, bytes) else text.encode()
    return sheet_load(actor=actor or factories.person(), kind=kind, content=content, filename=f"{kind}.csv", **options)


def refused(kind, text, **options):
    with pytest.raises(SheetRefused) as error:
        load(kind, text, **options)
    return [str(problem) for problem in error.value.plan.problems]


def test_every_kind_reads_its_own_template():
    for sheet in SHEETS:
        for wanted in ("csv", "xlsx"):
            table = read_table(template_bytes(sheet, wanted), f"t.{wanted}")
            assert len(table.headers) == len(sheet.sheet_fields())
            fields = sheet.sheet_fields()
            assert all(name in fields for name in sheet.key), sheet.kind
            required = [field for field in fields.values() if field.required]
            assert all(field.example != "" for field in required), sheet.kind


def test_a_pedigree_may_be_in_any_order():
    factories.taxon(name="Juglans cinerea")
    plan = load(
        "pedigree_tree",
        "Tree,Binomial,Mother,Father,Generation\nC,Juglans cinerea,A,B,F1\nA,Juglans cinerea,,,native\nB,Juglans cinerea,,,donor\n",
    )
    assert plan.counts["new"] == 3
    tree = PedigreeTree.objects.get(code="C")
    assert (tree.mother.code, tree.father.code, tree.generation_code) == ("A", "B", "F1")


def test_a_loop_in_a_pedigree_is_refused_and_names_its_trees():
    factories.taxon(name="Juglans cinerea")
    (problem,) = refused("pedigree_tree", "Tree,Binomial,Mother,Generation\nA,Juglans cinerea,B,F1\nB,Juglans cinerea,A,F1\n")
    assert problem.startswith("row 2, column 'Tree'") and "its own ancestor" in problem and "A from B, B from A" in problem
    assert not PedigreeTree.objects.exists()


def test_all_or_nothing_and_every_wrong_row_is_named():
    problems = refused("taxon", "Binomial,Role here\nJuglans a,native\nJuglans b,nativ\n,donor\n")
    assert not Taxon.objects.exists()
    assert problems == [
        "row 3, column 'Role here': 'nativ' is not in the list; write one of native, donor, hybrid, other",
        "row 4, column 'Binomial': is blank; without it rows cannot be told apart",
    ]


def test_the_same_file_twice_changes_nothing():
    text = "Binomial,Common name,Role here\nJuglans a,one,native\nJuglans b,,donor\n"
    load("taxon", text)
    entries = AuditEntry.objects.exclude(verb="person.added").count()
    assert load("taxon", text).counts == {"new": 0, "changed": 0, "unchanged": 2, "repeated": 0, "wrong": 0}
    assert AuditEntry.objects.exclude(verb="person.added").count() == entries


def test_a_changed_row_is_previewed_and_stores_its_reason():
    load("taxon", "Binomial,Role here\nJuglans a,native\n")
    text = "Binomial,Role here\nJuglans a,donor\n"
    plan = load("taxon", text, dry_run=True)
    assert plan.items[0].changes == {"role": ("native", "donor")}
    assert Taxon.objects.get().role == "native"
    load("taxon", text, reason="entered wrong")
    assert Taxon.objects.get().role == "donor"
    entry = AuditEntry.objects.filter(verb="taxon.changed").get()
    assert (entry.reason, entry.changes) == ("entered wrong", {"role": ["native", "donor"]})


def test_a_blank_cell_changes_nothing():
    load("taxon", "Binomial,Common name,Role here\nJuglans a,one,native\n")
    plan = load("taxon", "Binomial,Common name,Role here\nJuglans a,,native\n")
    assert plan.counts["unchanged"] == 1
    assert Taxon.objects.get().common_name == "one"


def test_equal_rows_count_once_and_contradictions_are_listed():
    plan = load("taxon", "Binomial,Role here\nJuglans a,native\nJuglans a,native\n")
    assert (plan.counts["new"], plan.repeated) == (1, 1)
    problems = refused("taxon", "Binomial,Role here\nJuglans c,native\nJuglans c,donor\n")
    assert problems == [
        "row 3, column 'Role here': 'donor' contradicts row 2, which says 'native' for the same binomial Juglans c; remove the wrong one"
    ]


def test_a_mapping_takes_headers_constants_and_rules():
    spec = {
        "columns": {
            "name": "Art", "role": {"from": "Herkunft", "values": {"heimisch": "native", "": "other", "*": "donor"}},
            "common_name": {"constant": "walnut"},
        },
        "delimiter": "semicolon",
    }  # fmt: skip
    load("taxon", "Art;Herkunft\nJuglans a;heimisch\nJuglans b;\nJuglans c;Japan\n", spec=spec)
    assert list(Taxon.objects.values_list("name", "role", "common_name")) == [
        ("Juglans a", "native", "walnut"), ("Juglans b", "other", "walnut"), ("Juglans c", "donor", "walnut"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("spec", "says"),
    [
        ({"columns": {"name": "Nope"}}, "takes 'name' from the column 'Nope', but the file has: a, b"),
        ({"columns": {"nam": "a"}}, "names the field 'nam'"),
        ({"colums": {}}, "has 'colums', which is not part of a mapping"),
        ({"columns": {"name": {"from": "a", "constant": "b"}}}, "is not understood"),
        ({"columns": {"role": "a"}}, "No column gives Binomial"),
        ({}, "None of the columns"),
    ],
)
def test_a_mapping_that_does_not_fit_says_why(spec, says):
    with pytest.raises(SheetError, match=says):
        load("taxon", "a,b\n1,2\n", spec=spec)


def test_the_preview_shows_what_a_service_refuses():
    lot = factories.seed_lot(seeds=10)
    text = f'Lot,Entry number,Entry,"Quantity (seeds or plants, without sign)",Date\n{lot.code},1,discarded,4,2019-01-01\n{lot.code},2,sampled,7,2019-01-02\n'
    problems = refused("ledger", text, dry_run=True)
    assert len(problems) == 1
    assert problems[0].startswith("row 3, column 'Quantity (seeds or plants, without sign)': '7' Lot")
    assert "would leave -1" in problems[0]
    assert LedgerEntry.objects.count() == 1


def test_a_returned_sheet_says_what_to_correct():
    content = b"Binomial,Role here\nJuglans a,native\nJuglans b,nativ\n"
    table = read_table(content, "t.csv")
    plan = KINDS["taxon"]().plan(table, {}, table.first_row)
    back = read_table(problems_bytes(table, plan), "back.csv")
    assert back.headers == ["Binomial", "Role here", "What to correct"]
    assert back.rows[0] == ("Juglans a", "native", "")
    assert back.rows[1][2].startswith("Role here: is not in the list")


def test_the_librarys_own_entry_gives_its_own_result():
    """django-import-export's `import_data`, dry run and for real."""
    actor = factories.person()
    dataset = tablib.Dataset(["Juglans a", "native"], headers=["Binomial", "Role here"])
    sheet = KINDS["taxon"]()
    assert sheet.import_data(dataset, dry_run=True, user=actor).totals["new"] == 1
    assert not Taxon.objects.exists()
    assert not sheet.import_data(dataset, user=actor).has_errors()
    assert Taxon.objects.count() == 1
    bad = sheet.import_data(tablib.Dataset(["Juglans b", "nativ"], headers=dataset.headers), user=actor)
    assert bad.has_errors() and "nativ" in str(bad.row_errors()[0][1][0].error)


def planted():
    actor = factories.person()
    planting = factories.planting()
    factories.trees(planting, count=3, actor=actor)
    factories.census_round(planting, label="2019 autumn")
    return actor, planting


CENSUS = "Planting,Season,Tag,Status,Observed on,Height (cm)\n"


def census_text(planting, statuses, heights=(10, 20, "")):
    rows = zip(("T01001", "T01002", "T01003"), statuses, heights, strict=True)
    return CENSUS + "".join(f"{planting.code},2019 autumn,{tag},{status},2019-09-10,{height}\n" for tag, status, height in rows)


def test_a_census_row_that_differs_is_a_correction():
    actor, planting = planted()
    load("census", census_text(planting, "AAD"), actor)
    plan = load("census", census_text(planting, "AND".replace("N", "D"), (10, "", "")), actor, reason="read again from the paper")
    assert (plan.counts["changed"], plan.counts["unchanged"]) == (1, 2)
    assert Observation.objects.count() == 4
    newest = Observation.objects.get(supersedes__isnull=False)
    assert (newest.status, newest.supersedes.status, newest.reason) == ("D", "A", "read again from the paper")
    assert newest.height_cm == 20  # a blank cell makes no statement: the measured height stays with the record
    assert load("census", census_text(planting, "ADD", (10, "", "")), actor).counts["unchanged"] == 3


def test_the_preview_names_unknown_tags_and_rounds():
    actor, planting = planted()
    text = (
        CENSUS
        + f"{planting.code},2019 autumn,X9,A,2019-09-10,\n{planting.code},1999,T01001,A,2019-09-10,\n{planting.code},2019 autumn,T01001,A,2018-09-10,\n{planting.code},2019 autumn,T01002,NF,2019-09-10,12\n"
    )
    problems = refused("census", text, actor=actor, dry_run=True)
    assert [problem.split(", ")[0] for problem in problems] == ["row 2", "row 3", "row 4", "row 5"]
    assert "is not in the register of this planting" in problems[0]
    assert "is not a round of planting" in problems[1]
    assert not Observation.objects.exists()


def test_a_sheet_with_places_is_compared_with_the_register():
    actor, planting = planted()
    head = CENSUS.strip() + ",Block,Row,Position\n"
    rows = f"{planting.code},2019 autumn,T01001,A,2019-09-10,,1,1,1\n{planting.code},2019 autumn,T01002,A,2019-09-10,,1,1,3\n"
    plan = load("census", head + rows, actor)
    assert [str(problem) for problem in plan.warnings] == [
        "row 3, column 'Tag': Tag T01002 is at block 1, row 1, position 2 in the register, "
        "and was read at block 1, row 1, position 3, the place of T01003."
    ]
    assert plan.counts["new"] == 2
    twice = head + f"{planting.code},2019 autumn,T01001,A,2019-09-10,,1,1,1\n{planting.code},2019 autumn,T01001,A,2019-09-10,,1,1,2\n"
    [problem] = refused("census", twice, actor=actor, dry_run=True)  # one tag at two places: one of the rows is about another tree
    assert problem.startswith("row 3, column 'Position': '2' contradicts row 2, which says '1' for the same")
    tree = planting.trees.get(tag="T01003")
    tree_retag(actor=actor, tree=tree, tag="N3", on=datetime.date(2020, 3, 1), reason="tag lost")
    problems = refused("census", f"{CENSUS}{planting.code},2019 autumn,T01003,A,2019-09-10,\n", actor=actor, dry_run=True)
    assert problems == ["row 2, column 'Tag': Tag T01003 is an earlier tag of tree N3. Use its present tag."]


def test_percentages_without_counts_are_refused():
    _actor, planting = planted()
    spec = {
        "columns": {
            "planting": {"constant": planting.code},
            "round": {"constant": "2019 autumn"},
            "plot": "gen",
            "alive": "survival",
            "observed_on": {"constant": "2019-09-10"},
        }
    }
    with pytest.raises(SheetError, match="holds a percentage or a rate, and no tree can be made from it"):
        load("plot_count", "env\tgen\theight\tsurvival\nA\tG01\t334\t49\n", spec=spec)
    with pytest.raises(SheetError, match="how many were planted"):
        load("counted_plot", "env\tgen\theight\tsurvival\nA\tG01\t334\t49\n")


def test_two_trees_at_one_position_are_refused():
    planting, lot = factories.planting(), factories.stock_lot()
    text = f"Planting,Tag,Lot,Block,Row,Position\n{planting.code},1,{lot.code},1,1,1\n{planting.code},2,{lot.code},1,1,1\n"
    problems = refused("tree", text)
    assert "is at block 1, row 1, position 1, where row 2 has tree 1" in problems[0]
    assert not Tree.objects.exists()


def test_a_shipment_sheet_dispatches_and_draws_down():
    actor = factories.person()
    lot, partner = factories.stock_lot(actor=actor, plants=50), factories.partner()
    text = f"Shipment,Receiver (partner),Dispatched on,Lot,Form,Quantity (seeds or plants)\nS-1,{partner.code},2019-04-01,{lot.code},bareroot,30\n"
    assert load("shipment", text, actor).counts["new"] == 1
    lot.refresh_from_db()
    assert lot.balance == 20
    assert Shipment.objects.get().state == "dispatched"
    assert load("shipment", text, actor).counts["unchanged"] == 1


def test_an_export_is_read_back_and_changes_nothing():
    actor, planting = planted()
    factories.observe(planting.rounds.get(), dict.fromkeys(planting.trees.all(), "A"), actor=actor, height_cm=12.5, note="=1+1")
    factories.seed_lot(actor=actor, seeds=5, backcrosses=3, intercrosses=2, generation_other="", use_by=datetime.date(2020, 6, 30))
    for sheet, queryset in (
        (CensusSheet, Observation.objects.all()),
        (TreeSheet, Tree.objects.all()),
        (LotSheet, Lot.objects.all()),
        (PedigreeTreeSheet, PedigreeTree.objects.all()),
    ):
        for wanted in ("csv", "xlsx"):
            content = export_bytes(sheet, queryset, wanted)
            plan = sheet_load(actor=actor, kind=sheet.kind, content=content, filename=f"x.{wanted}")
            assert plan.counts["unchanged"] == queryset.count() > 0, (
                sheet.kind,
                wanted,
                plan.counts,
                [item.changes for item in plan.items],
            )
