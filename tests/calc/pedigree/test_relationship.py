"""Least-coancestry contributions and the ideal population, against published values and a second program."""

from random import Random

import numpy as np
import pytest
from scipy.optimize import minimize

from registry.calc.pedigree.inbreeding import coancestry_matrix, inbreeding_of_ideal_population
from registry.calc.pedigree.pedigree import read_pedigree
from registry.calc.pedigree.relationship import group_coancestry, least_coancestry_contributions, status_number

ORCHARD = [("c1", "A", "B"), ("c2", "A", "B"), ("c3", "A", "C"), ("c4", "", ""), ("c5", "", "")]


@pytest.mark.parametrize(("generations", "expected"), [(0, 0), (1, 0.05), (5, 0.226219), (10, 0.401263), (20, 0.641514)])
def test_inbreeding_of_an_ideal_population_of_ten(generations, expected):
    # Falconer & Mackay 1996 (from memory): F = 1 - (1 - 1/2N)^t
    assert inbreeding_of_ideal_population(10, generations) == pytest.approx(expected, abs=6e-7)


def test_an_ideal_population_of_one_tree_is_a_line_of_selfing():
    # Falconer & Mackay 1996, table 5.1 (from memory), selfing
    assert [inbreeding_of_ideal_population(1, t) for t in range(4)] == [0, 0.5, 0.75, 0.875]


@pytest.mark.parametrize(("trees", "generations", "message"), [(0, 1, "number of trees"), (5, -1, "number of generations")])
def test_an_impossible_population_is_refused(trees, generations, message):
    with pytest.raises(ValueError, match=message):
        inbreeding_of_ideal_population(trees, generations)


def test_least_coancestry_contributions_of_five_clones():
    # formula of Lindgren, Gea & Jefferson 1997; minimised apart from this code: 1/7, 1/7, .190476, .261905, .261905 give 3.818182
    coancestry = coancestry_matrix(read_pedigree(ORCHARD), ["c1", "c2", "c3", "c4", "c5"])
    assert group_coancestry(coancestry) == pytest.approx(0.14, abs=5e-7)
    found = least_coancestry_contributions(coancestry)
    assert found == pytest.approx([1 / 7, 1 / 7, 0.190476, 0.261905, 0.261905], abs=6e-7)
    assert status_number(coancestry, found) == pytest.approx(3.818182, abs=5e-7)


def test_unrelated_trees_contribute_alike_and_one_tree_all():
    assert least_coancestry_contributions(np.eye(4) / 2) == pytest.approx([0.25] * 4)
    assert least_coancestry_contributions([[0.75]]) == [1]


def test_a_tree_whose_parents_hold_all_it_holds_gets_nothing():
    # by hand: of a, b and their child, a and b alone give 1/4; any share of the child adds to it
    coancestry = coancestry_matrix(read_pedigree([("c", "a", "b")]), ["a", "b", "c"])
    assert least_coancestry_contributions(coancestry) == pytest.approx([0.5, 0.5, 0], abs=1e-12)


def test_a_tree_listed_twice_gets_one_share():
    coancestry = coancestry_matrix(read_pedigree(ORCHARD), ["c4", "c5", "c4"])
    found = least_coancestry_contributions(coancestry)
    assert sum(found) == pytest.approx(1)
    assert [found[0] + found[2], found[1]] == pytest.approx([0.5, 0.5])


def random_coancestry(seed):
    chance = Random(seed)
    rows, trees = [(f"0-{place}", "", "") for place in range(5)], [f"0-{place}" for place in range(5)]
    for number in range(25):
        trees.append(f"t{number}")
        rows.append((trees[-1], *chance.choices(trees[-9:-1], k=2)))
    return coancestry_matrix(read_pedigree(rows), chance.sample(trees, 12))


@pytest.mark.parametrize("seed", range(12))
def test_nothing_smaller_is_found_by_a_second_program(seed):
    # scipy.optimize, sequential quadratic programming; and the conditions of Karush, Kuhn and Tucker
    coancestry = random_coancestry(seed)
    found = np.array(least_coancestry_contributions(coancestry))
    least = group_coancestry(coancestry, found)
    other = minimize(
        lambda p: p @ coancestry @ p, np.full(12, 1 / 12), jac=lambda p: 2 * coancestry @ p, bounds=[(0, 1)] * 12,
        constraints={"type": "eq", "fun": lambda p: p.sum() - 1, "jac": lambda p: np.ones(12)}, options={"ftol": 1e-14, "maxiter": 1000},
    )  # fmt: skip
    assert least <= other.fun + 1e-9
    assert (found >= 0).all()
    assert (coancestry @ found >= least - 1e-9).all()
    assert (coancestry @ found)[found > 1e-9] == pytest.approx(least, abs=1e-9)


def test_coancestry_that_is_not_square_is_refused():
    with pytest.raises(ValueError, match="square"):
        least_coancestry_contributions(np.ones((2, 3)))
    with pytest.raises(ValueError, match="at least one"):
        least_coancestry_contributions(np.ones((0, 0)))
