"""Inbreeding of every tree, and coancestry between any trees, without ever holding the relationship matrix."""

from array import array
from collections import Counter, defaultdict
from collections.abc import Sequence

import numpy as np

from registry.calc.pedigree.ancestry import ancestors
from registry.calc.pedigree.pedigree import NO_PARENT, Pedigree


def inbreeding(pedigree: Pedigree) -> np.ndarray:
    """Coefficient of inbreeding F of every tree.

    Parameters
    ----------
    pedigree : Pedigree
        n trees.

    Returns
    -------
    ndarray of float, shape (n,)
        In the order of the pedigree, 0 to 1. F is relative to the founders, which count as unrelated and
        not inbred, as does each unknown parent.

    Notes
    -----
    F is the coancestry of the parents, found once for each pair of parents, since full sibs share it. Pairs
    are taken generation by generation; within one, all mates of a tree together: its ancestors are walked
    once upwards and the mates' ancestors once downwards. Memory grows with n. Time grows with the number
    of parents times their ancestors, not with the number of trees.

    Source
    ------
    Meuwissen & Luo 1992, Genet. Sel. Evol. 24:305-313 (A = TDT', each tree by its ancestors only);
    Colleau 2002, Genet. Sel. Evol. 34:409-421 (a column of A by one walk up and one down).

    Examples
    --------
    >>> from registry.calc.pedigree.pedigree import read_pedigree
    >>> inbreeding(read_pedigree([("c", "a", "b"), ("d", "a", "b"), ("e", "c", "d")])).tolist()
    [0.0, 0.0, 0.0, 0.0, 0.25]
    """
    pair_of, lows, highs, depths = _distinct_pairs(pedigree)
    pair_inbreeding = np.zeros(len(lows))
    coefficients = array("d", bytes(8 * len(pedigree)))
    children = np.argsort(pair_of, kind="stable")
    starts = np.searchsorted(pair_of[children], np.arange(len(lows) + 1))
    variances = _Variances(pedigree, coefficients)
    for level in _levels(depths):
        found = _pairs_of_a_level(pedigree, variances, coefficients, [(int(lows[pair]), int(highs[pair])) for pair in level])
        for pair, value in zip(level, found, strict=True):
            pair_inbreeding[pair] = value
            if value:
                for child in children[starts[pair] : starts[pair + 1]].tolist():
                    coefficients[child] = value
    return np.array(coefficients)


def _distinct_pairs(pedigree):
    """For each tree the number of its pair of parents (-1 with one unknown); for each pair its trees and its children's depth."""
    n = len(pedigree)
    mothers, fathers = (np.frombuffer(side, dtype=np.int64) for side in (pedigree.mothers, pedigree.fathers))
    both = (mothers != NO_PARENT) & (fathers != NO_PARENT)
    keys = np.minimum(mothers, fathers)[both] * n + np.maximum(mothers, fathers)[both]
    pairs, first, numbers = np.unique(keys, return_index=True, return_inverse=True)
    pair_of = np.full(n, NO_PARENT)
    pair_of[both] = numbers
    return pair_of, pairs // n, pairs % n, np.frombuffer(pedigree.depths, dtype=np.int64)[both][first]


def _levels(depths):
    """Numbers of the pairs, together where their children have the same depth, the oldest first."""
    order = np.argsort(depths, kind="stable")
    cuts = np.flatnonzero(np.diff(depths[order])) + 1
    return [level.tolist() for level in np.split(order, cuts)] if len(order) else []


def _pairs_of_a_level(pedigree, variances, coefficients, pairs):
    """Coancestry of each pair; the tree with more mates in the level is walked upwards once for all of them."""
    uses = Counter(tree for pair in pairs for tree in set(pair))
    groups = defaultdict(list)
    for number, (low, high) in enumerate(pairs):
        one, other = (low, high) if uses[low] >= uses[high] else (high, low)
        groups[one].append((number, other))
    found = [0.0] * len(pairs)
    for one, mates in groups.items():
        if all(mate == one for _, mate in mates):  # selfing needs no walk
            relationships = [1 + coefficients[one]] * len(mates)
        else:
            relationships = _relationships(pedigree, variances, one, [mate for _, mate in mates])
        for (number, _), relationship in zip(mates, relationships, strict=True):
            found[number] = relationship / 2
    return found


class _Variances:
    """The diagonal of D: the part of a tree's variance that its parents do not settle. Needs F of its parents only."""

    def __init__(self, pedigree, coefficients):
        self._pedigree, self._coefficients = pedigree, coefficients

    def __getitem__(self, tree):
        mother, father = self._pedigree.mothers[tree], self._pedigree.fathers[tree]
        known_half = (mother != NO_PARENT) + (father != NO_PARENT)
        inbred = sum(self._coefficients[parent] for parent in (mother, father) if parent != NO_PARENT)
        return 1 - known_half / 4 - inbred / 4


def _relationships(pedigree: Pedigree, variances, one: int, others: Sequence[int]) -> list[float]:
    """Entries of A (twice the coancestry) of one tree with others; F of all their ancestors' parents must be known."""
    mothers, fathers = pedigree.mothers, pedigree.fathers
    own = ancestors(pedigree, [one])
    weights = dict.fromkeys(own, 0.0)
    weights[NO_PARENT] = 0.0
    weights[one] = 1.0
    for tree in reversed(own):
        half = weights[tree] / 2
        weights[mothers[tree]] += half
        weights[fathers[tree]] += half
    del weights[NO_PARENT]
    values = {NO_PARENT: 0.0}
    for tree in ancestors(pedigree, others):
        value = (values[mothers[tree]] + values[fathers[tree]]) / 2
        if tree in weights:
            value += weights[tree] * variances[tree]
        values[tree] = value
    return [values[other] for other in others]


def coancestry_matrix(pedigree: Pedigree, names: Sequence[str], coefficients: np.ndarray | None = None) -> np.ndarray:
    """Coancestry between each two of the named trees.

    Parameters
    ----------
    pedigree : Pedigree
        n trees. Cut down to the ancestors of the named trees (`only_ancestors`) it is faster.
    names : sequence of str, length k
        A name may be repeated.
    coefficients : ndarray of float, shape (n,), optional
        F of every tree, when it has been found before.

    Returns
    -------
    ndarray of float, shape (k, k)
        Symmetric. On the diagonal the coancestry of a tree with itself, (1 + F)/2. The relationship matrix A is twice this.

    Raises
    ------
    ValueError
        When a name is not in the pedigree or the coefficients are not n.

    Source
    ------
    Malecot 1948, Les mathématiques de l'hérédité, for the coefficient; Colleau 2002, Genet. Sel. Evol. 34:409-421.

    Examples
    --------
    >>> from registry.calc.pedigree.pedigree import read_pedigree
    >>> coancestry_matrix(read_pedigree([("c", "a", "b"), ("d", "a", "b")]), ["c", "d"]).tolist()
    [[0.5, 0.25], [0.25, 0.5]]
    """
    if coefficients is None:
        coefficients = inbreeding(pedigree)
    if len(coefficients) != len(pedigree):
        raise ValueError(f"There are {len(coefficients)} coefficients for {len(pedigree)} trees. Give one for each tree, or none.")
    places = [pedigree.position(name) for name in names]
    variances = _Variances(pedigree, np.asarray(coefficients).tolist())
    columns = {place: _relationships(pedigree, variances, place, places) for place in set(places)}
    return np.array([columns[place] for place in places]).reshape(len(places), len(places)) / 2


def coancestry_with(pedigree: Pedigree, one: str, others: Sequence[str]) -> list[float]:
    """Coancestry of one tree with each of others: a mother with the trees that may have fathered her seed.

    Parameters
    ----------
    pedigree : Pedigree
        Cut down to the ancestors of the named trees (`only_ancestors`) it is faster.
    one : str
    others : sequence of str
        The tree itself among them gives (1 + F)/2.

    Returns
    -------
    list of float, 0 to 1
        One for each of `others`, in their order.

    Raises
    ------
    ValueError
        When a name is not in the pedigree.

    Source
    ------
    Colleau 2002, Genet. Sel. Evol. 34:409-421: one walk up and one down.

    Examples
    --------
    >>> from registry.calc.pedigree.pedigree import read_pedigree
    >>> coancestry_with(read_pedigree([("c", "a", "b"), ("d", "a", "b")]), "c", ["d", "a", "c"])
    [0.25, 0.25, 0.5]
    """
    variances = _Variances(pedigree, inbreeding(pedigree).tolist())
    places = [pedigree.position(name) for name in others]
    return [relationship / 2 for relationship in _relationships(pedigree, variances, pedigree.position(one), places)]


def inbreeding_of_ideal_population(trees: int, generations: int) -> float:
    """Expected F after generations of random mating, selfing by chance included, in an ideal population of constant size.

    Parameters
    ----------
    trees : int, 1 or more
        Trees in each generation, N; an effective number does as well.
    generations : int, 0 or more

    Returns
    -------
    float, 0 to 1

    Raises
    ------
    ValueError
        When a value is outside its range.

    Source
    ------
    Falconer & Mackay 1996, Introduction to Quantitative Genetics, table 5.1 and its chapter (from memory): 1 - (1 - 1/2N)^t.

    Examples
    --------
    >>> round(inbreeding_of_ideal_population(10, 5), 6)
    0.226219
    """
    if not trees >= 1:
        raise ValueError(f"The number of trees is {trees}. Give 1 or more.")
    if generations < 0:
        raise ValueError(f"The number of generations is {generations}. Give 0 or more.")
    return 1 - (1 - 1 / (2 * trees)) ** generations
