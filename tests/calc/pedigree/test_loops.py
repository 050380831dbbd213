"""Loops of ancestry and coancestry through pollen pools: by hand, against the fathers being known, and by dropping genes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.pedigree.inbreeding import coancestry_matrix
from registry.calc.pedigree.kinship import Gametes, expected_coancestry
from registry.calc.pedigree.loops import find_loops
from registry.calc.pedigree.pedigree import read_pedigree
from tests.calc.pedigree.pedigree_examples import HENDERSON, MRODE
from tests.calc.pedigree.test_pedigree import pedigrees


def test_two_loops_that_share_nothing_are_both_found():
    assert find_loops({"a": ["b"], "b": ["a", "x"], "x": [], "c": ["c"]}) == [["a", "b"], ["c"]]


def test_only_loops_above_the_start_are_found():
    origins = {"child": ["a"], "a": ["b"], "b": ["a"], "other": ["other"]}
    assert find_loops(origins, ["child"]) == [["a", "b"]]
    assert find_loops(origins, ["a"]) == [["a", "b"]]


@given(st.dictionaries(st.integers(0, 12), st.lists(st.integers(0, 12), max_size=3)))
def test_a_start_is_in_a_loop_only_if_it_is_its_own_ancestor(origins):
    for start in origins:
        above, waiting = set(), list(origins[start])
        while waiting:
            name = waiting.pop()
            if name not in above:
                above.add(name)
                waiting.extend(origins.get(name, ()))
        loops = find_loops(origins, [start], at_most=1_000)
        assert any(start in loop for loop in loops) == (start in above)
        for loop in loops:
            assert all(after in origins[name] for name, after in zip(loop, loop[1:] + loop[:1], strict=True))


# -- coancestry --------------------------------------------------------------------------------


def known(rows):
    return {name: Gametes(mother or None, {father: 1} if father else {}) for name, mother, father in rows}


@pytest.mark.parametrize("rows", [MRODE, HENDERSON])
def test_with_known_fathers_coancestry_matches_published_examples(rows):
    # Mrode 2014, 3rd ed., table 2.1; Henderson 1976, Biometrics 32:69-83
    pedigree = read_pedigree(rows)
    assert expected_coancestry(known(rows), pedigree.names) == pytest.approx(coancestry_matrix(pedigree, pedigree.names))


@given(pedigrees())
def test_with_known_fathers_it_is_the_coancestry_of_any_pedigree(rows):
    if not rows:
        return
    pedigree = read_pedigree(rows)
    assert expected_coancestry(known(rows), pedigree.names) == pytest.approx(coancestry_matrix(pedigree, pedigree.names))


def test_full_sibs_of_a_pool_of_one_are_full_sibs():
    # Falconer & Mackay 1996, ch. 5 (from memory): F of the offspring of full sibs 1/4
    pool = {"b": 1}
    trees = {"c": Gametes("a", pool), "d": Gametes("a", pool), "x": Gametes("c", {"d": 1})}
    assert expected_coancestry(trees, ["x"])[0, 0] == (1 + 1 / 4) / 2


def test_a_pool_of_two_by_hand():
    # by hand: with chance 1/2 the same father (full sibs, 1/4), else half sibs (1/8): 3/16; the offspring has F = 3/16
    pool = {"p": 0.5, "q": 0.5}
    trees = {"c": Gametes("a", pool), "d": Gametes("a", pool), "x": Gametes("c", {"d": 1})}
    assert expected_coancestry(trees, ["c", "d"])[0, 1] == 3 / 16
    assert expected_coancestry(trees, ["x"])[0, 0] == (1 + 3 / 16) / 2
    # outside pollen in half of the seed: both fathers inside 1/4 of the time, so 1/8 + (1/4)(1/2)(1/8)
    pool = {"p": 0.25, "q": 0.25}
    assert expected_coancestry({"c": Gametes("a", pool), "d": Gametes("a", pool)}, ["c", "d"])[0, 1] == 1 / 8 + 1 / 64


# A little orchard: pools of related and inbred members, unequal weights, outside pollen, a mother who is a member (selfing share).
ORCHARD = {
    "c": Gametes("a", {"p": 0.5, "q": 0.3}),
    "d": Gametes("a", {"p": 0.6, "c": 0.4}),
    "e": Gametes("c", {"c": 0.1, "d": 0.6, "p": 0.2}),
    "f": Gametes("d", {"e": 1.0}),
    "g": Gametes(None, {"e": 0.5, "f": 0.5}),
    "x": Gametes("f", {"g": 0.7, "d": 0.3}),
}


def test_dropping_genes_gives_the_same_numbers():
    """Each drop draws a father for every tree and a gene of each parent; alike genes are copies of one founder gene."""
    draws, random = 200_000, np.random.default_rng(20261125)
    founders = ["a", "p", "q"]
    genes = {name: np.stack([np.full(draws, 2 * number), np.full(draws, 2 * number + 1)]) for number, name in enumerate(founders)}
    everybody = np.arange(draws)

    def gamete(name):
        return genes[name][random.integers(0, 2, draws), everybody]

    fresh = 1_000
    for name, gametes in ORCHARD.items():
        maternal = gamete(gametes.mother) if gametes.mother else np.arange(draws) + (fresh := fresh + draws)
        paternal = np.arange(draws) + (fresh := fresh + draws)  # outside pollen is a copy of nothing
        chosen = random.random(draws)
        low = 0.0
        for father, share in gametes.fathers.items():
            paternal = np.where((chosen >= low) & (chosen < low + share), gamete(father), paternal)
            low += share
        genes[name] = np.stack([maternal, paternal])

    names = [*founders, *ORCHARD]
    expected = expected_coancestry(ORCHARD, names)
    for row, one in enumerate(names):
        for column, other in enumerate(names[: row + 1]):
            if one == other:
                found = (1 + (genes[one][0] == genes[one][1]).mean()) / 2
            else:
                found = (gamete(one) == gamete(other)).mean()
            # four standard errors of a share of 200,000 drops
            assert found == pytest.approx(expected[row, column], abs=4 * 0.5 / draws**0.5), (one, other)


def test_a_tree_that_is_its_own_ancestor_is_refused():
    with pytest.raises(ValueError, match="its own ancestor"):
        expected_coancestry({"a": Gametes("b", {}), "b": Gametes(None, {"a": 1})}, ["a"])
