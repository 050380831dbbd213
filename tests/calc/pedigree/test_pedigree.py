"""Reading a pedigree into order. Common practice, no source, unless named."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.pedigree.ancestry import ancestors, mothers_and_fathers, only_ancestors, parents_not_older
from registry.calc.pedigree.pedigree import NO_PARENT, PedigreeError, read_pedigree


def parents(pedigree):
    names = [*pedigree.names, ""]  # position -1 reads the empty name
    return {
        name: (names[mother], names[father])
        for name, mother, father in zip(pedigree.names, pedigree.mothers, pedigree.fathers, strict=True)
    }


@st.composite
def pedigrees(draw):
    """Rows of a pedigree without loops, in any order, some parents without a row."""
    size = draw(st.integers(1, 25))
    earlier = [["", *(f"t{before}" for before in range(place))] for place in range(size)]
    rows = [(f"t{place}", draw(st.sampled_from(earlier[place])), draw(st.sampled_from(earlier[place]))) for place in range(size)]
    rows = [row for row in rows if row[1] or row[2] or draw(st.booleans())]
    return draw(st.permutations(rows))


@given(pedigrees())
def test_every_parent_comes_before_its_children(rows):
    if not rows:
        return
    pedigree = read_pedigree(rows)
    for place, both in enumerate(zip(pedigree.mothers, pedigree.fathers, strict=True)):
        assert max(both) < place
        assert pedigree.depths[place] == (1 + max(pedigree.depths[parent] if parent >= 0 else -1 for parent in both))
    found = parents(pedigree)
    assert {name: found[name] for name, *_ in rows} == {name: (mother, father) for name, mother, father in rows}
    assert set(found) == {name for row in rows for name in row if name}


@pytest.mark.parametrize(
    "spelling",
    [
        None,
        "",
        "  ",
        0,
        0.0,
        float("nan"),
        "0",
        "NA",
        "na",
        "N/A",
        "nan",
        "NaN",
        "UNK",
        "unk",
        "Unknown",
        "unknown",
        "UNKNOWN",
        ".",
        "-",
        "–",
        "?",
        "None",
    ],
    ids=repr,
)
def test_an_unknown_parent_may_be_spelt_in_every_usual_way(spelling):
    assert parents(read_pedigree([("B", spelling, "A"), ("C", "A", spelling)])) == {"A": ("", ""), "B": ("", "A"), "C": ("A", "")}


def test_names_may_have_blanks_inside_or_be_numbers():
    pedigree = read_pedigree([("Queen  Victoria", "", ""), ("Queen Victoria ", "Queen  Victoria", 17.0), (17, None, None)])
    assert parents(pedigree) == {"Queen  Victoria": ("", ""), "Queen Victoria": ("Queen  Victoria", "17"), "17": ("", "")}


def test_capitals_tell_two_trees_apart_but_not_two_unknowns():
    # textbook pedigrees name trees a and A: Quaas 1988
    assert parents(read_pedigree([("A", "a", "UNK"), ("a", "unk", "")])) == {"a": ("", ""), "A": ("a", "")}


def test_a_parent_without_a_row_is_a_founder_without_a_number():
    pedigree = read_pedigree([("C", "A", "B"), ("A", "", "")], first_row=2)
    assert dict(zip(pedigree.names, pedigree.rows, strict=True)) == {"A": 3, "B": 0, "C": 2}
    assert [pedigree.is_founder(pedigree.position(name)) for name in "ABC"] == [True, True, False]


def test_empty_rows_are_passed_over_and_the_numbers_go_on():
    assert list(read_pedigree([("A", "", ""), ("", None, " "), ("B", "A", "")], first_row=2).rows) == [2, 4]


def test_the_same_row_twice_counts_once():
    assert len(read_pedigree([("C", "A", "B"), ("C ", "A", "B"), ("A", "0", "."), ("A", "", "unk")])) == 3


def refusal(rows, first_row=1):
    with pytest.raises(PedigreeError) as error:
        read_pedigree(rows, first_row)
    return error.value.problems


def test_two_different_rows_of_one_tree_are_refused_naming_both():
    assert refusal([("C", "A", "B"), ("D", "", ""), ("C", "B", "A")], 2) == (
        "Rows 2 and 4: “C” has two rows with different parents. Keep one of them.",
    )


def test_a_tree_cannot_be_its_own_parent():
    (problem,) = refusal([("A", "", ""), ("B", "A", "B")])
    assert problem.startswith("Row 2: “B” is its own father.")


def test_a_row_without_a_name_is_refused():
    assert [problem.split(":")[0] for problem in refusal([("", "A", "B"), ("A", "", ""), ("NA", "A", "")], 2)] == ["Row 2", "Row 4"]


def test_every_row_of_a_pedigree_loop_is_named():
    rows = [("E", "A", ""), ("A", "B", "X"), ("B", "", "C"), ("D", "A", "B"), ("C", "A", ""), ("X", "", "")]
    (problem,) = refusal(rows, 2)
    assert problem.startswith("Rows 3, 4, 6: ")
    assert all(link in problem for link in ("“A” is a parent of “C”", "“C” is a parent of “B”", "“B” is a parent of “A”"))


def test_every_loop_is_named_not_only_the_first():
    problems = refusal([("A", "B", ""), ("B", "A", ""), ("C", "", "D"), ("D", "C", "")])
    assert [problem.split(":")[0] for problem in problems] == ["Rows 1, 2", "Rows 3, 4"]


def test_rows_without_a_single_tree_are_refused():
    assert refusal([("", "", "")])[0].startswith("There are no rows.")


def test_a_chain_of_many_generations_does_not_exhaust_the_stack():
    rows = [(f"t{place}", f"t{place - 1}" if place else "", "") for place in range(20_000)]
    random.Random(1).shuffle(rows)
    assert max(read_pedigree(rows).depths) == 19_999


def test_a_pedigree_can_be_cut_down_to_the_ancestors_of_some_trees():
    pedigree = read_pedigree([("C", "A", "B"), ("D", "C", "E"), ("F", "B", "G")])
    cut = only_ancestors(pedigree, ["D"])
    assert parents(cut) == {name: parents(pedigree)[name] for name in "ABCDE"}
    assert list(cut.rows) == [pedigree.rows[pedigree.position(name)] for name in cut.names]
    assert ancestors(pedigree, []) == []
    with pytest.raises(ValueError, match="“H” is not in the pedigree"):
        only_ancestors(pedigree, ["H"])


def test_trees_used_as_mother_and_as_father_are_found():
    pedigree = read_pedigree([("C", "A", "B"), ("D", "B", "A"), ("S", "C", "C"), ("E", "D", "Q")])
    assert sorted(mothers_and_fathers(pedigree)) == ["A", "B", "C"]
    assert NO_PARENT in pedigree.mothers  # which is not a tree and is not listed


def test_a_parent_no_older_than_its_child_is_found():
    pedigree = read_pedigree([("C", "A", "B"), ("D", "C", "C"), ("E", "A", "C")])
    years = {"A": 1990, "B": 2000, "C": 2000, "D": 1999}
    assert parents_not_older(pedigree, years) == [("B", "C"), ("C", "D")]
