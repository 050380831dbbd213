"""What roguing leaves: lines, sources, status number."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.orchard.diversity_floor import Floors, Mother, coancestry_of_genes, floor_breaches
from registry.calc.pedigree.inbreeding import coancestry_matrix
from registry.calc.pedigree.pedigree import read_pedigree
from registry.calc.pedigree.relationship import status_number

FLOORS = Floors(2, 3, 2.0)


def status_number_of(pedigree, names):
    return 1 / (2 * coancestry_of_genes(pedigree, dict.fromkeys(names, 1 / len(names))))


def mother(name, line="", source=""):
    return Mother(name, frozenset([line] if line else []), frozenset([source] if source else []))


def sibs(count, same_father):
    return read_pedigree([(f"t{number}", "m", "f" if same_father else f"f{number}") for number in range(count)])


@pytest.mark.parametrize(
    ("count", "same_father", "expected"),
    # Ns = 2n/(n+1) of a full-sib family, 4n/(n+3) of a half-sib family: from Θ of Lindgren, Gea & Jefferson 1997,
    # Forest Genetics 4:69-76, self-coancestry (1+F)/2 included; exact
    [(2, True, 4 / 3), (5, True, 10 / 6), (10, True, 20 / 11), (2, False, 8 / 5), (5, False, 20 / 8), (10, False, 40 / 13)],
)
def test_the_status_number_of_a_family_is_as_published(count, same_father, expected):
    pedigree = sibs(count, same_father)
    assert status_number_of(pedigree, [f"t{number}" for number in range(count)]) == pytest.approx(expected, rel=1e-12)


def test_the_status_number_of_the_textbook_pedigree():
    # Mrode, Linear Models for the Prediction of Animal Breeding Values, 3rd ed. 2014, Table 2.1: all six animals equally,
    # Θ = .258680556, Ns = 1.932886 (exact fractions)
    pedigree = read_pedigree([("3", "1", "2"), ("4", "1", ""), ("5", "4", "3"), ("6", "5", "2")])
    assert status_number_of(pedigree, list("123456")) == pytest.approx(1.932886, abs=5e-7)


def test_unrelated_trees_count_one_each():
    pedigree = read_pedigree([("a", "", ""), ("b", "", ""), ("c", "", "")])
    assert status_number_of(pedigree, ["a", "b", "c"]) == pytest.approx(3)


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=1, max_size=25), st.data())
def test_the_fast_status_number_equals_the_matrix_one(parents, data):
    names = [f"t{number}" for number in range(len(parents))]
    # a parent is an earlier tree, or unknown
    rows = [
        (name, *(names[side] if side < number else "" for side in pair))
        for number, (name, pair) in enumerate(zip(names, parents, strict=True))
    ]
    pedigree = read_pedigree(rows)
    group = data.draw(st.lists(st.sampled_from(names), min_size=1, unique=True))
    assert status_number_of(pedigree, group) == pytest.approx(status_number(coancestry_matrix(pedigree, group)), rel=1e-9)


def test_a_broken_floor_names_the_line_what_is_left_and_the_floor():
    trees = [mother("a", "L1", "S1"), mother("b", "L1", "S1"), mother("c", "L2", "S1"), mother("d", "L2", "S1"), mother("e", "L2", "S1")]
    words = [breach.words for breach in floor_breaches(trees, [], "a", FLOORS, 3.0)]
    assert words == ["1 standing mother of the recurrent line L1 would be left; the floor is 2."]
    assert floor_breaches(trees, [], "c", FLOORS, 2.0) == []  # L2 keeps 2, S1 keeps 4, the status number lies at its floor
    assert [breach.words for breach in floor_breaches(trees, [], "c", FLOORS, 1.94)] == [
        "The status number of the orchard would be 1.9; the floor is 2."
    ]


def test_trees_decided_to_go_count_as_gone():
    trees = [mother("a", "L2", "S1"), mother("b", "L2", "S1"), mother("c", "L2", "S1"), mother("d", "", "S1")]
    assert floor_breaches(trees, [], "a", FLOORS, 9) == []
    assert [(breach.kind, breach.left) for breach in floor_breaches(trees, ["b"], "a", FLOORS, 9)] == [("line", 1), ("source", 2)]


def test_an_unknown_line_or_number_breaks_no_floor():
    assert floor_breaches([mother("a")], [], "a", FLOORS, None) == []


def test_a_tree_that_is_not_an_orchard_mother_is_refused():
    with pytest.raises(ValueError, match="not among the standing mothers"):
        floor_breaches([mother("a")], [], "x", FLOORS, 5)


def test_unequal_contributions_are_as_published():
    # check of an orchard with full sibs c1, c2 (A x B), c3 = A x C, and two unrelated: group coancestry .1775, status number 2.816901,
    # from 1/(2 sum of p_i p_j theta_ij), Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76
    pedigree = read_pedigree([("c1", "A", "B"), ("c2", "A", "B"), ("c3", "A", "C"), ("c4", "", ""), ("c5", "", "")])
    genes = dict(zip(("c1", "c2", "c3", "c4", "c5"), (0.30, 0.25, 0.20, 0.15, 0.10), strict=True))
    assert coancestry_of_genes(pedigree, genes) == pytest.approx(0.1775, abs=1e-12)
    assert 1 / (2 * coancestry_of_genes(pedigree, genes)) == pytest.approx(2.816901, abs=5e-7)
