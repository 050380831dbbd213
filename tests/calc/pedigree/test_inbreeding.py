"""Inbreeding, coancestry and status number against published examples and the tabular method."""

import csv
import json
import random

import numpy as np
import pytest
from hypothesis import given

from registry.calc.pedigree.ancestry import only_ancestors
from registry.calc.pedigree.inbreeding import coancestry_matrix, coancestry_with, inbreeding
from registry.calc.pedigree.pedigree import read_pedigree
from registry.calc.pedigree.relationship import effective_number, gamete_shares, group_coancestry, sibling_coefficient, status_number
from tests.calc.pedigree.pedigree_examples import HENDERSON, MRODE, tabular
from tests.calc.pedigree.test_pedigree import pedigrees
from tests.places import SHARED


def f_by_name(rows):
    pedigree = read_pedigree(rows)
    return dict(zip(pedigree.names, inbreeding(pedigree).tolist(), strict=True))


def lower_triangle(rows, names):
    doubled = 2 * coancestry_matrix(read_pedigree(rows), names)
    return [doubled[row, : row + 1].tolist() for row in range(len(names))]


def test_mrode_table_2_1():
    # Mrode 2014, 3rd ed., section 2.3: F of animals 5 and 6, and the relationship matrix
    assert f_by_name(MRODE) == {"1": 0, "2": 0, "3": 0, "4": 0, "5": 0.125, "6": 0.125}
    assert lower_triangle(MRODE, list("123456")) == [
        [1], [0, 1], [0.5, 0.5, 1], [0.5, 0, 0.25, 1], [0.5, 0.25, 0.625, 0.625, 1.125], [0.25, 0.625, 0.5625, 0.3125, 0.6875, 1.125],
    ]  # fmt: skip


def test_henderson_1976():
    # Henderson 1976, Biometrics 32:69-83, seven animals; rows 1 and 2 are missing from the file on purpose
    assert f_by_name(HENDERSON) == {"1": 0, "2": 0, "3": 0, "4": 0, "5": 0.125, "6": 0.25, "7": 0.28125}
    assert lower_triangle(HENDERSON, list("1234567")) == [
        [1], [0, 1], [0.5, 0, 1], [0.5, 0.5, 0.25, 1], [0.5, 0.25, 0.625, 0.625, 1.125], [0.75, 0.25, 0.375, 0.75, 0.5625, 1.25],
        [0.625, 0.25, 0.5, 0.6875, 0.84375, 0.90625, 1.28125],
    ]  # fmt: skip


# Falconer & Mackay 1996, Introduction to Quantitative Genetics, ch. 5 (from memory): F of the offspring x
MATINGS = {
    "selfing": ([("x", "a", "a")], 1 / 2),
    "full sibs": ([("c", "a", "b"), ("d", "a", "b"), ("x", "c", "d")], 1 / 4),
    "parent and offspring": ([("c", "a", "b"), ("x", "a", "c")], 1 / 4),
    "half sibs": ([("c", "a", "p"), ("d", "a", "q"), ("x", "c", "d")], 1 / 8),
    "uncle and niece": ([("c", "a", "b"), ("d", "a", "b"), ("e", "d", "p"), ("x", "e", "c")], 1 / 8),
    "double first cousins": ([("c", "a", "b"), ("d", "a", "b"), ("r", "p", "q"), ("s", "p", "q"), ("e", "c", "r"), ("f", "d", "s"), ("x", "e", "f")], 1 / 8),
    "first cousins": ([("c", "a", "b"), ("d", "a", "b"), ("e", "c", "p"), ("f", "d", "q"), ("x", "e", "f")], 1 / 16),
    "half first cousins": ([("c", "a", "p"), ("d", "a", "q"), ("e", "c", "r"), ("f", "d", "s"), ("x", "e", "f")], 1 / 32),
    "second cousins": ([("c", "a", "b"), ("d", "a", "b"), ("e", "c", "p"), ("f", "d", "q"), ("g", "e", "r"), ("h", "f", "s"), ("x", "g", "h")], 1 / 64),
    "quadruple half first cousins": ([("k", "a", "b"), ("l", "c", "d"), ("m", "a", "c"), ("n", "b", "d"), ("e", "k", "l"), ("f", "m", "n"), ("x", "e", "f")], 1 / 8),
}  # fmt: skip


@pytest.mark.parametrize("mating", MATINGS)
def test_offspring_of_standard_matings(mating):
    rows, expected = MATINGS[mating]
    assert f_by_name(rows)["x"] == expected


def test_inbreeding_by_generations_of_selfing():
    # Falconer & Mackay 1996, table 5.1 (from memory), selfing
    found = f_by_name([(f"S{t}", f"S{t - 1}", f"S{t - 1}") for t in range(1, 11)])
    expected = [0, 0.5, 0.75, 0.875, 0.9375, 0.96875, 0.984375, 0.992188, 0.996094, 0.998047, 0.999023]
    assert [found[f"S{t}"] for t in range(11)] == pytest.approx(expected, abs=5e-7)


def test_inbreeding_by_generations_of_full_sibs():
    # Falconer & Mackay 1996, table 5.1 (from memory), full sibs: generation 0 there is our founders' offspring
    found = f_by_name([(f"{t}-{place}", f"{t - 1}-0", f"{t - 1}-1") for t in range(1, 12) for place in (0, 1)])
    expected = [0, 0.25, 0.375, 0.5, 0.59375, 0.671875, 0.734375, 0.785156, 0.826172, 0.859375, 0.886230]
    assert [found[f"{t + 1}-0"] for t in range(11)] == pytest.approx(expected, abs=5e-7)


def test_inbreeding_by_generations_of_half_sibs():
    # Falconer & Mackay 1996, table 5.1 (from memory), one male with his half sisters, each from another mother
    rows = [(f"{t}-{dam}", f"{t - 1}-{dam}", f"{t - 1}-{t - 1}") for t in range(1, 12) for dam in range(t, 14)]
    found = f_by_name(rows)
    expected = [0, 0.125, 0.21875, 0.304688, 0.380859, 0.448730, 0.509155, 0.562958, 0.610863, 0.653517, 0.691495]
    assert [found[f"{t + 1}-13"] for t in range(11)] == pytest.approx(expected, abs=6e-7)


def test_the_inverse_of_the_relationships_is_the_published_one():
    # Mrode 2014, section 2.4; Henderson 1976, Biometrics 32:69-83
    mrode = np.linalg.inv(2 * coancestry_matrix(read_pedigree(MRODE), list("123456")))
    assert mrode[4].tolist() == pytest.approx([0, 0.5333, -1, -1, 2.5333, -1.0667], abs=5e-5)
    henderson = np.linalg.inv(2 * coancestry_matrix(read_pedigree(HENDERSON), list("1234567")))
    expected = [2.333333, 1.5, 1.833333, 3, 2.615385, 2.615385, 2.461538]
    assert henderson.diagonal().tolist() == pytest.approx(expected, abs=5e-7)
    assert [henderson[4, 5], henderson[4, 6], henderson[5, 6]] == pytest.approx([0.615385, -1.230769, -1.230769], abs=5e-7)


@given(pedigrees())
def test_inbreeding_and_coancestry_equal_the_tabular_method(rows):
    if not rows:
        return
    pedigree = read_pedigree(rows)
    names = [*pedigree.names, ""]
    in_order = [
        (name, names[mother], names[father])
        for name, mother, father in zip(pedigree.names, pedigree.mothers, pedigree.fathers, strict=True)
    ]
    exact = tabular(in_order)  # Emik & Terrill 1949, J. Hered. 40:51-55
    assert inbreeding(pedigree).tolist() == pytest.approx([float(exact[name, name] - 1) for name in pedigree.names], abs=1e-12)
    doubled = 2 * coancestry_matrix(pedigree, pedigree.names)
    assert doubled == pytest.approx(np.array([[float(exact[a, b]) for b in pedigree.names] for a in pedigree.names]), abs=1e-12)


def test_a_deep_pedigree_of_many_families_equals_the_tabular_method():
    chance = random.Random(3)
    rows, parents = [(f"0-{place}", "", "") for place in range(8)], [f"0-{place}" for place in range(8)]
    for generation in range(1, 9):
        names = [f"{generation}-{place}" for place in range(20)]
        pairs = [chance.choices(parents, k=2) for _ in range(7)]
        rows += [(name, *chance.choice(pairs)) for name in names]
        parents = [*chance.sample(names, 6), chance.choice(parents)]
    exact = tabular(rows)
    found = f_by_name(rows)
    assert max(found.values()) > 0.2
    assert found == pytest.approx({name: float(exact[name, name] - 1) for name, *_ in rows}, abs=1e-12)


def test_coancestry_of_a_cut_down_pedigree_is_the_same():
    pedigree = read_pedigree(HENDERSON)
    names = ["6", "3", "6"]
    whole = coancestry_matrix(pedigree, names)
    assert (coancestry_matrix(only_ancestors(pedigree, names), names) == whole).all()
    assert (coancestry_matrix(pedigree, names, inbreeding(pedigree)) == whole).all()
    assert whole[0, 2] == whole[0, 0] == 0.625  # (1 + F)/2 of Henderson's animal 6, F = 1/4
    with pytest.raises(ValueError, match="2 coefficients for 7 trees"):
        coancestry_matrix(pedigree, names, [0, 0])
    assert coancestry_matrix(pedigree, []).shape == (0, 0)


def test_coancestry_of_one_tree_with_others_is_its_row_of_the_matrix():
    # Henderson 1976: row 5 of A is .5 .25 .625 .625 1.125, twice the coancestry
    pedigree = read_pedigree(HENDERSON)
    assert [2 * value for value in coancestry_with(pedigree, "5", list("12345"))] == [0.5, 0.25, 0.625, 0.625, 1.125]
    assert coancestry_with(pedigree, "5", list("1234567")) == coancestry_matrix(pedigree, list("1234567"))[4].tolist()
    assert coancestry_with(pedigree, "5", []) == []


def sibs(n, father):
    return coancestry_matrix(read_pedigree([(f"s{place}", "m", father(place)) for place in range(n)]), [f"s{place}" for place in range(n)])


@pytest.mark.parametrize(("n", "full", "half"), [(2, 1.3333, 1.6), (5, 1.6667, 2.5), (10, 1.818182, 3.076923)])
def test_status_number_of_one_family(n, full, half):
    # Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76: 2n/(n+1) for full sibs, 4n/(n+3) for half sibs
    assert status_number(sibs(n, lambda place: "f")) == pytest.approx(full, abs=5e-5)
    assert status_number(sibs(n, lambda place: f"f{place}")) == pytest.approx(half, abs=5e-7)


def test_status_number_of_unrelated_trees_is_their_number():
    # Lindgren, Gea & Jefferson 1997
    assert status_number(coancestry_matrix(read_pedigree([(name, "", "") for name in "abcdefg"]), list("abcdefg"))) == pytest.approx(7)


def test_group_coancestry_of_mrodes_animals():
    # the mean of A/2 of Mrode 2014, table 2.1, by the tabular method
    coancestry = coancestry_matrix(read_pedigree(MRODE), list("123456"))
    assert group_coancestry(coancestry) == pytest.approx(0.258680556, abs=5e-10)
    assert status_number(coancestry) == pytest.approx(1.932886, abs=5e-7)


ORCHARD = [("c1", "A", "B"), ("c2", "A", "B"), ("c3", "A", "C"), ("c4", "", ""), ("c5", "", "")]


@pytest.mark.parametrize(
    ("contributions", "expected"),
    [
        ([0.30, 0.25, 0.20, 0.15, 0.10], 2.816901),
        (None, 3.571429),
        ([1 / 7, 1 / 7, 4 / 21, 5.5 / 21, 5.5 / 21], 3.818182),
    ],
)
def test_status_number_with_unequal_contributions(contributions, expected):
    # formula of Lindgren, Gea & Jefferson 1997; computed apart from this code in exact arithmetic. 1/7, .190476, .261905 = 4/21, 5.5/21
    coancestry = coancestry_matrix(read_pedigree(ORCHARD), ["c1", "c2", "c3", "c4", "c5"])
    assert status_number(coancestry, contributions) == pytest.approx(expected, abs=5e-7)


def test_effective_number_of_contributions():
    # 1/sum p^2 by hand: 1/0.225, 1/0.30, 1/0.25; psi = 5 x 0.225
    contributions = [0.30, 0.25, 0.20, 0.15, 0.10]
    assert effective_number(contributions) == pytest.approx(4.444444, abs=5e-7)
    assert sibling_coefficient(contributions) == pytest.approx(1.125)
    female, male = [0.1, 0.2, 0.3, 0.4], [0.4, 0.3, 0.2, 0.1]
    assert [effective_number(shares) for shares in (female, male)] == pytest.approx([3.333333, 3.333333], abs=5e-7)
    assert effective_number(gamete_shares(female, male)) == pytest.approx(4)


@pytest.mark.parametrize("contributions", [[], [0.5, 0.4], [1.5, -0.5], [float("nan"), 1], [[0.5], [0.5]]], ids=str)
def test_contributions_that_are_not_shares_are_refused(contributions):
    with pytest.raises(ValueError, match="contributions"):
        effective_number(contributions)


def test_coancestry_that_does_not_fit_is_refused():
    with pytest.raises(ValueError, match="square"):
        group_coancestry(np.ones((2, 3)))
    with pytest.raises(ValueError, match="3 contributions for 2 trees"):
        group_coancestry(np.eye(2), [0.2, 0.3, 0.5])
    with pytest.raises(ValueError, match="shares"):
        gamete_shares([0.5, 0.5], [0.5, 0.6])


def shared_pedigrees():
    return sorted(path for folder in SHARED.glob("pedigrees_*") for path in folder.glob("*_F.csv"))


def raw_rows(truth_path):
    folder, name = truth_path.parent, truth_path.name.removesuffix("_F.csv")
    (path,) = [path for path in folder.glob(f"*/{name}.*") if path.suffix in {".csv", ".ped"}]
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t" if path.suffix == ".ped" else ","))
    columns = list(rows[0])
    mother = next(column for column in columns if column.lower() in {"mother", "dam", "mid"})
    father = next(column for column in columns if column.lower() in {"father", "sire", "fid"})
    return [(row[columns[0]], row[mother], row[father]) for row in rows]


def test_every_pedigree_of_others_gives_its_coefficients():
    # quickped and nadiv collections, licences and citations in their SOURCE.md; F computed apart from this code
    if not SHARED.exists():
        pytest.skip("../shared is absent")
    paths = shared_pedigrees()
    assert len(paths) >= 12
    for path in paths:
        pedigree = read_pedigree(raw_rows(path))
        with path.open(encoding="utf-8", newline="") as file:
            truth = {row["id"]: (float(row["F"]), int(row["generation"])) for row in csv.DictReader(file)}
        found = {name: (f, depth) for name, f, depth in zip(pedigree.names, inbreeding(pedigree), pedigree.depths, strict=True)}
        assert {name: depth for name, (_, depth) in found.items()} == {name: depth for name, (_, depth) in truth.items()}, path.name
        assert {name: f for name, (f, _) in found.items()} == pytest.approx({name: f for name, (f, _) in truth.items()}, abs=1e-12)
        facts = json.loads((path.parent / "truth.json").read_text(encoding="utf-8"))[path.name.removesuffix("_F.csv")]
        founders = sum(pedigree.is_founder(place) for place in range(len(pedigree)))
        assert (len(pedigree), founders, max(pedigree.depths)) == (facts["individuals"], facts["founders"], facts["max_generation"])


def test_darwins_eldest_son():
    # printed in the tutorial of purgeR: 0.06298828; Berra, Alvarez & Ceballos 2010, BioScience 60:376, give 0.0630
    path = SHARED / "pedigrees_classic" / "darwin_F.csv"
    if not path.exists():
        pytest.skip("../shared is absent")
    assert f_by_name(raw_rows(path))["William Erasmus Darwin"] == pytest.approx(0.06298828, abs=5e-9)
