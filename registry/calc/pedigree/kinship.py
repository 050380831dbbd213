"""Coancestry where a father may be a pollen pool: what is expected over the trees that may have shed the pollen."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

import numpy as np

__all__ = ["Gametes", "expected_coancestry"]


@dataclass(frozen=True, slots=True)
class Gametes:
    """Where the two gametes of a tree come from.

    Parameters
    ----------
    mother : hashable or None
        None when she is not known.
    fathers : mapping of tree to share
        The share with which each tree is expected to be the father: 1 for a known one. What is missing to 1 (outside pollen, a father
        nobody knows) is related to nothing.
    """

    mother: Hashable | None
    fathers: Mapping[Hashable, float]


def expected_coancestry(trees: Mapping[Hashable, Gametes], names: Sequence[Hashable]) -> np.ndarray:
    """Expected coancestry between each two of the named trees.

    Parameters
    ----------
    trees : mapping of name to Gametes, n trees
        A tree that is named as a parent only is a founder. Founders are unrelated and not inbred.
    names : sequence of k names
        A name may be repeated.

    Returns
    -------
    ndarray of float, shape (k, k)
        On the diagonal (1 + F)/2, with F the expected inbreeding.

    Raises
    ------
    ValueError
        When a tree is its own ancestor.

    Notes
    -----
    The tabular method with the father's row replaced by the mean of the rows of those who may be the father. Coancestry is linear in
    each gamete and every tree draws its father by itself, so the mean is exact as an expectation; a single tree has one father and
    lies above or below. Time and memory grow with the square of n.

    Source
    ------
    Emik & Terrill 1949, J. Hered. 40:51-55, for the tabular method; Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76, for the
    mean over contributors.

    Examples
    --------
    Two trees of one mother and a pool of two unrelated fathers: half the way from half sibs (1/8) to full sibs (1/4).

    >>> pool = {"p": 0.5, "q": 0.5}
    >>> expected_coancestry({"c": Gametes("a", pool), "d": Gametes("a", pool)}, ["c", "d"]).tolist()
    [[0.5, 0.1875], [0.1875, 0.5]]
    """
    graph = {name: [*gametes.fathers, *([] if gametes.mother is None else [gametes.mother])] for name, gametes in trees.items()}
    graph |= {name: [] for name in names if name not in graph}
    try:
        order = list(TopologicalSorter(graph).static_order())
    except CycleError:
        raise ValueError("A tree is its own ancestor. Correct its parents.") from None
    place = {name: number for number, name in enumerate(order)}
    table = np.zeros((len(order), len(order)))
    for row, name in enumerate(order):
        table[row, row] = 0.5
        gametes = trees.get(name)
        if gametes is None:
            continue
        fathers = [place[father] for father in gametes.fathers]
        paternal = np.array([float(share) for share in gametes.fathers.values()]) @ table[fathers] if fathers else np.zeros(len(order))
        values = paternal / 2
        if gametes.mother is not None:
            values = values + table[place[gametes.mother]] / 2
            table[row, row] = (1 + paternal[place[gametes.mother]]) / 2
        table[row, :row] = table[:row, row] = values[:row]
    places = [place[name] for name in names]
    return table[np.ix_(places, places)]
