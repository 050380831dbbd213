"""The sheet of trees: generations derived or refused, words, parents without a row."""

import csv

import pytest

from registry.imports.lots.lots import LotSheet
from registry.imports.pedigree.trees import PedigreeTreeSheet
from registry.imports.sheets.reading_options import SheetError
from registry.models import Lot, PedigreeTree, PollenPool, PollenPoolMember
from registry.selectors.pedigree.numbers import tree_numbers
from tests import factories
from tests.places import SHARED
from tests.registry.sheets.sheet_help import load, refused, written_and_read

pytestmark = pytest.mark.django_db

HEAD = "Tree,Binomial,Mother,Father,Generation\n"
FOUNDERS = "N,Juglans cinerea,,,native\nM,Juglans cinerea,,,native\nD,Juglans ailantifolia,,,donor\n"
NATIVE = {"taxon": "Juglans cinerea", "generation": "native"}


@pytest.fixture(autouse=True)
def taxa():
    factories.taxon(name="Juglans cinerea", role="native")
    factories.taxon(name="Juglans ailantifolia", role="donor")


def generations():
    return dict(sorted((tree.code, tree.generation_code) for tree in PedigreeTree.objects.all()))


def test_a_blank_generation_follows_from_both_parents():
    rows = "B1F2,Juglans cinerea,B1,B1,\nB1,Juglans cinerea,M,F1,\nF1,Juglans cinerea,N,D,\nB2,Juglans cinerea,N,B1,\nX,Juglans cinerea,B1,B2,\n"
    plan = load(PedigreeTreeSheet, HEAD + rows + FOUNDERS)
    assert plan.warnings == []
    # backcross arithmetic: Allard 1960, Principles of Plant Breeding (from memory)
    expected = {"B1": "B1", "B1F2": "B1F2", "B2": "B2", "D": "donor", "F1": "F1", "M": "native", "N": "native", "X": "B1 × B2"}
    assert generations() == expected
    assert written_and_read(PedigreeTreeSheet) == 8


def test_a_blank_generation_without_known_parents_is_refused():
    assert refused(PedigreeTreeSheet, HEAD + FOUNDERS + "X,Juglans cinerea,N,,\n") == [
        "row 5, column 'Generation': is blank, and does not follow from the parents; write the generation, or the codes of both parents"
    ]


def test_a_code_that_the_parents_contradict_is_refused():
    assert refused(PedigreeTreeSheet, HEAD + FOUNDERS + "F1,Juglans cinerea,N,D,B2\n") == [
        "row 5, column 'Generation': 'B2' is not what its parents give, F1; write that, leave it blank, or correct a parent"
    ]
    crossed = "F1,Juglans cinerea,N,D,\nB1,Juglans cinerea,N,F1,\nX,Juglans cinerea,F1,B1,B2 x B3\n"
    assert "'B2 × B3' is not what its parents give, F1 × B1" in refused(PedigreeTreeSheet, HEAD + FOUNDERS + crossed)[0]


def test_a_changed_parent_must_fit_the_generation():
    load(PedigreeTreeSheet, HEAD + FOUNDERS + "F1,Juglans cinerea,N,D,F1\nB1,Juglans cinerea,N,F1,B1\n")
    assert "'B1' is not what its parents give, native" in refused(PedigreeTreeSheet, HEAD + "B1,Juglans cinerea,N,M,B1\n", "test")[0]
    load(PedigreeTreeSheet, HEAD + "B1,Juglans cinerea,N,M,native\n", "genotyped")
    assert generations()["B1"] == "native"


def test_another_count_of_intercrosses_is_a_warning():
    plan = load(PedigreeTreeSheet, HEAD + FOUNDERS + "F1,Juglans cinerea,N,D,\nX,Juglans cinerea,F1,F1,F4\n")
    assert [str(line).split(";")[0] for line in plan.warnings] == ["row 6, column 'Generation': 'F4' is not what its parents give, F2"]


def test_any_word_of_the_form_is_loaded_and_named_as_one():
    plan = load(PedigreeTreeSheet, HEAD + "X,Juglans cinerea,,,mixed cross\nY,Juglans cinerea,,,mixed cross\nZ,Juglans cinerea,,,b1xB3\n")
    assert generations() == {"X": "mixed cross", "Y": "mixed cross", "Z": "B1 × B3"}
    assert [str(line).split(",")[0:2] for line in plan.warnings] == [["row 2", " column 'Generation': 'mixed cross' is stored as a word"]]
    assert "is not a generation code" in refused(PedigreeTreeSheet, HEAD + "W,Juglans cinerea,,,B3F\n")[0]
    assert written_and_read(PedigreeTreeSheet) == 3


def test_a_pool_of_one_generation_gives_the_generation():
    mother, other, third = (factories.pedigree_tree(code=code, backcrosses=3, intercrosses=1) for code in ("A", "B", "C"))
    pool = PollenPool.objects.create(code="P", orchard="Home", flowering_year=2019)
    PollenPoolMember.objects.bulk_create(PollenPoolMember(pool=pool, tree=tree) for tree in (mother, other, third))
    head = "Lot,Kind (seed/stock),Binomial,Origin,Ripening or sowing year,Mother,Pollen pool,Generation\n"
    load(LotSheet, head + "S1,seed,Juglans cinerea,harvest,2019,A,P,\n")
    load(PedigreeTreeSheet, "Tree,Binomial,Mother,Pollen pool,Generation\nT,Juglans cinerea,A,P,\n")
    assert (Lot.objects.get().generation_code, generations()["T"]) == ("B3F3", "B3F3")
    assert "'B2' is not what its parents give, B3F3" in refused(LotSheet, head + "S2,seed,Juglans cinerea,harvest,2019,A,P,B2\n")[0]
    PollenPoolMember.objects.create(pool=pool, tree=factories.pedigree_tree(code="CHECK"))
    load(LotSheet, head + "S3,seed,Juglans cinerea,harvest,2019,A,P,\n")
    assert Lot.objects.get(code="S3").generation_code == ""


def test_unlisted_parents_are_declared_founders_by_one_line():
    text = "Tree,Binomial,Mother,Father\nC,Juglans cinerea,A,0\nE,Juglans cinerea,C,A\nG,Juglans cinerea,A,NA\n"
    assert "'A' is not the code of a pedigree tree on file" in refused(PedigreeTreeSheet, text)[0]
    spec = {"columns": {"code": "Tree", "taxon": "Binomial", "mother": "Mother", "father": "Father", "generation": {"constant": "native"}}}
    plan = load(PedigreeTreeSheet, text, **spec, unlisted_parents=NATIVE)
    assert plan.notes == ["1 parent without a row: founders, as the mapping declares."]
    assert generations() == {"A": "native", "C": "native", "E": "native", "G": "native"}
    # a second time nothing is new: the founders are on file
    assert load(PedigreeTreeSheet, text, **spec, unlisted_parents=NATIVE).counts["unchanged"] == 3


@pytest.mark.parametrize(
    ("declared", "words"),
    [
        ("native", "Write what all of them are"),
        ({}, "Write what all of them are"),
        ({"code": "X"}, "gives 'code', which founders cannot share"),
        ({"colour": "X"}, "gives 'colour', which founders cannot share"),
        ({"taxon": "Juglans regia"}, "taxon 'Juglans regia' is not the code of a taxon on file"),
        ({"taxon": ["x"]}, "is not"),
        ({"generation": "B3F"}, "is not a generation code"),
    ],
)
def test_a_declaration_that_cannot_be_meant_is_refused(declared, words):
    with pytest.raises(SheetError, match=words):
        load(PedigreeTreeSheet, HEAD + FOUNDERS, unlisted_parents=declared)


def test_other_sheets_have_no_unlisted_parents():
    with pytest.raises(SheetError, match="this sheet has no parents"):
        load(LotSheet, "Lot,Binomial\nS1,Juglans cinerea\n", unlisted_parents=NATIVE)


def test_a_parent_spelled_nearly_like_a_listed_tree_is_named():
    rows = HEAD + "R1,Juglans cinerea,,,native\nX,Juglans cinerea,r-01,,native\n"
    (problem,) = refused(PedigreeTreeSheet, rows)
    assert (
        problem
        == "row 3, column 'Mother': 'r-01' is not the code of a tree, but “R1” is; if both are one tree, write its code the same way"
    )
    plan = load(PedigreeTreeSheet, rows, unlisted_parents=NATIVE)
    assert [str(line).split(";")[0] for line in plan.warnings] == ["row 3: 'r-01' has no row and becomes a founder, but “R1” is listed"]


def test_two_unlisted_parents_spelled_nearly_alike_are_named():
    rows = HEAD + "X,Juglans cinerea,Q1,,native\nY,Juglans cinerea,q-01,,native\n"
    plan = load(PedigreeTreeSheet, rows, unlisted_parents=NATIVE)
    assert [str(line).split(";")[0] for line in plan.warnings] == [
        "row 2: 'Q1' has no row and becomes a founder, but “q-01” becomes another",
        "row 3: 'q-01' has no row and becomes a founder, but “Q1” becomes another",
    ]


TEXTBOOKS = SHARED / "pedigrees_textbook"


@pytest.mark.skipif(not TEXTBOOKS.exists(), reason="the textbook pedigrees are not here")
@pytest.mark.parametrize("name", ["Mrode2", "FG90", "Wray90"])
def test_a_textbook_pedigree_is_loaded_with_a_mapping(name):
    """Inbreeding as computed beside the files by the tabular method, that of Mrode as published (table 2.1)."""
    columns = {"code": "id", "mother": "dam", "father": "sire", "taxon": {"constant": "Juglans cinerea"}}
    columns["generation"] = {"constant": "native"}
    load(PedigreeTreeSheet, (TEXTBOOKS / "csv" / f"{name}.csv").read_bytes(), columns=columns, unlisted_parents=NATIVE)
    truth = csv.DictReader((TEXTBOOKS / f"{name}_F.csv").read_text(encoding="utf-8").splitlines())
    expected = {row["id"]: float(row["F"]) for row in truth}
    found = {tree.code: tree_numbers(tree).inbreeding for tree in PedigreeTree.objects.all()}
    assert found == pytest.approx(expected, abs=1e-9)


def test_a_selfed_tree_has_no_other_father():
    head = "Tree,Binomial,Mother,Father,Cross type,Generation\n"
    load(PedigreeTreeSheet, HEAD + FOUNDERS)
    (problem,) = refused(PedigreeTreeSheet, head + "F1,Juglans cinerea,N,D,self,\n")
    assert "column 'Father'" in problem and "The mother of a selfed tree is also its father" in problem
    load(PedigreeTreeSheet, head + "S1,Juglans cinerea,N,N,self,\nS2,Juglans cinerea,N,,self,native\n")
    tree = PedigreeTree.objects.get(code="S2")
    PedigreeTree.objects.filter(pk=tree.pk).update(father=PedigreeTree.objects.get(code="D"))  # as an earlier version took it
    tree.refresh_from_db()
    tree.note = "by the label"
    tree.full_clean()
