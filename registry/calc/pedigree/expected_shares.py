"""Expected shares of founders and of founder species, as exact fractions: averages, never a statement about one tree."""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter

from registry.calc.pedigree.ancestry import ancestors
from registry.calc.pedigree.pedigree import NO_PARENT, Pedigree

UNKNOWN = "unknown"


def founder_shares(pedigree: Pedigree, name: str) -> dict[str, Fraction]:
    """Expected share of each founder in a tree, through any crosses.

    Parameters
    ----------
    pedigree : Pedigree
    name : str

    Returns
    -------
    dict of founder's name to Fraction
        Sums to 1, in the order of the pedigree. A founder's own share in itself is 1.

    Raises
    ------
    ValueError
        When the name is not in the pedigree.

    Notes
    -----
    Rule for unknown parents: a tree with no known parent is a founder. Where one parent of a tree is known
    and the other is not, the half of the unknown one is put down as `UNKNOWN`; it is never given to a founder.

    Source
    ------
    Each parent gives half: Allard 1960, Principles of Plant Breeding, backcross chapter; exact here.

    Examples
    --------
    >>> from registry.calc.pedigree.pedigree import read_pedigree
    >>> founder_shares(read_pedigree([("F1", "Oak Lane", "J 7"), ("B1", "Mill Brook", "F1")]), "B1")
    {'Oak Lane': Fraction(1, 4), 'J 7': Fraction(1, 4), 'Mill Brook': Fraction(1, 2)}
    """
    tree = pedigree.position(name)
    whole = 1 << pedigree.depths[tree]  # halved at most once for each generation, so whole numbers stay whole
    weights = {tree: whole, NO_PARENT: 0}
    founders = []
    for place in reversed(ancestors(pedigree, [tree])):
        if pedigree.is_founder(place):
            founders.append(place)
            continue
        for parent in (pedigree.mothers[place], pedigree.fathers[place]):
            weights[parent] = weights.get(parent, 0) + weights[place] // 2
    shares = {pedigree.names[place]: Fraction(weights[place], whole) for place in reversed(founders)}
    if weights[NO_PARENT]:
        shares[UNKNOWN] = Fraction(weights[NO_PARENT], whole)
    return shares


def shares_of_parts(parts: Mapping[Hashable, Sequence[tuple[Hashable, Fraction]]], start: Hashable) -> dict[Hashable, Fraction]:
    """Expected share of each founder where parents count in any parts: pools of fathers, bulks of lots, lots raised from lots.

    Parameters
    ----------
    parts : mapping of name to its parts, (name, share), the shares summing to 1
        A tree of two parents has the parts 1/2 and 1/2. A name without parts, or not in the mapping, is a founder.
    start : hashable
        Whose shares are wanted.

    Returns
    -------
    dict of founder to Fraction, summing to 1 when the parts of every name do.

    Raises
    ------
    ValueError
        When a name is among its own ancestors.

    Source
    ------
    Each parent gives half: Allard 1960, Principles of Plant Breeding, backcross chapter; exact here.

    Examples
    --------
    >>> half = Fraction(1, 2)
    >>> shares_of_parts({"lot": [("m", half), ("pool", half)], "pool": [("m", half), ("a", half)]}, "lot")
    {'a': Fraction(1, 4), 'm': Fraction(3, 4)}
    """
    weights = defaultdict(Fraction, {start: Fraction(1)})
    found = {}
    for name in reversed(_parts_first(parts, start)):
        own = parts.get(name, ())
        if not own:
            found[name] = weights[name]
        for part, share in own:
            weights[part] += weights[name] * share
    return found


def depth_of_parts(parts: Mapping[Hashable, Sequence[tuple[Hashable, Fraction]]], start: Hashable) -> int:
    """Steps to the farthest founder: 0 for a founder.

    Parameters, Raises
    ------------------
    As `shares_of_parts`.

    Returns
    -------
    int, steps

    Source
    ------
    Definition of this programme: the longest path of a graph without loops.

    Examples
    --------
    >>> depth_of_parts({"c": [("a", 1)], "a": [("b", 1)]}, "c")
    2
    """
    depths = {}
    for name in _parts_first(parts, start):
        depths[name] = max((1 + depths[part] for part, _ in parts.get(name, ())), default=0)
    return depths[start]


def _parts_first(parts, start):
    """The start and all its ancestors, each after its own parts."""
    graph, waiting = {}, [start]
    while waiting:
        name = waiting.pop()
        if name not in graph:
            graph[name] = [part for part, _ in parts.get(name, ())]
            waiting.extend(graph[name])
    try:
        return list(TopologicalSorter(graph).static_order())
    except CycleError as error:
        names = ", ".join(dict.fromkeys(f"“{name}”" for name in error.args[1]))
        raise ValueError(f"{names} descend from one another in a loop. Correct the parents of one of them.") from None


def species_shares(
    shares: Mapping[str, Fraction], species_of: Mapping[str, str], unknown_counts_as: str = UNKNOWN
) -> dict[str, Fraction]:  # fmt: skip
    """Expected share of each species, from the shares of founders.

    Parameters
    ----------
    shares : mapping of founder to Fraction
        From `founder_shares`.
    species_of : mapping of founder to species
    unknown_counts_as : str
        The stated rule for the share of unknown parents and of founders without a species: a species, such
        as that of the surrounding forest, or left as `UNKNOWN`.

    Returns
    -------
    dict of species to Fraction, with the same sum.

    Source
    ------
    Shares of founders added up by species: arithmetic, no source.

    Examples
    --------
    >>> species_shares({"a": Fraction(1, 4), "b": Fraction(1, 4), UNKNOWN: Fraction(1, 2)}, {"a": "native", "b": "donor"})
    {'native': Fraction(1, 4), 'donor': Fraction(1, 4), 'unknown': Fraction(1, 2)}
    """
    found: defaultdict[str, Fraction] = defaultdict(Fraction)
    for founder, share in shares.items():
        found[species_of.get(founder, unknown_counts_as)] += share
    return dict(found)


def mean_shares(parts: Iterable[tuple[Mapping[str, Fraction], Fraction | int]]) -> dict[str, Fraction]:
    """Average of shares, weighted: the children of a cross, the trees of a generation, a lot, a pool of fathers.

    Parameters
    ----------
    parts : iterable of (shares, weight)
        Weights of 0 or more, whole or Fraction (counts, parts of a pool); they need not sum to 1.
        For a cross give both parents the weight 1.

    Returns
    -------
    dict of name to Fraction, summing to 1 when each of the parts does.

    Raises
    ------
    ValueError
        When a weight is negative or all are 0.

    Source
    ------
    Allard 1960, Principles of Plant Breeding: the mean of offspring is the mean of both parents.

    Examples
    --------
    >>> native, donor = {"native": Fraction(1)}, {"donor": Fraction(1)}
    >>> mean_shares([(native, 1), (mean_shares([(native, 1), (donor, 1)]), 1)])
    {'native': Fraction(3, 4), 'donor': Fraction(1, 4)}
    """
    parts = [(shares, Fraction(weight)) for shares, weight in parts]
    total = sum(weight for _, weight in parts)
    if not total or min(weight for _, weight in parts) < 0:
        raise ValueError("The weights are all 0, or one is negative. Give each part a weight of 0 or more, one of them above 0.")
    found: defaultdict[str, Fraction] = defaultdict(Fraction)
    for shares, weight in parts:
        for name, share in shares.items():
            found[name] += share * weight / total
    return dict(found)
