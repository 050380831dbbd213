"""Questions about a pedigree that was read: ancestors, mothers and fathers, parents younger than their offspring."""

from array import array
from collections.abc import Iterable, Mapping

from registry.calc.pedigree.pedigree import NO_PARENT, Pedigree


def ancestors(pedigree: Pedigree, positions: Iterable[int]) -> list[int]:
    """The given trees and all their known ancestors.

    Parameters
    ----------
    pedigree : Pedigree
    positions : iterable of int

    Returns
    -------
    list of int, ascending, so every parent before its children.

    Source
    ------
    Search of a graph: definition of an ancestor, no source.

    Examples
    --------
    >>> from registry.calc.pedigree.pedigree import read_pedigree
    >>> ancestors(read_pedigree([("c", "a", "b"), ("d", "b", "e")]), [2])
    [0, 1, 2]
    """
    mothers, fathers = pedigree.mothers, pedigree.fathers
    seen = {NO_PARENT}
    waiting = list(positions)
    while waiting:
        tree = waiting.pop()
        if tree not in seen:
            seen.add(tree)
            waiting.append(mothers[tree])
            waiting.append(fathers[tree])
    seen.discard(NO_PARENT)
    return sorted(seen)


def only_ancestors(pedigree: Pedigree, names: Iterable[str]) -> Pedigree:
    """The pedigree cut down to the named trees and their ancestors, which is all their numbers depend on.

    Raises
    ------
    ValueError
        When a name is not in the pedigree.

    Source
    ------
    As `ancestors`.

    Examples
    --------
    >>> from registry.calc.pedigree.pedigree import read_pedigree
    >>> only_ancestors(read_pedigree([("c", "a", "b"), ("d", "b", "e")]), ["d"]).names
    ['b', 'e', 'd']
    """
    kept = ancestors(pedigree, [pedigree.position(name) for name in names])
    moved = {old: place for place, old in enumerate(kept)} | {NO_PARENT: NO_PARENT}
    mothers, fathers = (array("q", (moved[side[old]] for old in kept)) for side in (pedigree.mothers, pedigree.fathers))
    depths, rows = (array("q", (side[old] for old in kept)) for side in (pedigree.depths, pedigree.rows))
    return Pedigree([pedigree.names[old] for old in kept], mothers, fathers, depths, rows)


def mothers_and_fathers(pedigree: Pedigree) -> list[str]:
    """Trees listed as mother in one row and as father in another: a fault where the species has separate sexes.

    Source
    ------
    Definition of this programme: a check of a pedigree sheet.

    Examples
    --------
    >>> from registry.calc.pedigree.pedigree import read_pedigree
    >>> mothers_and_fathers(read_pedigree([("c", "a", "b"), ("d", "b", "a"), ("e", "c", "a")]))
    ['a', 'b']
    """
    both = (set(pedigree.mothers) & set(pedigree.fathers)) - {NO_PARENT}
    return [pedigree.names[place] for place in sorted(both)]


def parents_not_older(pedigree: Pedigree, years: Mapping[str, int]) -> list[tuple[str, str]]:
    """(parent, child) wherever the parent did not originate in an earlier year than the child. Trees without a year are passed over.

    Parameters
    ----------
    pedigree : Pedigree
    years : mapping of name to int
        Calendar year in which the tree originated.

    Source
    ------
    Definition of this programme: a check of a pedigree sheet.

    Examples
    --------
    >>> from registry.calc.pedigree.pedigree import read_pedigree
    >>> parents_not_older(read_pedigree([("c", "a", "b")]), {"a": 2004, "b": 1990, "c": 2003})
    [('a', 'c')]
    """
    wrong = []
    for child, mother, father in zip(pedigree.names, pedigree.mothers, pedigree.fathers, strict=True):
        for parent in dict.fromkeys((mother, father)):
            known = parent != NO_PARENT and pedigree.names[parent] in years and child in years
            if known and years[pedigree.names[parent]] >= years[child]:
                wrong.append((pedigree.names[parent], child))
    return wrong
